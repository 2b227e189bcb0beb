"""Typed readings as tables: a row for each instant, a column for each place."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from reports import wording
from reports.observed import Scribe, lateness, letters, shown
from reports.sheets import Column, Mark, Note, ReadingRow, ReadingTable
from safety.controls import STEPS
from safety.quantities import QUANTITIES
from safety.units import symbol

MOST_COLUMNS = 6
Key = tuple[str, str, str]  # place, instrument, unit


@dataclass(slots=True)
class _Line:
    """One row while it is being put together."""

    at: datetime
    by: str
    recorded: list[datetime] = field(default_factory=list)
    late: str = ""
    is_outside: bool = False
    cells: dict[Key, list[Mark]] = field(default_factory=dict)


def reading_tables(
    readings: Any, windows: Mapping[str, Any], scribe: Scribe
) -> tuple[ReadingTable, ...]:
    """Return every typed reading, by step and quantity in the order of the work."""
    by_table: dict[tuple[str, str], list[Any]] = {}
    for row in shown(readings):
        if row.lab_result_id is None:
            by_table.setdefault((row.step, row.quantity), []).append(row)
    ordered = sorted(by_table, key=lambda key: (STEPS.index(key[0]), key[1]))
    return tuple(
        table
        for key in ordered
        for table in _tables(key, by_table[key], readings, windows.get(key[0]), scribe)
    )


def _tables(
    key: tuple[str, str],
    rows: Sequence[Any],
    readings: Any,
    window: Any,
    scribe: Scribe,
) -> list[ReadingTable]:
    title = f"{wording.title(key[0])}: {wording.quantity_name(key[1])}"
    changed = [row for row in rows if readings.correction_of(row)]
    marks = {
        row.pk: mark for row, mark in zip(changed, letters(len(changed)), strict=True)
    }
    lines = _lines(rows, readings, marks, window)
    columns = sorted({_column(row) for row in rows})
    notes = tuple(
        Note(mark=marks[row.pk], text=_note(row, readings.correction_of(row), scribe))
        for row in changed
    )
    parts = [
        columns[i : i + MOST_COLUMNS] for i in range(0, len(columns), MOST_COLUMNS)
    ]
    return [
        ReadingTable(
            title=title if len(parts) == 1 else f"{title} ({count} of {len(parts)})",
            columns=tuple(_head(column, key[1]) for column in part),
            rows=_rows(lines, part, scribe),
            notes=notes if count == len(parts) else (),
        )
        for count, part in enumerate(parts, start=1)
    ]


def _lines(
    rows: Sequence[Any], readings: Any, marks: dict[int, str], window: Any
) -> list[_Line]:
    lines: dict[tuple[datetime, str], _Line] = {}
    for row in sorted(rows, key=lambda each: each.pk):
        root = row
        while root.corrects_id is not None:
            root = root.corrects
        minute = _minute(row)
        is_beside = row is not root and _minute(root) == minute
        by = (root if is_beside else row).by_whom
        line = lines.setdefault((minute, by), _Line(at=minute, by=by))
        if not is_beside:
            line.recorded.append(row.recorded_at)
            line.late = line.late or lateness(row)
        line.is_outside |= _is_outside(row, window)
        line.cells.setdefault(_column(row), []).append(_mark(row, readings, marks))
    return [lines[key] for key in sorted(lines)]


def _is_outside(row: Any, window: Any) -> bool:
    """Say whether a reading lies outside its step, where it is not judged."""
    if window is None:
        return False
    ended = window.end is not None and row.occurred_at > window.end.occurred_at
    return ended or row.occurred_at < window.start.occurred_at


def _minute(row: Any) -> datetime:
    return row.occurred_at.replace(second=0, microsecond=0)


def _column(row: Any) -> Key:
    return row.place, row.instrument.code if row.instrument else "", row.unit


def _head(column: Key, quantity: str) -> Column:
    place, instrument, unit = column
    is_asked = QUANTITIES[quantity].instrument is not None
    return Column(
        place=place,
        instrument=instrument or ("no instrument" if is_asked else ""),
        unit=symbol(unit),
        also_unit=symbol(wording.OTHER[unit]) if unit in wording.OTHER else "",
    )


def _mark(row: Any, readings: Any, marks: dict[int, str]) -> Mark:
    also = wording.in_other(row.value, row.unit) if row.unit in wording.OTHER else ""
    return Mark(
        value=wording.number(row.value),
        also=also,
        is_replaced=readings.correction_of(row) is not None,
        notes=(marks[row.pk],) if row.pk in marks else (),
    )


def _note(row: Any, correction: Any, scribe: Scribe) -> str:
    was = _said(row, scribe)
    if correction.withdrawn:
        return f"{was}: {_lower(scribe.fate(correction))}."
    now = _said(correction, scribe)
    return f"{was}, now {now}: {_lower(scribe.fate(correction))}."


def _said(row: Any, scribe: Scribe) -> str:
    place = f"{row.place}, " if row.place else ""
    return f"{place}{scribe.at(row.occurred_at)}, {wording.amount(row.value, row.unit)}"


def _lower(sentence: str) -> str:
    return sentence[0].lower() + sentence[1:]


def _rows(
    lines: Sequence[_Line], part: Sequence[Key], scribe: Scribe
) -> tuple[ReadingRow, ...]:
    rows = []
    before: datetime | None = None
    for line in lines:
        if not any(column in line.cells for column in part):
            continue
        at = (
            scribe.at(line.at)
            if before is None
            else wording.clock(line.at, scribe.zone, before)
        )
        before = line.at
        rows.append(
            ReadingRow(
                at=at,
                cells=tuple(tuple(line.cells.get(column, ())) for column in part),
                by=line.by,
                recorded=wording.clock(max(line.recorded), scribe.zone, line.at),
                late=line.late,
                is_outside=line.is_outside,
            )
        )
    return tuple(rows)
