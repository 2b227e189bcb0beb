"""A record as its reviewer reads it: what the plan asks beside what was written."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from batches.lookups import BatchRecords, Rows
from batches.lookups.reviews import Read
from batches.models import Member
from batches.packagewords import KINDS, words
from batches.templatetags.measures import quantity_title, written
from batches.views.clerk import Clerk, Written, in_order
from batches.views.read_cases import CaseRead, cases_of, rest_of
from batches.views.sheet import Sheet, StepView


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
    packages: tuple[Written, ...]
    cases: tuple[CaseRead, ...]
    rest: tuple[Written, ...]
    checks: tuple[Written, ...]
    counted: Counted


def record_read(
    records: BatchRecords, sheet: Sheet, read: Read, member: Member
) -> RecordRead:
    """Put limits and rows side by side, step by step."""
    clerk = Clerk(member, read)
    steps = tuple(
        StepRead(view, in_order(_of_step(records, view.name, clerk)))
        for view in sheet.steps
    )
    others = in_order([*_others(records, clerk), *_brined(read, clerk)])
    laboratory = in_order(_laboratory(records, read, clerk))
    packages = in_order(_packages(read, clerk))
    cases, rest = cases_of(read.rows, clerk), rest_of(read.rows, clerk)
    rows = [*others, *laboratory, *packages, *rest]
    rows += [row for step in steps for row in step.rows]
    rows += [row for case in cases for row in case.rows]
    return RecordRead(
        sheet=sheet,
        steps=tuple(
            step for step in steps if step.rows or step.view.points or step.view.traces
        ),
        others=others,
        laboratory=laboratory,
        packages=packages,
        cases=cases,
        rest=rest,
        checks=in_order(
            clerk.row("check", row, records.checks, check_text(row))
            for row in records.checks.all
            if not row.withdrawn
        ),
        counted=counted(rows, read),
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


def _of_step(records: BatchRecords, step: str, clerk: Clerk) -> Iterator[Written]:
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


def _others(records: BatchRecords, clerk: Clerk) -> Iterator[Written]:
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


def _brined(read: Read, clerk: Clerk) -> Iterator[Written]:
    for kind in ("brine", "soak-break"):
        rows: Rows[Any] = Rows(read.rows[kind])
        for row in rows.all:
            if not row.withdrawn:
                yield clerk.row(kind, row, rows, f"Brine: {row}")


def _laboratory(records: BatchRecords, read: Read, clerk: Clerk) -> Iterator[Written]:
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
    for row in read.rows["lab-read"]:
        text = f"Report read: {records.lab_results.by_pk[row.result_id]}"
        yield clerk.told("lab-read", row, text, row.recorded_at)


def _packages(read: Read, clerk: Clerk) -> Iterator[Written]:
    for kind, _ in KINDS:
        rows: Rows[Any] = Rows(read.rows[kind])
        for row in rows.all:
            if not row.withdrawn:
                yield clerk.row(kind, row, rows, words(row))


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
