"""What people and loggers wrote down, as rows of a document, corrections included."""

import hashlib
import string
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from reports import wording
from reports.sheets import (
    EdgeMark,
    FileRow,
    LabRow,
    Made,
    Pair,
    SaidRow,
    StepRow,
    TraceRow,
)
from safety.controls import STEPS

MIN_US = 60_000_000
EDGES = ("start", "end")
KILO = 1000


class Scribe:
    """Says who wrote a row and when, and what became of it, in one time zone."""

    def __init__(self, zone: ZoneInfo) -> None:
        self.zone = zone

    def at(self, instant: datetime) -> str:
        return wording.moment(instant, self.zone)

    def made(self, row: Any, rows: Any = None) -> Made:
        """Return who wrote a row; ``rows`` knows by which other it was corrected."""
        claimed = getattr(row, "claimed_at", None)
        recorded = wording.clock(row.recorded_at, self.zone, claimed or row.recorded_at)
        correction = rows.correction_of(row) if rows is not None else None
        return Made(
            by=getattr(row, "by_whom", row.by.initials),
            recorded=recorded if claimed else self.at(row.recorded_at),
            late=lateness(row),
            change=self._change(row, correction),
            is_replaced=correction is not None,
        )

    def _change(self, row: Any, correction: Any) -> str:
        parts = []
        if getattr(row, "corrects_id", None):
            parts.append("This is a correction.")
        if correction is not None:
            parts.append(f"{self.fate(correction)}.")
        return " ".join(parts)

    def fate(self, correction: Any) -> str:
        """Return who corrected a row or took it back, when and why."""
        verb = "Taken back" if correction.withdrawn else "Corrected"
        by, at = correction.by.initials, self.at(correction.recorded_at)
        return f"{verb} by {by} on {at}. Reason: {correction.reason.rstrip('.')}"


def lateness(row: Any) -> str:
    """Return how late a row was written down; nothing where it was not."""
    if not getattr(row, "is_late", False):
        return ""
    minutes = (row.recorded_at - row.claimed_at).total_seconds() // 60
    return f"late by {wording.span(minutes)}"


def shown(rows: Any) -> Iterator[Any]:
    """Yield the rows that say something: all but those that only take one back."""
    return (row for row in rows.all if not row.withdrawn)


def step_rows(marks: Any, scribe: Scribe) -> tuple[StepRow, ...]:
    """Return the steps in the order of the work, with every mark of their edges."""
    table = []
    for step in STEPS:
        edges = tuple(
            tuple(
                EdgeMark(at=scribe.at(mark.occurred_at), made=scribe.made(mark, marks))
                for mark in shown(marks)
                if mark.step == step and mark.edge == edge
            )
            for edge in EDGES
        )
        if any(edges):
            table.append(StepRow(step=wording.title(step), edges=edges))
    return tuple(table)


# ------------------------------------------------------------ loggers


def trace_rows(traces: Any, scribe: Scribe) -> tuple[TraceRow, ...]:
    """Return one line for each logged series."""
    return tuple(_trace_row(row, traces, scribe) for row in shown(traces))


def _trace_row(row: Any, traces: Any, scribe: Scribe) -> TraceRow:
    at_us, values = row.arrays()
    digest = hashlib.sha256(np.ascontiguousarray(at_us).tobytes())
    digest.update(np.ascontiguousarray(values).tobytes())
    return TraceRow(
        step=wording.title(row.step),
        quantity=wording.quantity_name(row.quantity),
        place=row.place,
        instrument=row.instrument.code if row.instrument else "no instrument named",
        first=scribe.at(row.first_at),
        last=wording.clock(row.last_at, scribe.zone, row.first_at),
        count=f"{row.count:,}",
        spacing=_spacing(at_us),
        lowest=wording.both(row.lowest, row.unit),
        highest=wording.both(row.highest, row.unit),
        made=scribe.made(row, traces),
        digest=digest.hexdigest(),
    )


def _spacing(at_us: np.ndarray) -> str:
    gaps = np.diff(at_us) / MIN_US
    if not gaps.size:
        return "one reading"
    usual, longest = float(np.median(gaps)), float(gaps.max())
    said = f"every {wording.span(usual)}"
    return said if longest <= usual else f"{said}, longest gap {wording.span(longest)}"


def file_rows(traces: Any, scribe: Scribe) -> tuple[FileRow, ...]:
    """Return the original files behind the series, each once."""
    files = {row.logger_file.pk: row.logger_file for row in traces.all}
    return tuple(
        FileRow(
            name=file.name,
            size=f"{max(1, round(file.size / KILO)):,} kB",
            sha256=file.sha256,
            made=scribe.made(file),
        )
        for file in files.values()
    )


# ------------------------------------------------------------ laboratory and words


def lab_rows(labs: Any, readings: Any, scribe: Scribe) -> tuple[LabRow, ...]:
    """Return the laboratory's reports, each with its figures."""
    return tuple(
        LabRow(
            laboratory=lab.laboratory,
            reference=lab.reference,
            dates=_lab_dates(lab, scribe),
            values=tuple(_lab_values(lab, readings)),
            made=scribe.made(lab, labs),
            note=lab.note,
        )
        for lab in shown(labs)
    )


def _lab_dates(lab: Any, scribe: Scribe) -> str:
    parts = [f"sampled {scribe.at(lab.sampled_at)}"]
    parts += [
        f"{word} {scribe.at(at)}" if at else f"not yet {word}"
        for word, at in (("reported", lab.reported_at), ("read", lab.read_at))
    ]
    return ", ".join(parts)


def _lab_values(lab: Any, readings: Any) -> Iterator[Pair]:
    for row in shown(readings):
        if row.lab_result_id == lab.pk:
            name = f"{row.place} {wording.quantity_name(row.quantity)}".strip()
            replaced = readings.correction_of(row)
            value = wording.amount(row.value, row.unit)
            yield Pair(name=name, value=f"{value} (replaced)" if replaced else value)


def said_rows(
    statements: Any, dates: Any, remarks: Any, brined: Any, scribe: Scribe
) -> tuple[SaidRow, ...]:
    """Return what was stated, dated and remarked, and what was weighed into the brine."""
    lines = [
        (row, statements, wording.plain(row.what), row.occurred_at, _complies(row))
        for row in shown(statements)
    ]
    lines += [
        (row, dates, wording.plain(row.what), row.occurs_at, "") for row in shown(dates)
    ]
    lines += [
        (row, rows, "brine", row.occurred_at, str(row))
        for _, rows, row in brined
        if not row.withdrawn
    ]
    lines += [
        (row, remarks, f"remark, {wording.title(row.step)}" if row.step else "remark",
         row.occurred_at, row.text)
        for row in shown(remarks)
    ]  # fmt: skip
    return tuple(
        SaidRow(kind=kind, text=text, at=scribe.at(at), made=scribe.made(row, rows))
        for row, rows, kind, at, text in lines
    )


def _complies(row: Any) -> str:
    return "complies" if row.complies else "does NOT comply"


def people(rows: Iterable[Any]) -> tuple[Pair, ...]:
    """Return who wrote anything: initials, name and role."""
    members = {row.by.pk: row.by for row in rows}
    return tuple(
        Pair(name=member.initials, value=f"{member.name}, {member.role}")
        for _, member in sorted(members.items())
    )


def letters(count: int) -> Sequence[str]:
    """Return marks for notes: a to z, then aa, ab and so on."""
    marks: list[str] = list(string.ascii_lowercase)
    while len(marks) < count:
        marks += [
            first + mark for first in string.ascii_lowercase for mark in marks[:26]
        ]
    return marks[:count]
