"""What the checks of an instrument make of its readings: how far each may be off.

A known error can cast doubt on a reading but never improve it. See ``InstrumentCheck``
for the finding about the instruments themselves.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from safety.judge.evidence import Check, Instrument, Integers, offset_s_of, us_of
from safety.limits import default_check_every_days, default_tolerance
from safety.units import convert, convert_difference

US_PER_DAY = 24 * 60 * 60 * 10**6
US_PER_S = 10**6


@dataclass(frozen=True, slots=True)
class Trust:
    """What is known of an instrument at the instant of some readings.

    ``down`` and ``up`` are how far the true value may lie below and above what was
    shown, and ``tolerance`` what the instrument is allowed to be off, all differences
    in ``unit``; the flags say why.
    """

    instrument: str | None
    unit: str
    down: Fraction
    up: Fraction
    tolerance: Fraction = Fraction(0)
    last_accepted: bool | None = None
    last_too_old: bool = False
    next_accepted: bool | None = None


@dataclass(frozen=True, slots=True)
class _Moment:
    """All checks of one instrument at one instant, as one check."""

    at_us: int
    local_day: int
    lowest_error: Fraction
    highest_error: Fraction
    is_accepted: bool


class History:
    """The checks of one instrument in time order, ready to be asked.

    ``before`` serves as the last check at or before a reading, ``after`` as the first
    check after one. A check after which the instrument was adjusted is in ``after``
    only, except for readings of its very instant.
    """

    def __init__(self, instrument: Instrument) -> None:
        self.instrument = instrument
        value, unit, _ = default_tolerance(instrument.measures)
        if instrument.tolerance is not None:
            value, unit = instrument.tolerance.value, instrument.tolerance.unit
        self.unit = unit
        self.tolerance = Fraction(value)
        days = instrument.check_every_days
        self.every_days = default_check_every_days() if days is None else days
        self.after = self._moments(instrument.checks)
        self.before = self._moments(c for c in instrument.checks if not c.adjusted)
        self._after_us = [moment.at_us for moment in self.after]
        self._before_us = [moment.at_us for moment in self.before]

    def _moments(self, checks: Iterable[Check]) -> list[_Moment]:
        groups: dict[int, list[Check]] = {}
        for check in checks:
            groups.setdefault(us_of(check.at), []).append(check)
        return [self._moment(at_us, groups[at_us]) for at_us in sorted(groups)]

    def _moment(self, at_us: int, checks: list[Check]) -> _Moment:
        errors = [self._error(check) for check in checks]
        return _Moment(
            at_us=at_us,
            local_day=min(_local_day(at_us, offset_s_of(check.at)) for check in checks),
            lowest_error=min(errors),
            highest_error=max(errors),
            is_accepted=all(abs(error) <= self.tolerance for error in errors),
        )

    def _error(self, check: Check) -> Fraction:
        shown = convert(check.shown.value, check.shown.unit, self.unit)
        return shown - convert(check.true.value, check.true.unit, self.unit)

    def trust(self, at_us: int, offset_s: int, unit: str) -> Trust:
        """Return what is known of a reading at one instant, in the reading's unit."""
        last = self._last(at_us)
        i = bisect_right(self._after_us, at_us)
        following = self.after[i] if i < len(self.after) else None
        known = [moment for moment in (last, following) if moment]
        highest = max([Fraction(0), *(moment.highest_error for moment in known)])
        lowest = min([Fraction(0), *(moment.lowest_error for moment in known)])
        age = None if last is None else _local_day(at_us, offset_s) - last.local_day
        too_old = age is not None and age > self.every_days
        extra = Fraction(0)
        if last is None or too_old or not last.is_accepted:
            extra = self.tolerance
        return Trust(
            instrument=self.instrument.id,
            unit=unit,
            down=convert_difference(highest + extra, self.unit, unit),
            up=convert_difference(extra - lowest, self.unit, unit),
            tolerance=convert_difference(self.tolerance, self.unit, unit),
            last_accepted=last.is_accepted if last else None,
            last_too_old=too_old,
            next_accepted=following.is_accepted if following else None,
        )

    def _last(self, at_us: int) -> _Moment | None:
        # At the very instant of an adjusted check the reading is not after it.
        i = bisect_left(self._after_us, at_us)
        if i < len(self.after) and self.after[i].at_us == at_us:
            return self.after[i]
        i = bisect_right(self._before_us, at_us)
        return self.before[i - 1] if i else None

    def cuts(self, at_us: Integers, offset_s: int) -> list[int]:
        """Return the indices of ``at_us`` (sorted) where the trust may change."""
        edges = {0}
        for moment in (*self.before, *self.after):
            edges.add(int(np.searchsorted(at_us, moment.at_us, "left")))
            edges.add(int(np.searchsorted(at_us, moment.at_us, "right")))
            first_too_old_day = moment.local_day + int(self.every_days) + 1
            too_old_us = first_too_old_day * US_PER_DAY - offset_s * US_PER_S
            edges.add(int(np.searchsorted(at_us, too_old_us, "left")))
        return sorted(edge for edge in edges if edge < len(at_us))


def _local_day(at_us: int, offset_s: int) -> int:
    return (at_us + offset_s * US_PER_S) // US_PER_DAY


def untracked(measures: str, unit: str) -> Trust:
    """Return the trust in a reading that names no instrument: the default tolerance."""
    value, own_unit, _ = default_tolerance(measures)
    width = convert_difference(value, own_unit, unit)
    return Trust(instrument=None, unit=unit, down=width, up=width, tolerance=width)


def exact(unit: str) -> Trust:
    """Return the trust in a point: a laboratory result, a thickness, a mass."""
    return Trust(
        instrument=None,
        unit=unit,
        down=Fraction(0),
        up=Fraction(0),
    )
