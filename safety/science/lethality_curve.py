"""Lethality of a curve of readings: at the least, likely, and how far they are apart.

Estimates: no published limit is met by a sum of lethality.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from safety.errors import OutOfRange
from safety.science.lethality import least_equivalent_min, lethal_rate
from safety.science.ranges import Floats, above_zero, within
from safety.science.references import Reference

_INFINITE = float("inf")
_LN10 = float(np.log(10.0))
_FLAT = 1e-6  # closer than this the curve between two readings is taken for level


@dataclass(frozen=True, slots=True)
class CurveLethality:
    """Minutes at the reference temperature that a curve comes to."""

    least_min: float
    likely_min: float
    share_of_target: float  # least_min over the minutes that the process asks for


def curve_equivalent_min(
    instants_min: ArrayLike,
    temperature_c: ArrayLike,
    *,
    reference_c: float,
    z_c: float,
    span_c: tuple[float, float],
    z_above_c: float | None = None,
    longest_gap_min: float = _INFINITE,
) -> float:
    """Return what a curve comes to, were it straight between its readings.

    Parameters
    ----------
    instants_min : array_like, shape (n,)
        When each reading was made, minutes from any start, in order.
    temperature_c : array_like, shape (n,)
        Temperature inside the food at each instant, °C.
    reference_c, z_c, z_above_c
        As for ``lethality.lethal_rate``.
    span_c : tuple of float
        Below the lower end nothing is counted, above the upper end the rate stays. The
        lower end may be minus infinity, the upper end is finite.
    longest_gap_min : float, optional
        Readings further apart than this count nothing between them, minutes.

    Returns
    -------
    float
        Minutes at ``reference_c``.

    Raises
    ------
    OutOfRange
        If a value is no finite number, the instants are not in order, the shapes
        differ, or a z is not above 0.

    Notes
    -----
    The lethal rate is integrated exactly along each straight piece. Adding the mean of
    the rates at both ends, the usual way, always comes to more than this (by 2 % where
    readings move by a fifth of z, by 41 % where they move by z), so it is not offered.
    A curve that bulges is still misjudged, either way: for display, beside
    ``lethality.least_equivalent_min``, which errs to the safe side.

    Examples
    --------
    >>> curve_equivalent_min(
    ...     [0, 2, 4], [70, 70, 70], reference_c=70, z_c=7.5, span_c=(55, 85)
    ... )
    4.0
    """
    instants = within("instants", instants_min, -_INFINITE, _INFINITE, "min")
    food = within("temperature", temperature_c, -_INFINITE, _INFINITE, "°C")
    if food.ndim != 1 or food.shape != instants.shape:
        raise OutOfRange("as many temperatures as times", str(food.shape), "in one row")
    lasted = within("time between readings", np.diff(instants), 0, _INFINITE, "min")
    below = above_zero("z", z_c, "°C")
    above = below if z_above_c is None else above_zero("z", z_above_c, "°C")
    early, late = food[:-1], food[1:]
    total = _integral(late, reference_c, below, above, span_c)
    total = total - _integral(early, reference_c, below, above, span_c)
    rise = late - early
    is_flat = np.abs(rise) < _FLAT
    mean = np.where(is_flat, 0.0, total / np.where(is_flat, 1.0, rise))
    level = np.clip(early, *span_c)
    rate = lethal_rate(
        level, reference_c=reference_c, z_c=below, z_above_c=above, span_c=span_c
    )
    mean = np.where(is_flat, np.where(early < span_c[0], 0.0, rate), mean)
    return float(np.sum(mean * lasted * (lasted <= longest_gap_min)))


def curve_lethality(
    instants_min: ArrayLike,
    temperature_c: ArrayLike,
    process: Reference,
    *,
    error_c: float = 0.0,
    longest_gap_min: float = _INFINITE,
) -> CurveLethality:
    """Return what a curve comes to by a reference process, at the least and likely.

    Parameters
    ----------
    instants_min, temperature_c : array_like, shape (n,)
        As for `curve_equivalent_min`: the coldest place, not the mean of several.
    process : Reference
        The process to count by.
    error_c : float, optional
        How far the thermometer may read too high, °C, 0 or more; taken off every
        reading.
    longest_gap_min : float, optional
        Readings further apart count nothing between them, minutes.

    Returns
    -------
    CurveLethality
        Minutes at the reference temperature.

    Raises
    ------
    OutOfRange
        As for `curve_equivalent_min`, or if the error is negative.

    Notes
    -----
    ``least_min`` takes the colder of two neighbouring readings for the whole time
    between them and errs to too little; ``likely_min`` is the exact sum. Where the two
    are far apart, the readings are too sparse.

    Examples
    --------
    >>> from safety.science.references import reference
    >>> curve = curve_lethality([0, 2, 4], [68, 70, 70], reference("listeria-70"))
    >>> round(curve.least_min, 2), round(curve.likely_min, 2)
    (3.08, 3.49)
    """
    off_c = float(within("error of the thermometer", error_c, 0.0, _INFINITE, "°C"))
    instants = within("instants", instants_min, -_INFINITE, _INFINITE, "min")
    food = within("temperature", temperature_c, -_INFINITE, _INFINITE, "°C") - off_c
    likely = curve_equivalent_min(
        instants, food, longest_gap_min=longest_gap_min, **process.line
    )
    lasted = np.diff(instants)
    kept = np.concatenate([[0.0], np.where(lasted <= longest_gap_min, lasted, 0.0)])
    least = least_equivalent_min(np.cumsum(kept), food, **process.line)
    return CurveLethality(
        least_min=least, likely_min=likely, share_of_target=least / process.minutes
    )


def _integral(
    temperature_c: Floats,
    reference_c: float,
    below_c: float,
    above_c: float,
    span_c: tuple[float, float],
) -> Floats:
    """Return the rate integrated over temperature from the lower end of the span up."""
    least_c, most_c = span_c
    food = np.maximum(temperature_c, least_c)
    cold = np.minimum(food, min(reference_c, most_c)) - reference_c
    start = np.power(10.0, min(least_c - reference_c, 0.0) / below_c)
    total = below_c / _LN10 * (np.power(10.0, cold / below_c) - start)
    hot = np.clip(food, reference_c, max(reference_c, most_c)) - reference_c
    total = total + above_c / _LN10 * (np.power(10.0, hot / above_c) - 1.0)
    over = np.maximum(food - most_c, 0.0)
    z_c = above_c if most_c > reference_c else below_c
    return np.asarray(total + over * np.power(10.0, (most_c - reference_c) / z_c))
