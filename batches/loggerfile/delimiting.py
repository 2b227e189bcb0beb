"""Text to rows of cells: which character parts the columns, and quoted cells."""

import csv
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from batches.loggerfile.bounds import (
    MAX_CELLS,
    MAX_COLUMNS,
    MAX_HEADING_LINES,
    MAX_LINE_CHARACTERS,
    MAX_ROWS,
    SAMPLE_LINES,
)
from batches.loggerfile.errors import LoggerFileError
from batches.loggerfile.kinds import MOMENTS, NUMBER, TIME, VALUES, kind_of_cell

DELIMITERS = {"\t": "tab", ";": "semicolon", "|": "pipe", ",": "comma"}
_COUNTED = VALUES | {TIME}
_REMEDY = "Export the readings with commas, semicolons or tabs between the columns."


@dataclass(frozen=True, slots=True)
class Rows:
    """The cells of a file, row by row, with the line on which each row starts."""

    delimiter: str
    cells: list[list[str]]
    lines: Sequence[int]
    spanning: tuple[tuple[int, int], ...]
    """First and last line of the rows that quotation marks stretch over several."""


def split_rows(text: str, *, name: str) -> Rows:
    """Find the delimiter and split a text into rows of cells."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    while lines and not lines[-1].strip():
        lines.pop()
    _refuse_shapeless(text, lines, name)
    told = _told_delimiter(lines[0])
    if told:
        lines[0] = ""
    delimiter = told or _find_delimiter(lines)
    if delimiter is None:
        raise LoggerFileError(
            name,
            "No columns were found: no line has a date or number and another cell.",
            _REMEDY,
        )
    return _split(lines, delimiter)


def _refuse_shapeless(text: str, lines: list[str], name: str) -> None:
    if len(lines) > MAX_ROWS:
        raise LoggerFileError(
            name,
            f"The file has {len(lines):,} lines; at most {MAX_ROWS:,} are read.",
            "Export a shorter span of time, or split the file.",
        )
    longest = max(range(len(lines)), key=lambda index: len(lines[index]))
    if len(lines[longest]) > MAX_LINE_CHARACTERS:
        raise LoggerFileError(
            f"{name}, line {longest + 1}",
            f"The line has {len(lines[longest]):,} characters; this is no table.",
            _REMEDY,
        )
    if max(text.count(delimiter) for delimiter in DELIMITERS) > MAX_CELLS:
        raise LoggerFileError(
            name, "The file has too many cells to read at once.", _REMEDY
        )
    for delimiter, word in DELIMITERS.items():
        if lines[longest].count(delimiter) > MAX_COLUMNS:
            raise LoggerFileError(
                f"{name}, line {longest + 1}",
                f"The line has more than {MAX_COLUMNS} columns (parted by {word}).",
                _REMEDY,
            )


def _told_delimiter(first: str) -> str | None:
    told = first.strip().strip('"')
    if told.lower().startswith("sep=") and told[len("sep=") :] in DELIMITERS:
        return told[len("sep=") :]
    return "\t" if first.lower().rstrip(" ") == "sep=\t" else None


def _find_delimiter(lines: list[str]) -> str | None:
    filled = [line for line in lines if line.strip()]
    middle = len(filled) // 2
    sample = filled[:SAMPLE_LINES]
    if middle > SAMPLE_LINES:
        sample += filled[middle : middle + SAMPLE_LINES]
    sample = list(map(_with_paired_quotes, sample))
    for counts in (_is_dated, _is_counted):
        score_by_delimiter = {
            delimiter: sum(map(counts, _parse(sample, delimiter)))
            for delimiter in DELIMITERS
        }
        best = max(score_by_delimiter, key=lambda mark: score_by_delimiter[mark])
        if score_by_delimiter[best]:
            return best
    return None


def _is_dated(row: list[str]) -> bool:
    kinds = [kind_of_cell(cell) for cell in row]
    return len(row) > 1 and not MOMENTS.isdisjoint(kinds)


def _is_counted(row: list[str]) -> bool:
    kinds = [kind_of_cell(cell) for cell in row]
    return len(row) > 1 and NUMBER in kinds and _COUNTED.issuperset(kinds)


def _parse(lines: list[str], delimiter: str) -> Iterator[list[str]]:
    reader = csv.reader(lines, delimiter=delimiter, skipinitialspace=True)
    try:
        yield from reader
    except csv.Error:
        return


def _split(lines: list[str], delimiter: str) -> Rows:
    if not any('"' in line for line in lines):
        cells = list(csv.reader(lines, delimiter=delimiter))
        return Rows(delimiter, cells, range(1, len(cells) + 1), ())
    rows = _split_quoted(lines, delimiter)
    if rows is None:
        rows = _split_quoted(list(map(_with_paired_quotes, lines)), delimiter)
    return rows or Rows(
        delimiter,
        [line.split(delimiter) for line in lines],
        range(1, len(lines) + 1),
        (),
    )


def _with_paired_quotes(line: str) -> str:
    return line.replace('"', "") if line.count('"') % 2 else line


def _split_quoted(lines: list[str], delimiter: str) -> Rows | None:
    ended = [line + "\n" for line in lines]
    reader = csv.reader(ended, delimiter=delimiter, skipinitialspace=True)
    cells: list[list[str]] = []
    starts: list[int] = []
    spanning: list[tuple[int, int]] = []
    start = 1
    try:
        for row in reader:
            end = reader.line_num
            if end > start:
                if end - start >= MAX_HEADING_LINES:
                    return None
                spanning.append((start, end))
                row = [" ".join(cell.split("\n")) for cell in row]
            cells.append(row)
            starts.append(start)
            start = end + 1
    except csv.Error:
        return None
    return Rows(delimiter, cells, starts, tuple(spanning))
