"""Dates of a column: their three numbers, and the order these stand in."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import numpy.typing as npt

from batches.loggerfile.bounds import CENTURY, EARLIEST_YEAR, LATEST_YEAR
from batches.loggerfile.errors import LoggerFileError
from batches.loggerfile.model import Choice, Question
from batches.loggerfile.moment_shapes import DateFields
from batches.loggerfile.months import MONTHS
from batches.loggerfile.shapes import Digits, whole_number

DAY_FIRST = "day-first"
MONTH_FIRST = "month-first"
YEAR_FIRST = "year-first"
NAMED = "month as a word"
ORDERS = (DAY_FIRST, MONTH_FIRST, YEAR_FIRST)
_PARTS_BY_ORDER = {DAY_FIRST: (2, 1, 0), MONTH_FIRST: (2, 0, 1), YEAR_FIRST: (0, 1, 2)}
"""Where year, month and day stand."""

NO_DAY = np.iinfo(np.int64).min
TOO_EARLY = NO_DAY + 1
_DAY_ZERO = date(1970, 1, 1).toordinal()
_ORDERS_BY_FORM = (
    (YEAR_FIRST,),
    (YEAR_FIRST,),
    (YEAR_FIRST,),
    (DAY_FIRST, MONTH_FIRST),
    ORDERS,
)
_PLAIN, _WORD, _YEAR_SHORT, _YEAR_LAST, _ALL_SHORT = range(len(_ORDERS_BY_FORM))
"""Forms: a whole year first; a month as a word; 25/6/3; 3/6/2025 and 3/6/25; 03/06/25."""
_SHORT = 100
"""Smaller years have two digits."""
_BASE = _SHORT * _SHORT


def date_keys(fields: DateFields, digits: Digits) -> npt.NDArray[np.int64]:
    """Pack form and three numbers of each date into one number, equal for equal dates."""
    parts = [whole_number(digits, span) for span in fields.parts]
    if fields.month:
        parts[1] = np.full(len(digits), fields.month, np.int64)
    key = np.full(len(digits), _form(fields), np.int64)
    for part in parts:
        key = key * _BASE + part
    return key


def _form(fields: DateFields) -> int:
    (a, a_end), _, (c, c_end) = fields.parts
    if fields.month:
        return _WORD
    if fields.is_year_first:
        return _PLAIN
    if c_end - c == 1:
        return _YEAR_SHORT
    two = len("yy")
    return _ALL_SHORT if (a_end - a, c_end - c) == (two, two) else _YEAR_LAST


@dataclass(frozen=True, slots=True)
class WrittenDate:
    """One date of the file: what it says, and where it first stands."""

    key: int
    text: str
    line: int

    @property
    def form(self) -> int:
        return self.key // _BASE // _BASE // _BASE

    @property
    def orders(self) -> tuple[str, ...]:
        """The orders in which this is a date."""
        return tuple(
            order
            for order in _ORDERS_BY_FORM[self.form]
            if self.in_order(order) is not None
        )

    @property
    def has_short_year(self) -> bool:
        return all(part < _SHORT for part in self._numbers())

    def in_order(self, order: str) -> date | None:
        """Read the three numbers in an order, None if that is no date."""
        numbers = self._numbers()
        year, month, day = (numbers[at] for at in _PARTS_BY_ORDER[order])
        try:
            return date(year + CENTURY if year < _SHORT else year, month, day)
        except ValueError:
            return None

    def _numbers(self) -> tuple[int, int, int]:
        rest, last = divmod(self.key, _BASE)
        rest, middle = divmod(rest, _BASE)
        return rest % _BASE, middle, last


@dataclass(frozen=True, slots=True)
class OrderFound:
    """The order of the dates, how it is known, or what has to be asked."""

    order: str | None
    known_by: str
    question: Question | None = None


def find_order(
    dates: Sequence[WrittenDate],
    *,
    stated: str | None,
    stated_by: str,
    answer: str | None,
    today: date | None,
    name: str,
) -> OrderFound:
    """Find the one order in which all dates are dates, or ask.

    Years of two digits do not come first where that puts every date after today. Days
    and months are never told apart by that.
    """
    open_dates = [day for day in dates if day.form > _WORD and day.orders]
    if not open_dates:
        is_word = any(day.form == _WORD for day in dates)
        known_by = "the month is a word" if is_word else "the year comes first"
        return OrderFound(NAMED if is_word else YEAR_FIRST, known_by + _short(dates))
    possible = [
        order for order in ORDERS if all(order in day.orders for day in open_dates)
    ]
    if len(possible) > 1 and _is_all_after(open_dates, YEAR_FIRST, today):
        possible = [order for order in possible if order != YEAR_FIRST]
    if not possible:
        raise _mixed(open_dates, name)
    if stated and stated not in possible:
        raise _contradicted(open_dates, stated, stated_by, name)
    if len(possible) == 1:
        return OrderFound(
            possible[0], _proof(open_dates, possible[0]) + _short(open_dates)
        )
    if stated:
        return OrderFound(stated, f"{stated_by} says so" + _short(open_dates))
    if answer in possible:
        return OrderFound(answer, "you answered" + _short(open_dates))
    return OrderFound(None, "", _ask_order(open_dates, possible))


def _is_all_after(dates: Sequence[WrittenDate], order: str, today: date | None) -> bool:
    read = [day.in_order(order) for day in dates]
    return today is not None and all(day is None or day > today for day in read)


def _short(dates: Iterable[WrittenDate]) -> str:
    if any(day.has_short_year for day in dates):
        return "; years of two digits are read as 20yy"
    return ""


def _proof(dates: Sequence[WrittenDate], order: str) -> str:
    excluded: dict[str, WrittenDate] = {}
    for day in dates:
        for other in ORDERS:
            if other != order and other not in day.orders:
                excluded.setdefault(other, day)
    ruled_out = excluded.get(MONTH_FIRST if order == DAY_FIRST else DAY_FIRST)
    if ruled_out is None:
        return f"all dates can be read {order}"
    other = MONTH_FIRST if order == DAY_FIRST else DAY_FIRST
    return f"“{ruled_out.text}” (line {ruled_out.line}) cannot be {other}"


def _mixed(dates: Sequence[WrittenDate], name: str) -> LoggerFileError:
    by_orders = {day.orders: day for day in dates}
    strict = {orders: day for orders, day in by_orders.items() if len(orders) == 1}
    found = " and ".join(
        f"“{day.text}” (line {day.line}) can only be {' or '.join(orders)}"
        for orders, day in (strict or by_orders).items()
    )
    return LoggerFileError(
        name,
        f"The dates do not stand in one order: {found}.",
        "A program that opened the file may have changed some of them: "
        "export it from the logger again.",
    )


def _contradicted(
    dates: Sequence[WrittenDate], stated: str, stated_by: str, name: str
) -> LoggerFileError:
    day = next(day for day in dates if stated not in day.orders)
    return LoggerFileError(
        f"{name}, line {day.line}",
        f"“{day.text}” is no date in the order that {stated_by} states ({stated}).",
        "Export the file from the logger again.",
    )


def _ask_order(dates: Sequence[WrittenDate], possible: list[str]) -> Question:
    shown = next(
        (
            day
            for day in dates
            if len({day.in_order(order) for order in possible}) == len(possible)
        ),
        dates[0],
    )
    choices = tuple(
        Choice(order, order.replace("-", " "), _in_words(shown.in_order(order)))
        for order in possible
    )
    example = " or ".join(choice.example for choice in choices)
    sentence = f"Does “{shown.text}” mean {example}?"
    if len({choice.example for choice in choices}) == 1:
        sentence = "In which order do day and month stand in the dates of this file?"
    return Question("date-order", sentence, choices, shown.text, shown.line)


def _in_words(day: date | None) -> str:
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}" if day else ""


def day_numbers(dates: Iterable[WrittenDate], order: str) -> npt.NDArray[np.int64]:
    """Give days since 1970, or why there is none."""
    return np.array([_day_number(day, order) for day in dates], np.int64)


def _day_number(written: WrittenDate, order: str) -> int:
    is_open = written.form > _WORD
    if is_open and order not in _ORDERS_BY_FORM[written.form]:
        return NO_DAY
    day = written.in_order(order if is_open else YEAR_FIRST)
    if day is None or day.year > LATEST_YEAR:
        return NO_DAY
    return TOO_EARLY if day.year < EARLIEST_YEAR else day.toordinal() - _DAY_ZERO
