"""Readings as sorted arrays of intervals: one series per place, compared exactly.

A value is kept as an integer times a power of ten, as many decimals as it was written
with; a limit becomes one integer threshold for each kind of reading in the series
(unit, decimals, doubt about the instrument), rounded to the side on which the
comparison stays exact. No reading is converted and nothing is a binary float.
"""

import math
import operator
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from safety.judge.evidence import Integers
from safety.judge.instruments import Trust
from safety.units import convert

Booleans = NDArray[np.bool_]

INT64_END = 2**63 - 1
CHUNK_SIZE = 2**15  # readings at a time, so that a pass stays in the cache


@dataclass(frozen=True, slots=True)
class Bound:
    """A limit's value: in its own unit, as printed in another, strict or not."""

    value: Decimal
    unit: str
    also: Mapping[str, Decimal] = field(default_factory=dict)
    strict: bool = False

    def figure(self, unit: str) -> Fraction:
        """Return the figure to compare a reading in ``unit`` with.

        Parameters
        ----------
        unit : str
            The unit of the reading.

        Returns
        -------
        Fraction
            As printed in that unit; else converted exactly, which compares as
            converting the reading would.
        """
        if unit == self.unit:
            return Fraction(self.value)
        if unit in self.also:
            return Fraction(self.also[unit])
        return convert(self.value, self.unit, unit)


@dataclass(frozen=True, slots=True)
class Kind:
    """What a group of readings has in common: decimals and trust (and so the unit)."""

    decimals: int
    trust: Trust


@dataclass(slots=True, kw_only=True)
class Rows:
    """Readings of one quantity, step and place in time order, not yet merged.

    All arrays have shape (n,). ``low`` and ``high`` are one object, but for values
    that are intervals by themselves; they hold scaled integers, or exact fractions
    where ``dtype`` is object. ``code`` says which of ``kinds`` each reading is; None
    where there is only one. ``late`` and ``typed`` are None where none is. ``gaps_us``
    are the shortest and the longest time between neighbours, where already known.
    """

    at_us: Integers
    low: NDArray[Any]
    high: NDArray[Any]
    kinds: list[Kind]
    code: NDArray[np.int32] | None = None
    late: Booleans | None = None
    typed: Booleans | None = None
    gaps_us: tuple[int, int] | None = None

    def __len__(self) -> int:
        return len(self.at_us)

    def spacing_us(self) -> tuple[int, int]:
        """Return the shortest and the longest time between neighbouring readings.

        Returns
        -------
        tuple of int
            Negative where the readings are not in time order; zeros with one reading.
        """
        if self.gaps_us is None:
            self.gaps_us = _spacing(self.at_us)
        return self.gaps_us

    def part(self, start: int, stop: int) -> "Rows":
        """Return the readings from ``start`` up to ``stop``."""
        if start == 0 and stop == len(self):
            return self
        cut = slice(start, stop)
        low = self.low[cut]
        return Rows(
            at_us=self.at_us[cut],
            low=low,
            high=low if self.high is self.low else self.high[cut],
            kinds=self.kinds,
            code=None if self.code is None else self.code[cut],
            late=None if self.late is None else self.late[cut],
            typed=None if self.typed is None else self.typed[cut],
        )

    def ordered(self) -> "Rows":
        """Return the same readings in time order; equal instants keep their order."""
        if self.spacing_us()[0] >= 0:
            return self
        at_us = self.at_us
        order = np.argsort(at_us, kind="stable")
        low = self.low[order]
        return Rows(
            at_us=at_us[order],
            low=low,
            high=low if self.high is self.low else self.high[order],
            kinds=self.kinds,
            code=None if self.code is None else self.code[order],
            late=None if self.late is None else self.late[order],
            typed=None if self.typed is None else self.typed[order],
        )

    @property
    def is_plain(self) -> bool:
        """Whether no reading is an interval: then certain and possible are one."""
        return self.high is self.low and not any(
            kind.trust.down or kind.trust.up for kind in self.kinds
        )

    def compare(
        self, bound: Bound, sign: int, *, certain: bool, spare: bool = False
    ) -> Booleans:
        """Say of each reading whether it is at or beyond ``bound``.

        Parameters
        ----------
        bound : Bound
            The value to compare with.
        sign : int
            1 for at or above, -1 for at or below.
        certain : bool
            Whether the whole interval must comply, or any part of it.
        spare : bool
            Whether to ask for the instrument's tolerance beyond the bound.

        Returns
        -------
        ndarray of bool, shape (n,)
            Exact: an equality counts, or does not where the bound is strict.
        """
        near = certain == (sign > 0)
        values = self.low if near else self.high
        exact_figures = [
            bound.figure(kind.trust.unit)
            + (kind.trust.down if near else -kind.trust.up)
            + (sign * kind.trust.tolerance if spare else 0)
            for kind in self.kinds
        ]
        if values.dtype == object:
            return self._compare_fractions(values, exact_figures, bound.strict, sign)
        thresholds = [
            _threshold(figure * 10**kind.decimals, bound.strict, sign)
            for figure, kind in zip(exact_figures, self.kinds, strict=True)
        ]
        limit: Any = (
            thresholds[0]
            if self.code is None
            else np.array(thresholds, dtype=np.int64)[self.code]
        )
        return np.asarray(values >= limit if sign > 0 else values <= limit)

    def _compare_fractions(
        self, values: NDArray[Any], figures: list[Fraction], strict: bool, sign: int
    ) -> Booleans:
        test = _OPERATORS[sign, strict]
        codes = [0] * len(values) if self.code is None else self.code.tolist()
        return np.array(
            [
                test(value, figures[code])
                for value, code in zip(values, codes, strict=True)
            ],
            dtype=np.bool_,
        )

    def ends(self, unit: str) -> tuple[Fraction, Fraction]:
        """Return the lowest and the highest end of all intervals, in ``unit``."""
        lows, highs = [], []
        for kind, chosen in self._by_kind():
            low, high = self.low[chosen], self.high[chosen]
            trust = kind.trust
            lowest = _unscaled(low.min(), kind) - trust.down
            highest = _unscaled(high.max(), kind) + trust.up
            lows.append(convert(lowest, trust.unit, unit))
            highs.append(convert(highest, trust.unit, unit))
        return min(lows), max(highs)

    def _by_kind(self) -> Iterator[tuple[Kind, Any]]:
        """Yield each kind that a reading is of, and what picks its readings."""
        if self.code is None:
            yield self.kinds[0], slice(None)
            return
        order = np.argsort(self.code, kind="stable")
        edges = np.searchsorted(self.code[order], np.arange(len(self.kinds) + 1))
        for i in np.flatnonzero(edges[1:] > edges[:-1]).tolist():
            yield self.kinds[i], order[edges[i] : edges[i + 1]]

    def shown(self, index: int, unit: str) -> Fraction:
        """Return what was shown at one reading, in ``unit``; for sentences only."""
        kind = self.kinds[0 if self.code is None else int(self.code[index])]
        value = _unscaled(self.low[index], kind)
        return convert(value, kind.trust.unit, unit)


_OPERATORS: dict[tuple[int, bool], Callable[[Any, Any], bool]] = {
    (1, False): operator.ge,
    (1, True): operator.gt,
    (-1, False): operator.le,
    (-1, True): operator.lt,
}


def _threshold(exact: Fraction, strict: bool, sign: int) -> int:
    if sign > 0:
        whole = math.floor(exact) + 1 if strict else math.ceil(exact)
    else:
        whole = math.ceil(exact) - 1 if strict else math.floor(exact)
    return max(-INT64_END, min(INT64_END, whole))


def _unscaled(value: Any, kind: Kind) -> Fraction:
    if isinstance(value, Fraction):
        return value
    return Fraction(int(value), 10**kind.decimals)


def concatenate(parts: Sequence[Rows]) -> Rows:
    """Return all readings of ``parts`` in time order.

    Parameters
    ----------
    parts : sequence of Rows
        At least one.

    Returns
    -------
    Rows
        A part by itself is returned as it is, without a copy.
    """
    if len(parts) == 1:
        return parts[0].ordered()
    kinds: dict[Kind, int] = {}
    codes = []
    for part in parts:
        table = np.array(
            [kinds.setdefault(kind, len(kinds)) for kind in part.kinds], dtype=np.int32
        )
        codes.append(
            np.full(len(part), table[0], dtype=np.int32)
            if part.code is None
            else table[part.code]
        )
    is_exact = any(part.low.dtype == object for part in parts)
    lows = [_as_fractions(p, p.low) if is_exact else p.low for p in parts]
    low = np.concatenate(lows)
    high = low
    if any(part.high is not part.low for part in parts):
        highs = [_as_fractions(p, p.high) if is_exact else p.high for p in parts]
        high = np.concatenate(highs)
    return Rows(
        at_us=np.concatenate([part.at_us for part in parts]),
        low=low,
        high=high,
        kinds=list(kinds),
        code=np.concatenate(codes) if len(kinds) > 1 else None,
        late=_flags([part.late for part in parts], parts),
        typed=_flags([part.typed for part in parts], parts),
    ).ordered()


def _as_fractions(part: Rows, values: NDArray[Any]) -> NDArray[Any]:
    if values.dtype == object:
        return values
    codes = [0] * len(part) if part.code is None else part.code.tolist()
    exact = np.empty(len(part), dtype=object)
    exact[:] = [
        Fraction(int(value), 10 ** part.kinds[code].decimals)
        for value, code in zip(values, codes, strict=True)
    ]
    return exact


def _flags(flags: list[Booleans | None], parts: Sequence[Rows]) -> Booleans | None:
    if all(flag is None for flag in flags):
        return None
    return np.concatenate([
        np.zeros(len(part), dtype=np.bool_) if flag is None else flag
        for flag, part in zip(flags, parts, strict=True)
    ])


class Series:
    """Readings of one place with one reading per instant.

    Readings of one instant become one: certainly so where all are, possibly so where
    any is.
    """

    def __init__(self, rows: Rows) -> None:
        self.rows = rows
        at_us = rows.at_us
        self._first: NDArray[np.intp] | None = None
        if len(at_us) > 1 and rows.spacing_us()[0] == 0:
            fresh = np.flatnonzero(at_us[1:] != at_us[:-1]) + 1
            self._first = np.concatenate([np.zeros(1, dtype=np.intp), fresh])
        self.at_us = at_us if self._first is None else at_us[self._first]

    def __len__(self) -> int:
        return len(self.at_us)

    def compare(
        self, bound: Bound, sign: int, *, certain: bool, spare: bool = False
    ) -> Booleans:
        """Say of each instant whether it is at or beyond ``bound``; see ``Rows``."""
        each = self.rows.compare(bound, sign, certain=certain, spare=spare)
        if self._first is None:
            return each
        merge = np.logical_and if certain else np.logical_or
        return np.asarray(merge.reduceat(each, self._first))

    def marked(self, marks: Booleans) -> Booleans:
        """Return the marks of the merged readings: one where any reading has one."""
        if self._first is None:
            return marks
        return np.asarray(np.logical_or.reduceat(marks, self._first))

    def at_least(self, bound: Bound) -> tuple[Booleans, Booleans]:
        """Return where the value is certainly, and possibly, at or above ``bound``."""
        return self._both(bound, 1)

    def at_most(self, bound: Bound) -> tuple[Booleans, Booleans]:
        """Return where the value is certainly, and possibly, at or below ``bound``."""
        return self._both(bound, -1)

    def _both(self, bound: Bound, sign: int) -> tuple[Booleans, Booleans]:
        certain = self.compare(bound, sign, certain=True)
        if self._first is None and self.rows.is_plain:
            return certain, certain
        return certain, self.compare(bound, sign, certain=False)

    @cached_property
    def gaps_us(self) -> Integers:
        """The times between neighbouring readings, shape (n - 1,)."""
        return self.at_us[1:] - self.at_us[:-1]

    @cached_property
    def _spacing_us(self) -> tuple[int, int]:
        return self.rows.spacing_us() if self._first is None else _spacing(self.at_us)

    @property
    def longest_gap_us(self) -> int:
        """The longest time between neighbouring readings; 0 with fewer than two."""
        return self._spacing_us[1]

    def is_regular(self) -> bool:
        """Whether the times between neighbouring readings are all the same."""
        return self._spacing_us[0] == self._spacing_us[1]


def _spacing(at_us: Integers) -> tuple[int, int]:
    lowest, highest = [], []
    for start in range(0, len(at_us) - 1, CHUNK_SIZE):
        piece = at_us[start : start + CHUNK_SIZE + 1]
        gaps = piece[1:] - piece[:-1]
        lowest.append(int(gaps.min()))
        highest.append(int(gaps.max()))
    return min(lowest, default=0), max(highest, default=0)


def first(holds: Booleans, start: int = 0) -> int | None:
    """Return the first index from ``start`` on for which ``holds``; None with none."""
    rest = holds[start:]
    if not len(rest):
        return None
    index = int(rest.argmax())
    return start + index if rest[index] else None


def last(holds: Booleans, stop: int | None = None) -> int | None:
    """Return the last index before ``stop`` for which ``holds``; None with none."""
    end = len(holds) if stop is None else stop
    while end > 0:
        start = max(0, end - CHUNK_SIZE)
        found = np.flatnonzero(holds[start:end])
        if len(found):
            return start + int(found[-1])
        end = start
    return None


@dataclass(frozen=True, slots=True)
class Runs:
    """Maximal runs of readings for which something holds: [start, stop) of each."""

    start: NDArray[np.intp]
    stop: NDArray[np.intp]

    def __len__(self) -> int:
        return len(self.start)


def runs(
    holds: Booleans, series: Series, longest_gap_us: Fraction | None = None
) -> Runs:
    """Return the maximal runs of neighbouring readings for which ``holds``.

    Parameters
    ----------
    holds : ndarray of bool, shape (n,)
        One per reading of ``series``.
    series : Series
        n readings.
    longest_gap_us : Fraction, optional
        A longer gap between neighbours ends a run; None: no gap does.

    Returns
    -------
    Runs
        In time order.
    """
    n = len(holds)
    cuts = np.flatnonzero(holds[1:] != holds[:-1]) + 1
    if longest_gap_us is not None and series.longest_gap_us > longest_gap_us:
        breaks = np.flatnonzero(series.gaps_us > math.floor(longest_gap_us)) + 1
        cuts = np.union1d(cuts, breaks)
    edges = np.concatenate([
        np.zeros(1, dtype=np.intp),
        cuts,
        np.full(1, n, dtype=np.intp),
    ])
    start, stop = edges[:-1], edges[1:]
    kept = holds[start] if n else np.zeros(1, dtype=np.bool_)
    return Runs(start[kept], stop[kept])
