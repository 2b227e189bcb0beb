"""Everything on record about one batch, in a fixed number of queries."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Any, Generic, TypeVar

from django.db.models import QuerySet

from batches.models import (
    Batch,
    BatchLot,
    Instrument,
    InstrumentCheck,
    LabResult,
    NamedDate,
    Reading,
    Remark,
    Review,
    Statement,
    StepMark,
    Trace,
)
from batches.models.append_only import Correctable
from safety.controls import STEPS

_Row = TypeVar("_Row", bound=Correctable)


class Rows(Generic[_Row]):
    """The rows of one kind: all that were ever written, and those that count."""

    def __init__(self, rows: Iterable[_Row]) -> None:
        self.all: tuple[_Row, ...] = tuple(rows)
        for row in self.all:
            if row.corrects_id is not None:
                row.corrects = self.by_pk[row.corrects_id]

    @cached_property
    def by_pk(self) -> Mapping[int, _Row]:
        """Return the rows by their key."""
        return {row.pk: row for row in self.all}

    @cached_property
    def current(self) -> tuple[_Row, ...]:
        """Return the rows that no other corrects and that were not taken back."""
        return self._counting(self.all)

    def as_of(self, instant: datetime) -> tuple[_Row, ...]:
        """Return the rows that counted at an instant, by what was written until then."""
        return self._counting([row for row in self.all if row.recorded_at <= instant])

    def correction_of(self, row: _Row) -> _Row | None:
        """Return the row that corrects this one, if any does."""
        return self._corrections.get(row.pk)

    @cached_property
    def _corrections(self) -> Mapping[int | None, _Row]:
        return {row.corrects_id: row for row in self.all if row.corrects_id}

    @staticmethod
    def _counting(rows: Iterable[_Row]) -> tuple[_Row, ...]:
        rows = tuple(rows)
        corrected = {row.corrects_id for row in rows}
        return tuple(
            row for row in rows if row.pk not in corrected and not row.withdrawn
        )


@dataclass(frozen=True, slots=True)
class StepWindow:
    """When a step began and ended, as the marks that say so."""

    step: str
    start: StepMark
    end: StepMark | None = None

    @property
    def is_open(self) -> bool:
        """Say whether the step goes on."""
        return self.end is None


def windows_from(marks: Iterable[StepMark]) -> dict[str, StepWindow]:
    """Return the windows of the steps that began, in the order of the work."""
    edges = {(mark.step, mark.edge): mark for mark in marks}
    return {
        step: StepWindow(step, start, edges.get((step, StepMark.Edge.END)))
        for step in STEPS
        if (start := edges.get((step, StepMark.Edge.START))) is not None
    }


@dataclass(frozen=True)
class BatchRecords:
    """All rows of one batch, with the instruments that it used and their checks."""

    batch: Batch
    marks: Rows[StepMark]
    readings: Rows[Reading]
    traces: Rows[Trace]
    statements: Rows[Statement]
    dates: Rows[NamedDate]
    remarks: Rows[Remark]
    lab_results: Rows[LabResult]
    lots: tuple[BatchLot, ...]
    instruments: tuple[Instrument, ...]
    checks: Rows[InstrumentCheck]
    reviews: tuple[Review, ...] = ()

    @cached_property
    def windows(self) -> Mapping[str, StepWindow]:
        """Return the current windows by step, in the order of the work."""
        return windows_from(self.marks.current)

    @cached_property
    def last_recorded_at(self) -> datetime:
        """Return when anything was last written about this batch."""
        kinds = (
            self.marks,
            self.readings,
            self.traces,
            self.statements,
            self.dates,
            self.remarks,
            self.lab_results,
        )
        return max(
            (row.recorded_at for rows in kinds for row in rows.all),
            default=self.batch.recorded_at,
        )


def records_of(batch: Batch) -> BatchRecords:
    """Return everything on record about a batch, in twelve queries.

    The batch must come from `batch_of`, with its product, premises and producer.
    """
    (records,) = records_of_many([batch])
    return records


def records_of_many(batches: Sequence[Batch]) -> tuple[BatchRecords, ...]:
    """Return everything on record about several batches, in eleven queries for all."""
    kinds: dict[str, dict[int, Rows[Any]]] = {
        name: _rows(batches, model.objects.select_related(*related).order_by(*order))
        for name, (model, related, order) in _KINDS.items()
    }
    readings, traces = kinds["readings"], kinds["traces"]
    used = {
        row.instrument_id
        for rows in (*readings.values(), *traces.values())
        for row in rows.all
    }
    instruments = _instruments(batches, used)
    checks = tuple(
        InstrumentCheck.objects
        .filter(instrument__in=instruments)
        .select_related("by")
        .order_by("occurred_at", "pk")
    )
    lots = _of_each(batches, BatchLot.objects.select_related("lot"))
    reviews = _of_each(batches, Review.objects.select_related("by"))
    for batch in batches:
        _join(readings[batch.pk].all, "instrument", instruments)
        _join(
            readings[batch.pk].all, "lab_result", kinds["lab_results"][batch.pk].by_pk
        )
        _join(traces[batch.pk].all, "instrument", instruments)
    _join(checks, "instrument", instruments)
    return tuple(
        _one(batch, kinds, lots[batch.pk], reviews[batch.pk], instruments, checks)
        for batch in batches
    )


_KINDS: dict[str, tuple[type[Any], tuple[str, ...], tuple[str, ...]]] = {
    "lab_results": (LabResult, ("by",), ("sampled_at", "pk")),
    "readings": (Reading, ("by",), ("occurred_at", "pk")),
    "traces": (Trace, ("logger_file", "by"), ("first_at", "place", "pk")),
    "marks": (StepMark, ("by",), ("occurred_at", "pk")),
    "statements": (Statement, ("by",), ("occurred_at", "pk")),
    "dates": (NamedDate, ("by",), ("occurs_at", "pk")),
    "remarks": (Remark, ("by",), ("occurred_at", "pk")),
}


def _one(
    batch: Batch,
    kinds: Mapping[str, Mapping[int, Rows[Any]]],
    lots: Iterable[BatchLot],
    reviews: Iterable[Review],
    instruments: Mapping[int, Instrument],
    checks: Iterable[InstrumentCheck],
) -> BatchRecords:
    own = {name: rows[batch.pk] for name, rows in kinds.items()}
    used = {row.instrument_id for row in (*own["readings"].all, *own["traces"].all)} - {
        None
    }
    return BatchRecords(
        batch=batch,
        **own,
        lots=tuple(lots),
        reviews=tuple(reviews),
        instruments=tuple(one for pk, one in instruments.items() if pk in used),
        checks=Rows(check for check in checks if check.instrument_id in used),
    )


def _rows(batches: Sequence[Batch], rows: QuerySet) -> dict[int, Rows[Any]]:
    found: dict[int, list[Any]] = {batch.pk: [] for batch in batches}
    by_pk = {batch.pk: batch for batch in batches}
    for row in rows.filter(batch__in=batches):
        row.batch = by_pk[row.batch_id]
        found[row.batch_id].append(row)
    return {pk: Rows(several) for pk, several in found.items()}


def _of_each(batches: Sequence[Batch], rows: QuerySet) -> dict[int, list[Any]]:
    found: dict[int, list[Any]] = {batch.pk: [] for batch in batches}
    for row in rows.filter(batch__in=batches).order_by("pk"):
        found[row.batch_id].append(row)
    return found


def _instruments(
    batches: Sequence[Batch], used: Iterable[int | None]
) -> dict[int, Instrument]:
    found = Instrument.objects.filter(
        producer__in={batch.producer_id for batch in batches},
        pk__in=set(used) - {None},
    )
    return {instrument.pk: instrument for instrument in found.order_by("code")}


def _join(rows: Iterable[Any], name: str, known: Mapping[int, Any]) -> None:
    for row in rows:
        key = getattr(row, f"{name}_id")
        if key is not None:
            setattr(row, name, known[key])
