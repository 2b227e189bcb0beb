"""Columns (or named rows) to the readings of each sensor, exact and in order."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from batches.loggerfile import headings as words
from batches.loggerfile.answers import Answers
from batches.loggerfile.bounds import PLAUSIBLE_BY_UNIT
from batches.loggerfile.columns import Roles
from batches.loggerfile.notes import Notes
from batches.loggerfile.numbers import Numbers, read_numbers
from batches.loggerfile.shapes import Rows
from batches.loggerfile.table import Table
from batches.loggerfile.units import LABEL_BY_UNIT, heading_units, settle_unit
from batches.loggerfile.zones import Flags

_OTHER_UNIT = "another unit"


@dataclass(frozen=True, slots=True, eq=False)
class Readings:
    """The cells that are one sensor's readings, in the order of the file."""

    key: str
    name: str
    column: int
    unit: str | None
    unit_known_by: str
    rows: Rows
    values: npt.NDArray[np.int64]
    decimals: int


@dataclass(frozen=True, slots=True, eq=False)
class Names:
    """Which sensor each row belongs to; one name for all where rows carry none."""

    names: tuple[str, ...]
    codes: npt.NDArray[np.int64]


def read_names(table: Table, roles: Roles) -> Names:
    """Read the column that names the sensor of each row."""
    if roles.names is None:
        return Names(("",), np.zeros(len(table.lines), np.int64))
    cells = table.columns[roles.names].cells
    code_by_name = {name: code for code, name in enumerate(dict.fromkeys(cells))}
    codes = np.fromiter(map(code_by_name.__getitem__, cells), np.int64, len(cells))
    return Names(tuple(code_by_name), codes)


@dataclass(frozen=True, slots=True, eq=False)
class Source:
    """What is needed to read the sensors of a table."""

    table: Table
    roles: Roles
    names: Names
    mark: str | None
    is_timed: Flags
    """Rows that have a usable time."""
    answers: Answers
    notes: Notes

    def leave_out(self, column: int, reason: str, rows: Rows) -> None:
        """Note cells of a column that are not read."""
        self.notes.leave_out(
            reason,
            rows,
            lines=self.table.lines,
            text=self.table.columns[column].cells.__getitem__,
            column=self.table.headings[column] or f"column {column + 1}",
        )


def read_sensors(source: Source) -> list[Readings]:
    """Read all sensors of a table, from the rows that have a usable time."""
    names = source.names
    if source.roles.names is not None:
        is_named = np.array([bool(name) for name in names.names], bool)[names.codes]
        without = np.flatnonzero(source.is_timed & ~is_named)
        source.leave_out(source.roles.names, "no sensor named", without)
        source = replace(source, is_timed=source.is_timed & is_named)
    found = [
        readings
        for column in source.roles.sensors
        for readings in _read_column(source, column)
    ]
    return _merged(found)


def _read_column(source: Source, column: int) -> Iterator[Readings]:
    numbers = read_numbers(source.table.columns[column], source.mark)
    for reason, rows in numbers.reasons:
        source.leave_out(column, reason, np.sort(rows[source.is_timed[rows]]))
    units, unit_codes = _row_units(source.table, source.roles, numbers)
    usable = numbers.is_number & source.is_timed
    if _OTHER_UNIT in units:
        other = usable & (unit_codes == units.index(_OTHER_UNIT))
        source.leave_out(
            column, "neither °F, °C nor % relative humidity", np.flatnonzero(other)
        )
        usable &= ~other
    group = source.names.codes * len(units) + unit_codes
    for code in np.unique(group[usable]).tolist():
        name_code, unit_code = divmod(code, len(units))
        rows = np.flatnonzero(usable & (group == code))
        name = source.names.names[name_code]
        yield from _read_group(source, column, name, units[unit_code], rows, numbers)


def _row_units(
    table: Table, roles: Roles, numbers: Numbers
) -> tuple[list[str], npt.NDArray[np.int64]]:
    """Give the unit that each row states: in the cell, else in a column of units."""
    units = list(numbers.units)
    codes = numbers.unit_codes.astype(np.int64)
    if roles.units is None:
        return units, codes
    column = table.columns[roles.units]
    for text in dict.fromkeys(column.cells):
        unit = (words.unit_of_cell(text) or _OTHER_UNIT) if text else ""
        if unit not in units:
            units.append(unit)
    code_by_text = {
        text: units.index((words.unit_of_cell(text) or _OTHER_UNIT) if text else "")
        for text in set(column.cells)
    }
    stated = np.fromiter(map(code_by_text.__getitem__, column.cells), np.int64)
    differs = (codes != 0) & (stated != 0) & (codes != stated)
    if differs.any() and _OTHER_UNIT not in units:
        units.append(_OTHER_UNIT)
    codes = np.where(codes == 0, stated, codes)
    if differs.any():
        codes[differs] = units.index(_OTHER_UNIT)
    return units, codes


def _read_group(
    source: Source,
    column: int,
    row_name: str,
    row_unit: str,
    rows: Rows,
    numbers: Numbers,
) -> Iterator[Readings]:
    """Read the rows of one column that name one sensor and state one unit."""
    key = f"{column}:{row_name}" if row_name else str(column)
    given = source.answers.unit_by_column
    answer = given.get(key) or given.get(str(column))
    evidence = heading_units(source.table, column)
    if row_unit:
        key = f"{key}@{row_unit}"
        answer = given.get(key)
        evidence.setdefault(row_unit, "the text of the cells")
    first = int(rows[0])
    name = _name(source, column, row_name)
    found = settle_unit(
        key,
        name,
        evidence=evidence,
        answer=answer,
        example=source.table.columns[column].cells[first],
        line=int(source.table.lines[first]),
        notes=source.notes,
    )
    if found.is_ignored:
        source.leave_out(column, f"“{name}” left out as you answered", rows)
        return
    rows = _plausible(source, column, rows, numbers, found.unit)
    if len(rows):
        unit, known_by = found.unit, found.known_by
        values, decimals = numbers.values[rows], numbers.decimals
        yield Readings(key, name, column, unit, known_by, rows, values, decimals)


def _plausible(
    source: Source, column: int, rows: Rows, numbers: Numbers, unit: str | None
) -> Rows:
    """Drop values that no sensor shows: fault codes written as numbers."""
    if unit is None:
        return rows
    lowest, highest = PLAUSIBLE_BY_UNIT[unit]
    scale = 10**numbers.decimals
    values = numbers.values[rows]
    is_odd = (values < lowest * scale) | (values > highest * scale)
    reason = f"not between {lowest} and {highest} {LABEL_BY_UNIT[unit]}"
    source.leave_out(column, reason, rows[is_odd])
    return rows[~is_odd]


def _name(source: Source, column: int, row_name: str) -> str:
    heading = source.table.headings[column]
    name = words.name_without_unit(heading) or f"Column {column + 1}"
    if not row_name:
        return name
    return row_name if len(source.roles.sensors) == 1 else f"{row_name} {name}"


def _merged(found: list[Readings]) -> list[Readings]:
    """Join what is one sensor in one unit, and give different columns different names."""
    joined: dict[tuple[int, str, str], Readings] = {}
    for readings in found:
        same = (readings.column, readings.name, readings.unit or readings.key)
        known = joined.get(same)
        if known is None:
            joined[same] = readings
            continue
        rows = np.concatenate((known.rows, readings.rows))
        order = np.argsort(rows, kind="stable")
        values = np.concatenate((known.values, readings.values))[order]
        joined[same] = replace(known, rows=rows[order], values=values)
    columns_by_name = Counter(
        name for _, name in {(each.column, each.name) for each in joined.values()}
    )
    return [
        replace(each, name=f"{each.name} (column {each.column + 1})")
        if columns_by_name[each.name] > 1
        else each
        for each in joined.values()
    ]
