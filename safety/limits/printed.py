"""Printed tables and single figures that no limit judges, and how a table is looked up.

A table says itself what holds between its rows; nothing is interpolated. Outside its
rows, and where the table is silent, the answer is unknown (None).
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from safety.errors import Refused, UnknownName
from safety.limits.model import Source

NOTHING, ROW_BELOW, ROW_ABOVE = "nothing", "row-below", "row-above"
BETWEEN_ROWS = (NOTHING, ROW_BELOW, ROW_ABOVE)

NUMBER, TEXT, RANGE, DURATION = "number", "text", "range", "duration"
HOLDS = (NUMBER, TEXT, RANGE, DURATION)

MINUTES_IN = {
    "s": Decimal(1) / 60, "min": Decimal(1), "h": Decimal(60), "d": Decimal(24 * 60),
}  # fmt: skip

_NUMBER = r"-?[0-9]+(?:\.[0-9]+)?"
_ONE_SIDED = re.compile(rf"(<=?|>=?)({_NUMBER})")
_TWO_SIDED = re.compile(rf"(>?)({_NUMBER})\.\.(<?)({_NUMBER})")
_DURATION = re.compile(rf"({_NUMBER}) ({'|'.join(MINUTES_IN)})")
ANY = "any"


@dataclass(frozen=True, slots=True)
class Range:
    """A stretch of values as a table prints it; an end that is None is open."""

    printed: str
    low: Decimal | None
    high: Decimal | None
    low_belongs: bool = True
    high_belongs: bool = True

    def is_below(self, value: Decimal) -> bool:
        """Say whether the whole stretch lies below ``value``."""
        if self.high is None:
            return False
        return self.high < value or (self.high == value and not self.high_belongs)

    def is_above(self, value: Decimal) -> bool:
        """Say whether the whole stretch lies above ``value``."""
        if self.low is None:
            return False
        return self.low > value or (self.low == value and not self.low_belongs)

    def holds(self, value: Decimal) -> bool:
        """Say whether ``value`` lies in it."""
        return not (self.is_below(value) or self.is_above(value))

    def meets(self, other: "Range") -> bool:
        """Say whether some value lies in both."""
        return not (_apart(self, other) or _apart(other, self))


def _apart(lower: Range, upper: Range) -> bool:
    if lower.high is None or upper.low is None:
        return False
    touching = lower.high_belongs and upper.low_belongs
    return lower.high < upper.low or (lower.high == upper.low and not touching)


@dataclass(frozen=True, slots=True)
class Duration:
    """A length of time as a table prints it."""

    value: Decimal
    unit: str

    @property
    def minutes(self) -> Decimal:
        """Return it in minutes."""
        return self.value * MINUTES_IN[self.unit]

    def __str__(self) -> str:
        return f"{self.value} {self.unit}"


Cell = Decimal | str | Range | Duration | None
Row = Mapping[str, Cell]


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column: its name, the words at its head, what it holds and in which unit."""

    name: str
    title: str
    holds: str
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One printed figure, or a span from one to another, that no limit judges."""

    id: str
    source: Source
    words: str
    value: Decimal
    up_to: Decimal | None
    unit: str
    also: Mapping[str, Decimal]
    basis: str
    checked: date
    control_point: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table as it is printed, with the columns by which it is looked up.

    ``between_rows`` says what answers a value between two rows: ``nothing``, the
    ``row-below`` it or the ``row-above`` it.
    """

    id: str
    source: Source
    words: str
    keys: tuple[str, ...]
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    between_rows: str
    basis: str
    checked: date
    control_point: str = ""
    note: str = ""
    by_name: Mapping[str, Column] = field(default_factory=dict)

    def look_up(self, at: Mapping[str, Decimal | int | str]) -> Row | None:
        """Return the row that answers, or None where the table does not say.

        Parameters
        ----------
        at : Mapping
            A value for every key; a number in the column's own unit.

        Raises
        ------
        UnknownName
            If a key of the table is missing, or another is given.
        Refused
            If a value is not of the kind that the key's column holds.
        """
        for name in (*at, *self.keys):
            if name not in self.keys or name not in at:
                raise UnknownName(f"key of {self.id}", name, self.keys)
        left = self.rows
        for name in self.keys:
            left = self._narrow(left, name, at[name])
        return left[0] if left else None

    def _narrow(
        self, rows: tuple[Row, ...], name: str, value: Decimal | int | str
    ) -> tuple[Row, ...]:
        holds = self.by_name[name].holds
        if holds == TEXT:
            if not isinstance(value, str):
                raise Refused(f"/{name}", repr(value), "a text")
            return tuple(row for row in rows if row[name] == value)
        if isinstance(value, str | bool):
            raise Refused(f"/{name}", repr(value), "a number")
        return self._nearest(rows, name, Decimal(value))

    def _nearest(
        self, rows: tuple[Row, ...], name: str, value: Decimal
    ) -> tuple[Row, ...]:
        spans = [(as_range(row[name]), row) for row in rows]
        inside = tuple(row for span, row in spans if span.holds(value))
        if inside or self.between_rows == NOTHING:
            return inside
        below = [(span, row) for span, row in spans if span.is_below(value)]
        above = [(span, row) for span, row in spans if span.is_above(value)]
        if not below or not above:
            return ()
        if self.between_rows == ROW_BELOW:
            nearest = max(span.high for span, _ in below if span.high is not None)
            return tuple(row for span, row in below if span.high == nearest)
        nearest = min(span.low for span, _ in above if span.low is not None)
        return tuple(row for span, row in above if span.low == nearest)


def as_range(cell: Cell) -> Range:
    """Return a cell of a key as the stretch of values for which it answers."""
    if isinstance(cell, Range):
        return cell
    if isinstance(cell, Decimal):
        return Range(str(cell), cell, cell)
    raise TypeError(f"{cell!r} is no number.")


def parse_range(printed: str) -> Range | None:
    """Return the stretch written ``<1``, ``>=1``, ``1..2``, ``>1..<2`` or ``any``."""
    if printed == ANY:
        return Range(printed, None, None)
    if one := _ONE_SIDED.fullmatch(printed):
        sign, edge = one[1], Decimal(one[2])
        if sign.startswith("<"):
            return Range(printed, None, edge, high_belongs=sign == "<=")
        return Range(printed, edge, None, low_belongs=sign == ">=")
    if two := _TWO_SIDED.fullmatch(printed):
        low, high = Decimal(two[2]), Decimal(two[4])
        if low > high or (low == high and (two[1] or two[3])):
            return None
        return Range(
            printed, low, high, low_belongs=not two[1], high_belongs=not two[3]
        )
    return None


def parse_duration(printed: str) -> Duration | None:
    """Return the length of time written ``5 d``, ``2.5 h``, ``36 min`` or ``54 s``."""
    found = _DURATION.fullmatch(printed)
    return Duration(Decimal(found[1]), found[2]) if found else None
