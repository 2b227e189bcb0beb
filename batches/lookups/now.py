"""Reads: what needs somebody now."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Exists, OuterRef, Q

from batches.lookups.lists import (
    InstrumentState,
    batches_of,
    instruments_of,
    last_seen,
)
from batches.lookups.records import BatchRecords, StepWindow, windows_from
from batches.models import Batch, NamedDate, Producer, StepMark

NEAR = timedelta(days=7)  # own figure: how long before its use-by a batch is shown
LAST_STEP = "packing"
STORE_STEP = "cold-holding"


@dataclass(frozen=True, slots=True)
class OpenStep:
    """A step that goes on: since when, when it was last read, when it is due again."""

    window: StepWindow
    last_at: datetime | None
    due_at: datetime | None


@dataclass(frozen=True, slots=True)
class RunningBatch:
    """A batch that is not packed yet, or that a step still goes on in."""

    batch: Batch
    open_steps: tuple[OpenStep, ...]

    @property
    def due_at(self) -> datetime | None:
        """Return when the next of its checks is due."""
        return min(
            (step.due_at for step in self.open_steps if step.due_at), default=None
        )


@dataclass(frozen=True, slots=True)
class UseByNear:
    """A batch whose use-by date is near or was just passed."""

    batch: Batch
    use_by: NamedDate


@dataclass(frozen=True, slots=True)
class NowList:
    """What needs somebody now, most urgent first in each part."""

    running: tuple[RunningBatch, ...]
    instruments_due: tuple[InstrumentState, ...]
    use_by_near: tuple[UseByNear, ...]
    instruments_soon: tuple[InstrumentState, ...] = ()


def now_list(
    producer: Producer, *, now: datetime, known: Iterable[BatchRecords] = ()
) -> NowList:
    """Return what needs somebody now, in seven queries however many batches there are.

    ``now`` is in the time zone of the premises: days are counted in it. ``known`` are
    records that were read already: of their batches nothing is read again.
    """
    instruments = instruments_of(producer)
    return NowList(
        running=_running(producer, {each.batch.pk: each for each in known}),
        instruments_due=tuple(one for one in instruments if one.is_due(now)),
        instruments_soon=tuple(one for one in instruments if one.is_due_soon(now)),
        use_by_near=_use_by_near(producer, now),
    )


def _running(
    producer: Producer, known: Mapping[int, BatchRecords]
) -> tuple[RunningBatch, ...]:
    batches = list(batches_of(producer).filter(_is_running()))
    marks: dict[int, list[StepMark]] = {batch.pk: [] for batch in batches}
    seen: dict[tuple[int, str], datetime] = {}
    for records in (known[batch.pk] for batch in batches if batch.pk in known):
        marks[records.batch.pk] = list(records.marks.current)
        seen |= _seen_in(records)
    others = [batch for batch in batches if batch.pk not in known]
    if others:
        for mark in StepMark.objects.current().filter(batch__in=others):
            marks[mark.batch_id].append(mark)
        seen |= last_seen(others)
    running = [
        RunningBatch(
            batch,
            tuple(
                _open_step(batch, window, seen.get((batch.pk, window.step)))
                for window in windows_from(marks[batch.pk]).values()
                if window.is_open
            ),
        )
        for batch in batches
    ]
    # Python's sort keeps the newest first where nothing is due.
    return tuple(sorted(running, key=lambda one: (one.due_at is None, one.due_at or 0)))


def _seen_in(records: BatchRecords) -> dict[tuple[int, str], datetime]:
    """Return when each step of a batch was last read, as `last_seen` does."""
    seen: dict[tuple[int, str], datetime] = {}
    read = [(row.step, row.occurred_at) for row in records.readings.current]
    read += [(row.step, row.last_at) for row in records.traces.current]
    for step, instant in read:
        key = (records.batch.pk, step)
        seen[key] = max(instant, seen.get(key, instant))
    return seen


def _open_step(batch: Batch, window: StepWindow, last_at: datetime | None) -> OpenStep:
    interval = batch.product.check_intervals_min().get(window.step)
    since = max(last_at or window.start.occurred_at, window.start.occurred_at)
    due_at = None if interval is None else since + timedelta(minutes=interval)
    return OpenStep(window, last_at, due_at)


def _is_running() -> Q:
    """Say which batches run: packing not over and not in store, or a step goes on."""
    marks = StepMark.objects.current().filter(batch=OuterRef("pk"))
    packed = marks.filter(step=LAST_STEP, edge=StepMark.Edge.END)
    stored = marks.filter(step=STORE_STEP, edge=StepMark.Edge.START)
    ended = (
        StepMark.objects
        .current()
        .filter(step=OuterRef("step"), edge=StepMark.Edge.END)
        .filter(batch=OuterRef("batch"))
    )
    open_steps = marks.filter(edge=StepMark.Edge.START).filter(~Exists(ended))
    return (~Exists(packed) & ~Exists(stored)) | Exists(open_steps)


def _use_by_near(producer: Producer, now: datetime) -> tuple[UseByNear, ...]:
    dates = (
        NamedDate.objects
        .current()
        .filter(
            batch__producer=producer,
            what="use-by",
            occurs_at__gte=now - timedelta(days=1),
            occurs_at__lte=now + NEAR,
        )
        .select_related("batch__product", "batch__premises")
        .order_by("occurs_at", "pk")
    )
    return tuple(UseByNear(date.batch, date) for date in dates)
