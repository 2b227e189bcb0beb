"""Reads: what was written and by whom it was read, what is still to be read, by when."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo
from functools import cached_property
from typing import Any

from django.db.models import (
    BigIntegerField,
    CharField,
    F,
    Max,
    QuerySet,
    Value,
)
from django.db.models.functions import Coalesce, Least

from batches.lookups.lists import batches_of, premises_of
from batches.lookups.records import BatchRecords
from batches.lookups.review_kinds import OF_BATCH, OF_WEEK, Kind
from batches.models import (
    Batch,
    Member,
    Producer,
    Review,
    ReviewRule,
    StepMark,
    Trace,
)
from batches.models.append_only import Correctable
from batches.models.review import last_day_of
from batches.reviewing import (
    STEP_ROWS,
    anchor_of,
    content_of,
    days_of,
    days_published,
    sha256_of,
    week_content_of,
)

# Own figure: entries of so many days before a product was made are one record with it:
# the day on which its making ended stands for the day on which that record was made.
MAKING_DAYS = 3
MADE = "packing"  # ends the making where no rule names another step
FEW = 300  # own figure: so many batches are named in a question; more are all asked for


@dataclass(frozen=True, slots=True)
class Line:
    """One row as the queue sees it: when it was made, by whom, what it corrects."""

    kind: str
    pk: int
    made_at: datetime
    corrects: int
    by_id: int


@dataclass(frozen=True, slots=True)
class Standing:
    """What is still to be read of one batch or week; ``lines`` is never empty.

    ``made_on`` is the day on which the making of the batch ended, where it has.
    """

    lines: tuple[Line, ...]
    last: Review | None
    days: int
    limit_id: str
    zone: tzinfo
    made_on: date | None = None
    batch: Batch | None = None
    week_of: date | None = None

    @property
    def oldest_on(self) -> date:
        """Return the day on which the oldest unread record was made."""
        return min(self._day_of(line) for line in self.lines)

    def _day_of(self, line: Line) -> date:
        day, over = line.made_at.astimezone(self.zone).date(), self.made_on
        if over is not None and over - timedelta(days=MAKING_DAYS) <= day <= over:
            return over
        return day

    @property
    def due_on(self) -> date:
        """Return the last day on which it is in time."""
        return self.oldest_on + timedelta(days=self.days)

    @property
    def changed(self) -> tuple[Line, ...]:
        """Return the unread rows that correct what was read before."""
        covers = {} if self.last is None else self.last.covers
        return tuple(
            line for line in self.lines if 0 < line.corrects <= covers.get(line.kind, 0)
        )

    @property
    def is_reopened(self) -> bool:
        """Say whether something that was read before is not as it was."""
        return bool(self.changed)

    def days_left(self, today: date) -> int:
        """Return the days until it is due; below 0 where it is overdue."""
        return (self.due_on - today).days

    def own(self, member: Member) -> int:
        """Return how many of the unread rows this person wrote, remarks left out.

        Words of a reviewer about the record are no record of the work.
        """
        return sum(
            line.by_id == member.pk and line.kind != "remark" for line in self.lines
        )

    @property
    def last_day(self) -> date | None:
        """Return the last day of its week; None for a batch."""
        return None if self.week_of is None else last_day_of(self.week_of)


@dataclass(frozen=True)
class Read:
    """What one person reads and may sign: all the rows, and what of them is new."""

    rows: Mapping[str, tuple[Any, ...]]
    content: str
    standing: Standing | None
    reviews: tuple[Review, ...]

    @cached_property
    def sha256(self) -> str:
        """Return the number of what is read."""
        return sha256_of(self.content)

    @property
    def covers(self) -> dict[str, int]:
        """Return the newest key of each kind."""
        return {
            kind: max(row.pk for row in rows)
            for kind, rows in self.rows.items()
            if rows
        }

    @property
    def count(self) -> int:
        """Return how many rows are read."""
        return sum(len(rows) for rows in self.rows.values())


def by_other(producer: Producer) -> bool:
    """Say whether nobody may review entries of their own here."""
    newest = ReviewRule.objects.filter(producer=producer).order_by("-pk").first()
    return newest is not None and newest.by_other


def reviews_of(batch: Batch) -> tuple[Review, ...]:
    """Return the reviews of a batch, the first one first."""
    return tuple(batch.reviews.select_related("by").order_by("pk"))


# ------------------------------------------------------------ one batch, one week


def batch_read(records: BatchRecords) -> Read:
    """Return what is read of a batch; ``records`` are all that is on record of it."""
    batch = records.batch
    rows = {
        "batch": (batch,),
        STEP_ROWS: records.marks.all,
        "reading": records.readings.all,
        "trace": records.traces.all,
        "statement": records.statements.all,
        "date": records.dates.all,
        "remark": records.remarks.all,
        "lab-result": records.lab_results.all,
    }
    for kind, of in OF_BATCH.items():
        if kind not in rows:
            rows[kind] = tuple(of.rows().filter(**{of.owner: batch}))
    reviews = records.reviews
    last = reviews[-1] if reviews else None
    lines = _unread(_lines_of(rows), last)
    content = content_of(
        batch,
        rows,
        lots=records.lots,
        instruments=records.instruments,
        checks=records.checks.all,
    )
    ends = (mark for mark in records.marks.current if mark.edge == StepMark.Edge.END)
    standing = _of_batch(batch, lines, last, ends) if lines else None
    return Read(rows, content, standing, reviews)


def week_read(producer: Producer, week_of: date) -> Read:
    """Return what is read of a week: its rows, and whatever corrects them since."""
    zone = premises_of(producer)[0].zone
    keys = [(line.kind, line.pk) for line in _by_week(producer, zone).get(week_of, ())]
    rows = {
        kind: tuple(of.rows().filter(pk__in=[pk for name, pk in keys if name == kind]))
        for kind, of in OF_WEEK.items()
    }
    reviews = tuple(
        producer.reviews.filter(week_of=week_of).select_related("by").order_by("pk")
    )
    last = reviews[-1] if reviews else None
    lines = _unread(_lines_of(rows), last)
    content = week_content_of(producer.slug, week_of, rows)
    standing = _of_week(week_of, lines, last, zone) if lines else None
    return Read(rows, content, standing, reviews)


def monday_of(day: date) -> date:
    """Return the Monday of the week in which a day lies."""
    return day - timedelta(days=day.weekday())


# ------------------------------------------------------------ the queue


def reviews_due(
    producer: Producer,
    *,
    zone: tzinfo | None = None,
    known: Iterable[BatchRecords] = (),
) -> tuple[Standing, ...]:
    """Return whatever is still to be read, the most urgent first.

    In seven queries, however much there is and however many kinds of it; in fewer where
    ``zone`` and the records of the batches are ``known``.
    """
    reviews = tuple(producer.reviews.order_by("pk"))
    zone = zone or premises_of(producer)[0].zone
    read = {each.batch.pk: each for each in known}
    found = [
        *_batches_due(producer, reviews, read),
        *_weeks_due(producer, reviews, zone),
    ]
    return tuple(sorted(found, key=lambda each: each.due_on))


def reviews_signed(producer: Producer, limit: int) -> tuple[Review, ...]:
    """Return the newest reviews, the newest first."""
    return tuple(
        producer.reviews.select_related("batch__product").order_by("-pk")[:limit]
    )


def reviews_late(producer: Producer) -> tuple[Review, ...]:
    """Return every review that was late, for ever, the newest first."""
    return tuple(
        producer.reviews
        .filter(read_on__gt=F("due_on"))
        .select_related("batch__product")
        .order_by("-pk")
    )


def _batches_due(
    producer: Producer, reviews: Iterable[Review], known: Mapping[int, BatchRecords]
) -> list[Standing]:
    last = {review.batch_id: review for review in reviews if review.batch_id}
    newest = _union([
        _lines(kind, of, producer)
        .values("of_row", "row_kind")
        .annotate(newest=Max("pk"))
        .values_list("of_row", "row_kind", "newest")
        for kind, of in OF_BATCH.items()
    ])
    still_open = {pk for pk, kind, key in newest if key > _covered(last.get(pk), kind)}
    if not still_open:
        return []
    lines: dict[int, list[Line]] = {pk: [] for pk in still_open}
    few = still_open if len(still_open) <= FEW else None
    for pk, *columns in _union([
        _lines(kind, of, producer, few).values_list(
            "of_row", "row_kind", "pk", "made_at", "corrected", "by_id"
        )
        for kind, of in OF_BATCH.items()
    ]):
        if pk in lines:
            lines[pk].append(Line(*columns))
    return [
        _of_batch(batch, unread, last.get(batch.pk), ends)
        for batch, ends in _with_ends(producer, still_open, known)
        if (unread := _unread(lines[batch.pk], last.get(batch.pk)))
    ]


def _with_ends(
    producer: Producer, wanted: set[int], known: Mapping[int, BatchRecords]
) -> list[tuple[Batch, list[StepMark]]]:
    """Return batches with the ends of their steps; what is known is not read again."""
    found = [
        (
            known[pk].batch,
            [
                mark
                for mark in known[pk].marks.current
                if mark.edge == StepMark.Edge.END
            ],
        )
        for pk in wanted & set(known)
    ]
    others = wanted - set(known)
    if others:
        ends: dict[int, list[StepMark]] = {pk: [] for pk in others}
        for mark in StepMark.objects.current().filter(
            batch__in=others, edge=StepMark.Edge.END
        ):
            ends[mark.batch_id].append(mark)
        batches = batches_of(producer).filter(pk__in=others)
        found += [(batch, ends[batch.pk]) for batch in batches]
    return sorted(
        found, key=lambda each: (each[0].started_at, each[0].pk), reverse=True
    )


def _weeks_due(
    producer: Producer, reviews: Iterable[Review], zone: tzinfo
) -> list[Standing]:
    last = {review.week_of: review for review in reviews if review.week_of}
    return [
        _of_week(week_of, unread, last.get(week_of), zone)
        for week_of, known in _by_week(producer, zone).items()
        if (unread := _unread(known, last.get(week_of)))
    ]


def _lines(
    kind: str, of: Kind, producer: Producer, batches: set[int] | None = None
) -> QuerySet:
    """Return the rows of one kind with the columns of a line, in no order."""
    model = of.model
    rows = model.objects.filter(**of.where).order_by()
    if batches is not None:
        rows = rows.filter(**{f"{of.owner}__in": batches})
    of_row = F(of.owner)
    if of.is_weekly:
        to_producer = of.owner
        of_row = F(of.follows[1]) if of.follows else Value(0, BigIntegerField())
    else:
        to_producer = "producer" if model is Batch else f"{of.owner}__producer"
    made = Least("last_at", "recorded_at") if model is Trace else F("recorded_at")
    corrected: Any = Value(0, output_field=BigIntegerField())
    if issubclass(model, Correctable):
        corrected = Coalesce("corrects_id", corrected)
    return rows.filter(**{to_producer: producer}).annotate(
        of_row=of_row,
        row_kind=Value(kind, output_field=CharField()),
        made_at=made,
        corrected=corrected,
    )


def _union(queries: list[QuerySet]) -> QuerySet:
    first, *others = queries
    return first.union(*others, all=True)


def _by_week(producer: Producer, zone: tzinfo) -> dict[date, list[Line]]:
    """Return the lines of each week, in one query.

    A correction stays in the week of what it corrects, an answer in that of its round.
    """
    found = _union([
        _lines(kind, of, producer).values_list(
            "of_row", "row_kind", "pk", "made_at", "corrected", "by_id"
        )
        for kind, of in OF_WEEK.items()
    ])
    order = {kind: number for number, kind in enumerate(OF_WEEK)}
    weeks: dict[date, list[Line]] = {}
    week_by_row: dict[tuple[str, int], date] = {}
    for follows, *columns in sorted(found, key=lambda row: (order[row[1]], row[2])):
        line = Line(*columns)
        week_of = monday_of(line.made_at.astimezone(zone).date())
        leader, _ = OF_WEEK[line.kind].follows or ("", "")
        for first in ((line.kind, line.corrects), (leader, follows)):
            week_of = week_by_row.get(first, week_of)
        week_by_row[line.kind, line.pk] = week_of
        weeks.setdefault(week_of, []).append(line)
    return weeks


# ------------------------------------------------------------ parts


def _covered(review: Review | None, kind: str) -> int:
    return 0 if review is None else review.covers.get(kind, 0)


def _unread(lines: Iterable[Line], last: Review | None) -> tuple[Line, ...]:
    return tuple(line for line in lines if line.pk > _covered(last, line.kind))


def _lines_of(rows: Mapping[str, Iterable[Any]]) -> Iterable[Line]:
    for kind, found in rows.items():
        for row in found:
            corrects = getattr(row, "corrects_id", None) or 0
            yield Line(kind, row.pk, _made_at(row), corrects, row.by_id)


def _made_at(row: Any) -> datetime:
    """Return when a record was made: a logger makes its own, until its last reading."""
    recorded: datetime = row.recorded_at
    return min(row.last_at, recorded) if isinstance(row, Trace) else recorded


def _of_batch(
    batch: Batch, lines: Iterable[Line], last: Review | None, ends: Iterable[StepMark]
) -> Standing:
    days, limit_id = days_of(batch)
    zone = batch.premises.zone
    anchor = anchor_of(batch.product.evidence(batch.premises).facts) or MADE
    over = next((mark.occurred_at for mark in ends if mark.step == anchor), None)
    made_on = None if over is None else over.astimezone(zone).date()
    return Standing(tuple(lines), last, days, limit_id, zone, made_on, batch=batch)


def _of_week(
    week_of: date, lines: Iterable[Line], last: Review | None, zone: tzinfo
) -> Standing:
    days, limit_id = days_published()
    return Standing(tuple(lines), last, days, limit_id, zone, week_of=week_of)
