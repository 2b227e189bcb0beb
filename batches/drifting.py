"""How far an instrument was off from check to check, and when that is a warning."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from batches.checking import weighed, weighed_as_left
from batches.models import Instrument, InstrumentCheck
from safety.judge.acceptance import Acceptance, Weighed
from safety.limits import default_tolerance
from safety.units import convert_difference

RISES = 4  # own figure: so many rises of the error in a row are a drift
SHARE = Fraction(1, 2)  # own figure: beyond this share of the tolerance it is a warning
OVER_HALF, RISING = "over-half", "rising"


@dataclass(frozen=True, slots=True)
class Point:
    """One comparison: the least and the greatest error it allows, in the drift's unit."""

    check: InstrumentCheck
    at: datetime
    low: Fraction
    high: Fraction
    acceptance: Acceptance
    is_as_left: bool = False

    @property
    def error(self) -> Fraction:
        """Return the middle of the two, which is the error where they are one."""
        return (self.low + self.high) / 2


@dataclass(frozen=True, slots=True)
class Drift:
    """The checks that count, oldest first, within what they should lie, and warnings."""

    unit: str
    tolerance: Fraction
    points: tuple[Point, ...]

    @property
    def warnings(self) -> tuple[str, ...]:
        """Return what the last checks warn of; nothing before there is a check."""
        found = []
        if self.points and abs(self.points[-1].error) > self.tolerance * SHARE:
            found.append(OVER_HALF)
        if any(_rises(points) >= RISES for points in self._by_method().values()):
            found.append(RISING)
        return tuple(found)

    def _by_method(self) -> dict[str, list[Point]]:
        """Return the points since the last adjustment, by how they were checked."""
        since = max(
            (
                n
                for n, point in enumerate(self.points)
                if point.is_as_left or point.check.adjusted
            ),
            default=0,
        )
        parted: dict[str, list[Point]] = {}
        for point in self.points[since:]:
            parted.setdefault(point.check.method, []).append(point)
        return parted


def drift_of(instrument: Instrument, checks: Iterable[InstrumentCheck]) -> Drift:
    """Return the drift of an instrument, from its checks that count, in its own unit."""
    value, unit = instrument.tolerance, instrument.unit
    if value is None:
        value, unit, _ = default_tolerance(instrument.measures)
    points = sorted(
        (point for check in checks for point in _points(check, instrument.unit)),
        key=lambda point: point.at,
    )
    tolerance = convert_difference(value, unit, instrument.unit)
    return Drift(instrument.unit, tolerance, tuple(points))


def _points(check: InstrumentCheck, unit: str) -> Iterator[Point]:
    yield _point(check, check.occurred_at, weighed(check), unit)
    left = weighed_as_left(check)
    if left is not None and check.as_left_at is not None:
        yield _point(check, check.as_left_at, left, unit, is_as_left=True)


def _point(
    check: InstrumentCheck,
    at: datetime,
    found: Weighed,
    unit: str,
    *,
    is_as_left: bool = False,
) -> Point:
    low, high = (
        convert_difference(error, found.unit, unit)
        for error in (found.lowest_error, found.highest_error)
    )
    return Point(check, at, low, high, found.acceptance, is_as_left)


def _rises(points: list[Point]) -> int:
    """Return how many times in a row, up to the last, the error grew."""
    sizes = [abs(point.error) for point in points]
    count = 0
    for earlier, later in zip(reversed(sizes[:-1]), reversed(sizes[1:]), strict=True):
        if later <= earlier:
            break
        count += 1
    return count
