"""Cells that are numbers: the decimal mark, and exact scaled integers."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from batches.loggerfile.bounds import (
    MAX_CELL_CHARACTERS,
    MAX_DECIMALS,
    MAX_DIGITS,
    SHAPES_REMEMBERED,
)
from batches.loggerfile.headings import UNIT_BY_CELL
from batches.loggerfile.model import Choice, Question
from batches.loggerfile.shapes import Group, Shaped, Span, whole_number

BROKEN_OFF = "…"
"""Behind a number that may lack digits."""

_MINUS = "-−–"
_NUMBER = re.compile(
    r"(?P<sign>[+\-−–]?)\s?(?P<body>[0.,'’\s]*0[.,]?)"
    r"(?P<exponent>[eE][+\-]?00?)?(?:\s*(?P<unit>[^\W\d_].*|[°º˚%].*|℃|℉))?"
)
_PLAIN = re.compile(r"0+(?:[.,]0*)?|[.,]0+")
_GROUPED = re.compile(r"0{1,3}(?:(?P<group>[.,'’\s])000)(?:(?P=group)000)*(?:[.,]0+)?")
_EXPONENT = re.compile(r"[^eE]+[eE][+-]?[0-9]+")
_SPACING = re.compile(r"[\s'’]")
_TO_MINUS = str.maketrans("−–", "--")
_OTHER_MARK = {".": ",", ",": "."}
_ERROR_WORD = re.compile(
    r"(?:#?n/?a|#?nan|null|none|nil|err(?:or)?|e|sensor (?:fault|error|open|short)"
    r"|fault|fail(?:ed|ure)?|open|short|ol|o\.l\.?|lo|hi|low|high|over|under|inf"
    r"|no (?:data|signal|sensor|probe)|missing|disconnected|not connected|out of range"
    r"|overrange|underrange|invalid|\?+|-+|–+|—+|\*+|\.+|#+\w*[!?]?|x+)[\s.:-]*[0-9]*",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class NumberFields:
    """Where a shape has its number; ``marks`` are the decimal marks it can be read by."""

    sign: int
    body: str
    start: int
    has_exponent: bool
    unit: str
    marks: frozenset[str]


@lru_cache(maxsize=SHAPES_REMEMBERED)
def number_fields(shape: str) -> NumberFields | None:
    """Find the number, and a unit behind it, in a shape."""
    match = _NUMBER.fullmatch(shape) if len(shape) <= MAX_CELL_CHARACTERS else None
    if match is None or "\t" in shape:
        return None
    unit = ""
    if match["unit"]:
        unit = UNIT_BY_CELL.get(match["unit"].casefold().replace(" ", ""), "")
        if not unit:
            return None
    marks = frozenset(mark for mark in _OTHER_MARK if _reads(match["body"], mark))
    if not marks:
        return None
    sign = -1 if match["sign"] and match["sign"] in _MINUS else 1
    start = match.start("body")
    return NumberFields(
        sign, match["body"], start, bool(match["exponent"]), unit, marks
    )


def is_error_word(cell: str) -> bool:
    """Say whether a cell is one of the words that loggers write for no reading."""
    return len(cell) <= MAX_CELL_CHARACTERS and bool(
        _ERROR_WORD.fullmatch(cell.strip("()[]<> "))
    )


def _reads(body: str, mark: str) -> bool:
    other = _OTHER_MARK[mark]
    if _PLAIN.fullmatch(body) and other not in body:
        return True
    grouped = _GROUPED.fullmatch(body)
    if grouped is None or grouped["group"] == mark:
        return False
    return other not in body.replace(grouped["group"], "")


# -- the decimal mark ------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class MarkFound:
    """The decimal mark of a file, how it is known, or what has to be asked."""

    mark: str | None
    known_by: str
    question: Question | None = None


@dataclass(frozen=True, slots=True)
class _Evidence:
    cell: str
    marks: frozenset[str]
    """Under which it can be read."""
    likely: frozenset[str]
    """Under which it is a number that a thermometer could show."""


def find_mark(columns: Iterable[Shaped], answer: str | None) -> MarkFound:
    """Find the decimal mark that all cells of the sensors agree on."""
    proofs: dict[str, str] = {}
    doubtful: list[_Evidence] = []
    for evidence in _evidence(columns):
        if len(evidence.marks) == 1:
            proofs.setdefault(next(iter(evidence.marks)), evidence.cell)
        else:
            doubtful.append(evidence)
    if len(proofs) == 1:
        mark, cell = next(iter(proofs.items()))
        return MarkFound(mark, f"“{cell}” can only be read so")
    if proofs:
        if answer in proofs:
            return MarkFound(answer, "you answered")
        return MarkFound(None, "", _ask_mark(" and ".join(proofs.values()), proofs))
    return _weigh(doubtful, answer)


def _weigh(doubtful: list[_Evidence], answer: str | None) -> MarkFound:
    if not doubtful:
        return MarkFound(None, "no number has decimals")
    likely = frozenset.intersection(*(evidence.likely for evidence in doubtful))
    if len(likely) == 1:
        strict = next(e for e in doubtful if len(e.likely) == 1)
        return MarkFound(
            next(iter(likely)),
            f"“{strict.cell}” with thousands would be no temperature or humidity",
        )
    if answer in _OTHER_MARK:
        return MarkFound(answer, "you answered")
    cell = doubtful[0].cell
    return MarkFound(None, "", _ask_mark(cell, dict.fromkeys(_OTHER_MARK, cell)))


def _ask_mark(raised_by: str, cell_by_mark: dict[str, str]) -> Question:
    names = {".": "a point", ",": "a comma"}
    choices = tuple(
        Choice(mark, f"Decimals after {names[mark]}", _example(cell, mark))
        for mark, cell in sorted(cell_by_mark.items(), reverse=True)
    )
    sentence = "Which mark stands before the decimals in this file?"
    return Question("decimal", sentence, choices, raised_by)


def _example(cell: str, mark: str) -> str:
    numbers = read_numbers(Shaped([cell]), mark)
    value = Decimal(int(numbers.values[0])).scaleb(-numbers.decimals)
    return f"{cell} is {value:,}"


def _evidence(columns: Iterable[Shaped]) -> Iterator[_Evidence]:
    for column in columns:
        for group in column.groups():
            fields = number_fields(group.shape)
            if fields is None or not set(fields.body) & set(".,"):
                continue
            if len(fields.marks) == 1:
                yield _Evidence(group.cells[0], fields.marks, fields.marks)
                continue
            mark = "." if "." in fields.body else ","
            digits = group.digits()[:, fields.start]
            zero = np.flatnonzero(digits == 0)
            if len(zero):
                only = frozenset((mark,))
                yield _Evidence(group.cells[int(zero[0])], only, only)
            is_large = fields.body.index(mark) > 1
            likely = frozenset((mark,)) if is_large else fields.marks
            yield _Evidence(group.cells[0], fields.marks, likely)


# -- values ----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, eq=False)
class Numbers:
    """A column as exact numbers: value times 10**decimals, where ``is_number`` holds."""

    values: npt.NDArray[np.int64]
    decimals: int
    is_number: npt.NDArray[np.bool_]
    units: tuple[str, ...]
    unit_codes: npt.NDArray[np.int8]
    """Index in ``units`` of the unit written in the cell; the first is none."""
    reasons: tuple[tuple[str, npt.NDArray[np.intp]], ...]
    """Why other cells are no numbers, with their rows."""


def read_numbers(column: Shaped, mark: str | None) -> Numbers:
    """Read a column's cells as numbers with the given decimal mark."""
    read: list[tuple[Group, npt.NDArray[np.int64], int, str]] = []
    reasons: list[tuple[str, npt.NDArray[np.intp]]] = []
    for group in column.groups():
        fields = number_fields(group.shape)
        if fields is None or (mark or ".") not in fields.marks:
            reasons.append((_why_not(group.cells[0], fields, mark), group.rows))
        elif fields.has_exponent:
            _read_exponents(group, fields, mark or ".", read, reasons)
        else:
            _read_group(group, fields, mark or ".", read, reasons)
    return _put_together(len(column), read, reasons)


def _why_not(cell: str, fields: NumberFields | None, mark: str | None) -> str:
    if not cell:
        return "empty cell"
    if cell.endswith(BROKEN_OFF):
        return "the file breaks off in the middle of this line"
    if fields is not None:
        name = "a comma" if mark == "," else "a point"
        return f"not a number with {name} before the decimals"
    if is_error_word(cell):
        return f"the cell says “{cell}”"
    return "not a number"


def _read_group(
    group: Group,
    fields: NumberFields,
    mark: str,
    read: list[tuple[Group, npt.NDArray[np.int64], int, str]],
    reasons: list[tuple[str, npt.NDArray[np.intp]]],
) -> None:
    rest = fields.body.partition(mark)[-1]
    if fields.body.count("0") > MAX_DIGITS or len(rest) > MAX_DECIMALS:
        reasons.append(("a number with too many digits", group.rows))
        return
    digits = group.digits()
    value = np.zeros(len(digits), np.int64)
    for span in _digit_runs(fields):
        length = span[1] - span[0]
        value = value * 10**length + whole_number(digits, span)
    read.append((group, value * fields.sign, len(rest), fields.unit))


def _digit_runs(fields: NumberFields) -> list[Span]:
    return [
        (fields.start + run.start(), fields.start + run.end())
        for run in re.finditer("0+", fields.body)
    ]


def _read_exponents(
    group: Group,
    fields: NumberFields,
    mark: str,
    read: list[tuple[Group, npt.NDArray[np.int64], int, str]],
    reasons: list[tuple[str, npt.NDArray[np.intp]]],
) -> None:
    for row, cell in zip(group.rows.tolist(), group.cells, strict=True):
        plain = _SPACING.sub("", cell).translate(_TO_MINUS)
        number = plain.replace(_OTHER_MARK[mark], "").replace(mark, ".")
        value = Decimal(_EXPONENT.findall(number)[0])
        exponent = value.as_tuple().exponent
        places = max(0, -int(exponent))
        one = Group(group.shape, np.array([row]), [cell])
        if abs(value.adjusted()) > MAX_DECIMALS or places > MAX_DECIMALS:
            reasons.append(("a number with too many digits", one.rows))
            continue
        scaled = np.array([int(value.scaleb(places))], np.int64)
        read.append((one, scaled, places, fields.unit))


def _put_together(
    length: int,
    read: list[tuple[Group, npt.NDArray[np.int64], int, str]],
    reasons: list[tuple[str, npt.NDArray[np.intp]]],
) -> Numbers:
    decimals = max((places for _, _, places, _ in read), default=0)
    units = tuple(dict.fromkeys(["", *(unit for *_, unit in read)]))
    values = np.zeros(length, np.int64)
    is_number = np.zeros(length, bool)
    unit_codes = np.zeros(length, np.int8)
    for group, value, places, unit in read:
        missing = decimals - places
        fits = np.abs(value) < 10 ** (MAX_DIGITS - missing)
        if not fits.all():
            reasons.append(("a number with too many digits", group.rows[~fits]))
        rows = group.rows[fits]
        values[rows] = value[fits] * 10**missing
        is_number[rows] = True
        unit_codes[rows] = units.index(unit)
    return Numbers(values, decimals, is_number, units, unit_codes, tuple(reasons))
