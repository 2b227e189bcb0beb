"""A record as its reviewer reads it: what the plan asks beside what was written."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from batches.lookups import BatchRecords, Rows
from batches.lookups.reviews import Read
from batches.models import Batch, Member
from batches.models.entry import LATE_AFTER
from batches.templatetags.measures import quantity_title, written
from batches.views.sheet import Sheet, StepView


@dataclass(frozen=True, slots=True)
class Written:
    """One row of the record: what it says, by whom, and what became of it."""

    at: datetime
    text: str
    by: str
    recorded_at: datetime
    is_late: bool
    is_replaced: bool
    fate: str
    is_new: bool
    is_own: bool


@dataclass(frozen=True, slots=True)
class StepRead:
    """One step: its limits, and everything that was written in it."""

    view: StepView
    rows: tuple[Written, ...]


@dataclass(frozen=True, slots=True)
class Counted:
    """How much there is to look at, so that nothing is passed over."""

    rows: int
    new: int
    late: int
    corrected: int
    own: int


@dataclass(frozen=True, slots=True)
class RecordRead:
    """Everything of a batch in the order in which it is read."""

    sheet: Sheet
    steps: tuple[StepRead, ...]
    others: tuple[Written, ...]
    laboratory: tuple[Written, ...]
    checks: tuple[Written, ...]
    counted: Counted


def record_read(
    records: BatchRecords, sheet: Sheet, read: Read, member: Member
) -> RecordRead:
    """Put limits and rows side by side, step by step."""
    covers = read.reviews[-1].covers if read.reviews else None
    clerk = _Clerk(member, covers)
    steps = tuple(
        StepRead(view, _in_order(_of_step(records, view.name, clerk)))
        for view in sheet.steps
    )
    others = _in_order(_others(records, clerk))
    laboratory = _in_order(_laboratory(records, clerk))
    rows = [*others, *laboratory, *(row for step in steps for row in step.rows)]
    return RecordRead(
        sheet=sheet,
        steps=tuple(
            step for step in steps if step.rows or step.view.points or step.view.traces
        ),
        others=others,
        laboratory=laboratory,
        checks=_in_order(
            clerk.row("check", row, records.checks, check_text(row))
            for row in records.checks.all
            if not row.withdrawn
        ),
        counted=counted(rows, read),
    )


def week_rows(read: Read, member: Member) -> tuple[Written, ...]:
    """Return the checks of one week, in order."""
    covers = read.reviews[-1].covers if read.reviews else None
    clerk = _Clerk(member, covers)
    checks: Rows[Any] = Rows(read.rows["check"])
    return _in_order(
        clerk.row("check", row, checks, check_text(row))
        for row in checks.all
        if not row.withdrawn
    )


def counted(rows: Iterable[Written], read: Read) -> Counted:
    """Count what a reader must not pass over; rows taken back are counted, too."""
    known = list(rows)
    return Counted(
        rows=read.count,
        new=0 if read.standing is None else len(read.standing.lines),
        late=sum(row.is_late for row in known),
        corrected=sum(row.is_replaced for row in known),
        own=sum(row.is_own and row.is_new for row in known),
    )


# ------------------------------------------------------------ rows


class _Clerk:
    """Puts rows into words for one reader."""

    def __init__(self, member: Member, covers: dict[str, int] | None) -> None:
        self.member = member
        self.covers = covers

    def row(self, kind: str, row: Any, rows: Rows[Any], text: str) -> Written:
        """Return a row in words, with its fate."""
        correction = rows.correction_of(row)
        claimed = getattr(row, "claimed_at", None)
        shown = getattr(row, "occurred_at", None) or getattr(row, "occurs_at", None)
        newest = None if self.covers is None else self.covers.get(kind, 0)
        return Written(
            at=claimed or shown or row.recorded_at,
            text=text,
            by=row.by.initials,
            recorded_at=row.recorded_at,
            is_late=bool(getattr(row, "is_late", False)),
            is_replaced=correction is not None,
            fate=_fate(row, correction),
            is_new=newest is None or row.pk > newest,
            is_own=row.by_id == self.member.pk and kind != "remark",
        )

    def begun(self, batch: Batch) -> Written:
        """Return that a batch was begun."""
        return Written(
            at=batch.started_at,
            text="Batch begun",
            by=batch.by.initials,
            recorded_at=batch.recorded_at,
            is_late=batch.recorded_at - batch.started_at > LATE_AFTER,
            is_replaced=False,
            fate="",
            is_new=self.covers is None,
            is_own=batch.by_id == self.member.pk,
        )


def _fate(row: Any, correction: Any) -> str:
    words = []
    if row.corrects_id is not None:
        words.append(f"A correction. Reason: {row.reason.rstrip('.')}.")
    if correction is not None:
        verb = "Taken back" if correction.withdrawn else "Corrected"
        words.append(
            f"{verb} by {correction.by.initials}: {correction.reason.rstrip('.')}."
        )
    return " ".join(words)


def _of_step(records: BatchRecords, step: str, clerk: _Clerk) -> Iterator[Written]:
    texts: tuple[tuple[str, Rows[Any], Callable[[Any], str]], ...] = (
        ("step", records.marks, lambda row: f"{row.get_edge_display()} of the step"),
        ("reading", records.readings, reading_text),
        ("trace", records.traces, trace_text),
        ("remark", records.remarks, lambda row: row.text),
    )
    for kind, rows, text in texts:
        for row in rows.all:
            is_ours = not row.withdrawn and row.step == step
            if is_ours and getattr(row, "lab_result_id", None) is None:
                yield clerk.row(kind, row, rows, text(row))


def _others(records: BatchRecords, clerk: _Clerk) -> Iterator[Written]:
    yield clerk.begun(records.batch)
    for row in records.statements.all:
        if not row.withdrawn:
            yield clerk.row("statement", row, records.statements, str(row))
    for row in records.dates.all:
        if not row.withdrawn:
            yield clerk.row("date", row, records.dates, f"{row}: the date beside")
    for row in records.remarks.all:
        if not row.withdrawn and not row.step:
            yield clerk.row("remark", row, records.remarks, row.text)


def _laboratory(records: BatchRecords, clerk: _Clerk) -> Iterator[Written]:
    for result in records.lab_results.all:
        if result.withdrawn:
            continue
        figures = "; ".join(
            f"{row.place} {quantity_title(row.quantity).lower()} "
            f"{written(row.value, row.unit)}".strip()
            for row in records.readings.all
            if row.lab_result_id == result.pk and not row.withdrawn
        )
        text = f"{result}: {figures or 'no figure yet'}"
        yield clerk.row("lab-result", result, records.lab_results, text)


def reading_text(row: Any) -> str:
    """Return a typed reading in words, digits as typed."""
    place = f", {row.place}" if row.place else ""
    with_what = f", with {row.instrument.code}" if row.instrument else ""
    value = written(row.value, row.unit)
    return f"{value} {quantity_title(row.quantity).lower()}{place}{with_what}"


def trace_text(row: Any) -> str:
    """Return a logged series in words."""
    low, high = written(row.lowest, row.unit), written(row.highest, row.unit)
    place = f", {row.place}" if row.place else ""
    return (
        f"{row.count} logged values of {quantity_title(row.quantity).lower()}{place}: "
        f"{low} to {high}, from {row.logger_file.name}"
    )


def check_text(row: Any) -> str:
    """Return a check in words."""
    adjusted = "; adjusted after it" if row.adjusted else ""
    note = f"; {row.note}" if row.note else ""
    shown, true = written(row.shown, row.unit), written(row.true, row.unit)
    method = row.get_method_display().lower()
    return f"{row.instrument.code}, {method}: showed {shown} for {true}{adjusted}{note}"


def _in_order(rows: Iterable[Written]) -> tuple[Written, ...]:
    return tuple(sorted(rows, key=lambda row: (row.at, row.recorded_at)))
