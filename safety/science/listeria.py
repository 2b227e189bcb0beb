"""How fast Listeria monocytogenes may grow in smoked seafood kept cold: a planning estimate.

The square of the distance from the coldest temperature of growth, scaled by the rate at
5 °C that published studies found. No lag is counted, and salt is not: growth that starts
late, or never, is over-estimated. One study in twenty grew faster than the high rate
here, and the fastest 3.7 times as fast as the mean. Nothing here meets a limit.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from safety.science.ranges import Floats, above_zero, within
from safety.science.sourced import citation, load

_INFINITE = float("inf")
_LEAST, _MOST_GROWTH = 0.0, 12.0  # own figure: more than any food holds
_ENDS = 3  # the mean square along a straight line is a third of this sum


@dataclass(frozen=True, slots=True)
class Rates:
    """Rates of growth at the reference temperature, log10 a day, and where they hold."""

    mean: float
    high: float  # one study in twenty was faster
    highest: float
    least: float
    rows: int
    no_growth_c: float
    reference_c: float
    span_c: tuple[float, float]
    salt_span_pct: tuple[float, float]
    source: str


def rates() -> Rates:
    """Return the rates of smoked seafood, with where they hold.

    Returns
    -------
    Rates
        log10 a day at 5 °C; temperatures in °C; water phase salt in %. Of 27 rows; the
        high rate errs towards growth that is too slow for one product in twenty.

    Examples
    --------
    >>> rates().mean
    0.15
    """
    told = load("listeria_growth")["rate"]
    return Rates(
        mean=told["mean_log10_per_d"],
        high=told["p95_log10_per_d"],
        highest=told["highest_log10_per_d"],
        least=told["least_log10_per_d"],
        rows=told["rows"],
        no_growth_c=told["no_growth_c"],
        reference_c=told["reference_c"],
        span_c=(told["lowest_c"], told["highest_c"]),
        salt_span_pct=(
            told["lowest_water_phase_salt_pct"],
            told["highest_water_phase_salt_pct"],
        ),
        source=citation(told),
    )


def growth_rate_log10_per_d(temperature_c: ArrayLike, *, at_reference: float) -> Floats:
    """Return how fast it grows at a temperature.

    Parameters
    ----------
    temperature_c : array_like
        Temperature of the food, °C, 0 to 30; any shape.
    at_reference : float
        Rate at 5 °C, log10 a day, above 0: one of `rates`.

    Returns
    -------
    numpy.ndarray of float64
        log10 a day; the same shape.

    Raises
    ------
    OutOfRange
        If a temperature lies outside 0 to 30 °C, or the rate is not above 0.

    Notes
    -----
    ``rate * ((T - T0) / (5 - T0)) ** 2`` with T0 = -1.18 °C. Errs to fast growth, for
    there is no lag and no salt in it; in fish that suits Listeria well the mean rate
    errs to slow growth, up to 3.7 times.
    Source: FDA, FSIS and CDC, Quantitative Assessment of Relative Risk, 2003, Appendix 8.

    Examples
    --------
    >>> round(float(growth_rate_log10_per_d(8, at_reference=0.15)), 3)
    0.331
    """
    known = rates()
    food = within("temperature of the food", temperature_c, *known.span_c, "°C")
    rate = above_zero("rate of growth", at_reference, "log10 a day")
    return np.asarray(rate * _share(food, known) ** 2)


def rate_at_reference(log10: float, days: float, temperature_c: float) -> float:
    """Return the rate at 5 °C that an observed growth corresponds to.

    Parameters
    ----------
    log10 : float
        By how many powers of ten it grew, 0 to 12.
    days : float
        In how many days, above 0.
    temperature_c : float
        At which temperature, °C, 0 to 30.

    Returns
    -------
    float
        log10 a day at 5 °C.

    Raises
    ------
    OutOfRange
        If an argument is outside its range.

    Notes
    -----
    A lag inside the observed days makes it too low, the dangerous way.
    Source: as for `growth_rate_log10_per_d`.

    Examples
    --------
    >>> round(rate_at_reference(2.1, 28, 4), 3)
    0.107
    """
    grown = float(within("growth", log10, 0.0, _MOST_GROWTH, "log10"))
    lasted = above_zero("time", days, "d")
    share = growth_rate_log10_per_d(temperature_c, at_reference=1.0)
    return grown / lasted / float(share)


def growth_log10(
    stretches: Sequence[tuple[float, float, float]], *, at_reference: float
) -> float:
    """Return by how many powers of ten it grows over stretches of storage.

    Parameters
    ----------
    stretches : sequence of tuple of float, shape (n, 3)
        Days, and the temperature at the start and at the end of each stretch, °C;
        straight between them.
    at_reference : float
        Rate at 5 °C, log10 a day, above 0.

    Returns
    -------
    float
        log10; without a ceiling, for a food that holds more is spoiled anyway.

    Raises
    ------
    OutOfRange
        If a time is negative, a temperature outside 0 to 30 °C, or the rate not above 0.

    Notes
    -----
    Exact along each straight stretch. Errs as `growth_rate_log10_per_d` does.
    Source: as there.

    Examples
    --------
    >>> round(growth_log10([(10, 5, 5)], at_reference=0.15), 3)
    1.5
    """
    known = rates()
    rate = above_zero("rate of growth", at_reference, "log10 a day")
    total = 0.0
    for days, start_c, end_c in stretches:
        lasted = float(within("time", days, _LEAST, _INFINITE, "d"))
        pair = [start_c, end_c]
        ends = within("temperature of the food", pair, *known.span_c, "°C")
        a, b = _share(ends, known)
        total += rate * lasted * float(a * a + a * b + b * b) / _ENDS
    return total


def days_until(
    log10: float, temperature_c: ArrayLike, *, at_reference: float
) -> Floats:
    """Return the days in which it grows by so many powers of ten.

    Parameters
    ----------
    log10 : float
        Growth, powers of ten, above 0 to 12.
    temperature_c : array_like
        Temperature of storage, °C, 0 to 30; any shape.
    at_reference : float
        Rate at 5 °C, log10 a day, above 0.

    Returns
    -------
    numpy.ndarray of float64
        Days; the same shape.

    Raises
    ------
    OutOfRange
        If an argument is outside its range.

    Notes
    -----
    Errs as `growth_rate_log10_per_d` does: with the mean rate too long for fish in which
    it grows well. Show it with the high rate beside it.
    Source: as there.

    Examples
    --------
    >>> round(float(days_until(2, 5, at_reference=0.15)), 2)
    13.33
    """
    grown = above_zero("growth", log10, "log10")
    within("growth", grown, 0.0, _MOST_GROWTH, "log10")
    rate = growth_rate_log10_per_d(temperature_c, at_reference=at_reference)
    return np.asarray(grown / rate)


def highest_start_cfu_per_g(growth: ArrayLike, *, level_cfu_per_g: float) -> Floats:
    """Return the highest count today that a growth still keeps within a level.

    Parameters
    ----------
    growth : array_like
        Growth to the end of shelf life, powers of ten, 0 to 12; any shape.
    level_cfu_per_g : float
        The level that may not be passed, in a gram, above 0.

    Returns
    -------
    numpy.ndarray of float64
        In a gram; the same shape.

    Raises
    ------
    OutOfRange
        If an argument is outside its range.

    Notes
    -----
    Errs as the growth does. Of use only where a level counts, as in the European Union;
    where none may be there, no count is low enough.
    Source: EFSA 2020, opinion on frozen vegetables, table 14.

    Examples
    --------
    >>> float(highest_start_cfu_per_g(2.0, level_cfu_per_g=100.0))
    1.0
    """
    grown = within("growth", growth, 0.0, _MOST_GROWTH, "log10")
    level = above_zero("level", level_cfu_per_g, "in a gram")
    return np.asarray(level / np.power(10.0, grown))


def _share(temperature_c: Floats, known: Rates) -> Floats:
    """Return how far above no growth, as a share of the reference's distance."""
    span = known.reference_c - known.no_growth_c
    return np.asarray((temperature_c - known.no_growth_c) / span)
