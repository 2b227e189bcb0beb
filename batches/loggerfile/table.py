"""Rows of cells to a table: where the headings are, which rows hold readings."""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from batches.loggerfile.bounds import PREAMBLE_SHOWN, SAMPLE_LINES
from batches.loggerfile.delimiting import Rows
from batches.loggerfile.errors import LoggerFileError
from batches.loggerfile.headings import is_format_cell, unit_of_cell, units_in
from batches.loggerfile.kinds import (
    MOMENTS,
    NUMBER,
    TEXT,
    WORD,
    kind_of_cell,
    kind_of_shape,
)
from batches.loggerfile.model import Choice, Question
from batches.loggerfile.notes import Notes
from batches.loggerfile.shapes import Shaped

_VALUE_KINDS = frozenset((NUMBER, WORD))


@dataclass(frozen=True, slots=True, eq=False)
class Table:
    """The readings' part of a file: headings, columns of cells, line numbers."""

    headings: tuple[str, ...]
    units_below: tuple[str, ...]
    header_line: int | None
    unit_line: int | None
    preamble: tuple[str, ...]
    columns: tuple[Shaped, ...]
    lines: npt.NDArray[np.int64]
    row_count: int
    """Rows below the headings that are not blank."""
    suffixes: frozenset[int] = frozenset()
    """Columns whose cells were put behind the times to their left."""


@dataclass(frozen=True, slots=True)
class _Header:
    first_row: int
    """The first row with readings."""
    heading_row: int | None
    unit_row: int | None


def read_table(rows: Rows, *, name: str, blocks: str | None, notes: Notes) -> Table:
    """Find headings and readings among the rows of a file."""
    cells = [[cell.strip() for cell in row] for row in rows.cells]
    lead = _leading_column(cells)
    leads = Shaped([row[lead] if len(row) > lead else "" for row in cells])
    is_lead = _is_lead(leads)
    header = _find_header(cells, lead, is_lead, name)
    headings = (
        _trimmed(cells[header.heading_row]) if header.heading_row is not None else []
    )
    body = [index for index in range(header.first_row, len(cells)) if any(cells[index])]
    readings = [index for index in body if is_lead[index]]
    width = _width(cells, readings, headings, rows.delimiter)
    kept = _keep_fitting(cells, readings, width, rows, notes, has_names=bool(headings))
    if not kept:
        raise LoggerFileError(
            f"{name}, line {rows.lines[readings[0]]}",
            "Every row of readings has more cells than there are headings.",
            "If commas part the columns and also stand before the decimals, export "
            "with semicolons or tabs between the columns.",
        )
    _leave_out_others(cells, body, is_lead, header, rows, blocks, notes, name)
    _warn_of_spanning(rows, header, notes)
    columns = _columns([cells[index] for index in kept], width)
    return Table(
        headings=tuple(headings + [""] * (width - len(headings))),
        units_below=_units_below(cells, header, width),
        header_line=_line(rows, header.heading_row),
        unit_line=_line(rows, header.unit_row),
        preamble=_preamble(cells, header),
        columns=columns,
        lines=np.array([rows.lines[index] for index in kept], np.int64),
        row_count=len(body),
    )


def _line(rows: Rows, row: int | None) -> int | None:
    return None if row is None else rows.lines[row]


def _leading_column(cells: list[list[str]]) -> int:
    """Choose the column that holds most dates, else the first with most numbers."""
    filled = [row for row in cells if any(row)]
    middle = len(filled) // 2
    sample = filled[:SAMPLE_LINES] + filled[middle : middle + SAMPLE_LINES]
    moments: Counter[int] = Counter()
    numbers: Counter[int] = Counter()
    for row in sample:
        kinds = [kind_of_cell(cell) for cell in row]
        has_values = not _VALUE_KINDS.isdisjoint(kinds)
        for index, kind in enumerate(kinds):
            moments[index] += has_values and kind in MOMENTS
            numbers[index] += kind == NUMBER
    counts = moments if any(moments.values()) else numbers
    return max(sorted(counts), key=lambda index: counts[index], default=0)


def _is_lead(leads: Shaped) -> npt.NDArray[np.bool_]:
    kinds = [kind_of_shape(shape) for shape in leads.shapes]
    allowed = MOMENTS if not MOMENTS.isdisjoint(kinds) else frozenset((NUMBER,))
    return np.array([kind in allowed for kind in kinds], bool)[leads.codes]


def _find_header(
    cells: list[list[str]], lead: int, is_lead: npt.NDArray[np.bool_], name: str
) -> _Header:
    first = next(
        (
            int(row)
            for row in np.flatnonzero(is_lead)
            if any(
                kind_of_cell(cell) in _VALUE_KINDS
                for index, cell in enumerate(cells[row])
                if index != lead
            )
        ),
        None,
    )
    if first is None:
        raise LoggerFileError(
            name,
            "No row has both a date and a number.",
            "Bring the export that has a date, a time and the readings in each row.",
        )
    above = [row for row in range(first) if any(cells[row])]
    if not above:
        return _Header(first, None, None)
    nearest = above[-1]
    if _is_unit_row(cells[nearest], lead):
        before = above[-2] if len(above) > 1 else None
        if before is not None and _is_heading(cells[before], lead):
            return _Header(first, before, nearest)
    if _is_heading(cells[nearest], lead):
        return _Header(first, nearest, None)
    return _Header(first, None, None)


def _is_heading(row: list[str], lead: int) -> bool:
    """Say whether a row may hold headings: words over the dates and elsewhere."""
    if len(row) <= lead or kind_of_cell(row[lead]) not in {TEXT, WORD}:
        return False
    others = [cell for index, cell in enumerate(row) if cell and index != lead]
    return bool(others) and not any(_is_reading(cell) for cell in others)


def _is_reading(cell: str) -> bool:
    kind = kind_of_cell(cell)
    if kind == NUMBER:
        return not cell.isdecimal()  # a bare number may be the name of a sensor
    return kind in MOMENTS


def _is_unit_row(row: list[str], lead: int) -> bool:
    others = [cell for index, cell in enumerate(row) if cell and index != lead]
    led = row[lead] if len(row) > lead else ""
    return (
        any(unit_of_cell(cell) for cell in others)
        and all(unit_of_cell(cell) or is_format_cell(cell) for cell in others)
        and (not led or is_format_cell(led) or bool(unit_of_cell(led)))
    )


def _trimmed(row: list[str]) -> list[str]:
    end = len(row)
    while end and not row[end - 1]:
        end -= 1
    return row[:end]


def _width(
    cells: list[list[str]], readings: list[int], headings: list[str], delimiter: str
) -> int:
    lengths = Counter(len(_trimmed(cells[index])) for index in readings)
    usual = lengths.most_common(1)[0][0]
    if not headings or usual <= len(headings):
        return len(headings) or usual
    if delimiter != ",":
        return usual
    beyond = (cells[index][len(headings) :] for index in readings)
    has_numbers = any(kind_of_cell(cell) == NUMBER for row in beyond for cell in row)
    return len(headings) if has_numbers else usual


def _keep_fitting(
    cells: list[list[str]],
    readings: list[int],
    width: int,
    rows: Rows,
    notes: Notes,
    *,
    has_names: bool,
) -> list[int]:
    lengths = np.fromiter((len(cells[index]) for index in readings), np.intp)
    long = {
        readings[at]
        for at in np.flatnonzero(lengths > width)
        if any(cells[readings[at]][width:])
    }
    reason = f"more cells than {'headings' if has_names else 'other rows'} ({width})"
    notes.leave_out(reason, sorted(long), lines=rows.lines, text=_row_text(rows))
    return [index for index in readings if index not in long]


def _row_text(rows: Rows) -> Callable[[int], str]:
    return lambda row: rows.delimiter.join(rows.cells[row])


def _leave_out_others(
    cells: list[list[str]],
    body: list[int],
    is_lead: npt.NDArray[np.bool_],
    header: _Header,
    rows: Rows,
    blocks: str | None,
    notes: Notes,
    name: str,
) -> None:
    last = int(np.flatnonzero(is_lead)[-1])
    inside: list[int] = []
    again: list[int] = []
    for index in body:
        if is_lead[index]:
            continue
        if index < last and _is_second_heading(cells, index, header, rows, name):
            again.append(index)
        else:
            inside.append(index)
    text = _row_text(rows)
    early = [index for index in inside if index < last]
    late = [index for index in inside if index > last]
    notes.leave_out("no date and time", early, lines=rows.lines, text=text)
    notes.leave_out("below the last reading", late, lines=rows.lines, text=text)
    notes.leave_out("headings again", again, lines=rows.lines, text=text)
    if again and blocks != "same":
        notes.ask(_ask_blocks(rows.lines[again[0]], text(again[0]), blocks, name))


def _ask_blocks(line: int, raised_by: str, answer: str | None, name: str) -> Question:
    if answer == "different":
        raise LoggerFileError(
            f"{name}, line {line}",
            "A second table with other sensors starts here.",
            "Split the file before this line and bring each part by itself.",
        )
    return Question(
        "blocks",
        f"Line {line} looks like headings again. Do the rows below it come from the "
        "same sensors, column by column, as the rows above?",
        (
            Choice("same", "The same sensors"),
            Choice("different", "Other sensors", "the file must then be split"),
        ),
        raised_by,
        line,
    )


def _is_second_heading(
    cells: list[list[str]], index: int, header: _Header, rows: Rows, name: str
) -> bool:
    """Say whether a row looks like headings; refuse other units further down."""
    row, reading = _trimmed(cells[index]), cells[header.first_row]
    for known in (header.heading_row, header.unit_row):
        if known is not None and row == _trimmed(cells[known]):
            return True
    over_numbers = [
        cell
        for cell, below in zip(row, reading, strict=False)
        if kind_of_cell(below) == NUMBER and kind_of_cell(cell) == TEXT
    ]
    if any(units_in(cell) or unit_of_cell(cell) for cell in over_numbers):
        raise LoggerFileError(
            f"{name}, line {rows.lines[index]}",
            f"Other headings start here ({' | '.join(row)}).",
            "Split the file before this line and bring each part by itself.",
        )
    return bool(over_numbers) and not any(map(_is_reading, row))


def _warn_of_spanning(rows: Rows, header: _Header, notes: Notes) -> None:
    first = rows.lines[header.first_row]
    for start, end in rows.spanning:
        if end >= first:
            notes.warn(
                f"Lines {start} to {end} were read as one row because of quotation "
                "marks; readings among them may be missing."
            )


def _columns(cells: list[list[str]], width: int) -> tuple[Shaped, ...]:
    if any(len(row) != width for row in cells):
        filler = [""] * width
        cells = [(row + filler)[:width] for row in cells]
    return tuple(Shaped(list(column)) for column in zip(*cells, strict=True))


def _units_below(
    cells: list[list[str]], header: _Header, width: int
) -> tuple[str, ...]:
    row: Sequence[str] = () if header.unit_row is None else cells[header.unit_row]
    return tuple(row[index] if index < len(row) else "" for index in range(width))


def _preamble(cells: list[list[str]], header: _Header) -> tuple[str, ...]:
    end = header.first_row if header.heading_row is None else header.heading_row
    filled = (" ".join(filter(None, row)) for row in cells[:end] if any(row))
    return tuple(text for text, _ in zip(filled, range(PREAMBLE_SHOWN), strict=False))
