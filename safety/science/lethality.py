"""Lethality: what minutes at changing temperatures kill, as minutes at one temperature.

Heat kills by the logarithm: ``z_c`` degrees more kill ten times as fast. Estimates, to
compare processes and to plan: no published limit here is met by a sum of lethality.
"""

import numpy as np
from numpy.typing import ArrayLike

from safety.errors import OutOfRange
from safety.science.ranges import Floats, above_zero, within

_INFINITE = float("inf")


def lethal_rate(
    temperature_c: ArrayLike,
    *,
    reference_c: float,
    z_c: float,
    span_c: tuple[float, float],
    z_above_c: float | None = None,
) -> Floats:
    """Return how many minutes at the reference temperature a minute here is worth.

    Parameters
    ----------
    temperature_c : array_like
        Temperature inside the food, °C; any shape.
    reference_c : float
        Temperature at which a minute counts as one, °C.
    z_c : float
        Degrees that make the killing ten times as fast, °C (a difference).
    span_c : tuple of float
        The lowest and the highest temperature for which the figures hold, °C.
    z_above_c : float, optional
        Another ``z_c`` above the reference, °C; absent, one holds on both sides.

    Returns
    -------
    numpy.ndarray of float64
        Lethal rate, minutes per minute; the same shape.

    Raises
    ------
    OutOfRange
        If a temperature lies outside ``span_c``, or a z is not above 0.

    Notes
    -----
    ``10 ** ((T - reference) / z)``. Below the reference a z that is too large makes the
    rate too high, the dangerous way; choose the smallest that is published.
    Source of the form: FDA, Fish and Fishery Products Hazards and Controls Guidance,
    4th edition, Appendix 4, Tables A-3 and A-4.

    Examples
    --------
    >>> rate = lethal_rate(66, reference_c=70, z_c=7.5, span_c=(63, 85))
    >>> round(float(rate), 4)
    0.2929
    """
    food = within("temperature", temperature_c, *span_c, "°C")
    below = above_zero("z", z_c, "°C")
    above = below if z_above_c is None else above_zero("z", z_above_c, "°C")
    over = food - reference_c
    return np.asarray(np.power(10.0, over / np.where(over > 0, above, below)))


def minutes_at(
    temperature_c: ArrayLike,
    *,
    reference_min: float,
    reference_c: float,
    z_c: float,
    span_c: tuple[float, float],
    z_above_c: float | None = None,
) -> Floats:
    """Return the minutes at a temperature that kill as much as the reference does.

    Parameters
    ----------
    temperature_c : array_like
        Temperature inside the food, °C; any shape.
    reference_min : float
        Minutes needed at ``reference_c``.
    reference_c, z_c, span_c, z_above_c
        As for ``lethal_rate``.

    Returns
    -------
    numpy.ndarray of float64
        Minutes; the same shape.

    Raises
    ------
    OutOfRange
        As for ``lethal_rate``, or if ``reference_min`` is not above 0.

    Notes
    -----
    Errs as ``lethal_rate`` does: a z that is too large asks for too few minutes below
    the reference. Printed tables round, and it is the printed minutes that count.

    Examples
    --------
    >>> minutes = minutes_at(
    ...     66, reference_min=2.0, reference_c=70, z_c=7.5, span_c=(63, 85)
    ... )
    >>> round(float(minutes), 2)
    6.83
    """
    needed = above_zero("time at the reference", reference_min, "min")
    rate = lethal_rate(
        temperature_c,
        reference_c=reference_c,
        z_c=z_c,
        span_c=span_c,
        z_above_c=z_above_c,
    )
    return needed / rate


def equivalent_min(
    temperature_c: ArrayLike,
    minutes: ArrayLike,
    *,
    reference_c: float,
    z_c: float,
    span_c: tuple[float, float],
    z_above_c: float | None = None,
) -> float:
    """Return what stretches of constant temperature come to at the reference.

    Parameters
    ----------
    temperature_c : array_like, shape (n,)
        The lowest temperature inside the food during each stretch, °C.
    minutes : array_like, shape (n,)
        How long each stretch lasted, minutes.
    reference_c, z_c, z_above_c
        As for ``lethal_rate``.
    span_c : tuple of float
        Below the lower end a stretch counts nothing, above the upper end it counts as
        at that end.

    Returns
    -------
    float
        Minutes at ``reference_c``.

    Raises
    ------
    OutOfRange
        If a time is negative, a value no finite number, the shapes differ, or a z is
        not above 0.

    Notes
    -----
    Both ends of the span err towards too little lethality.

    Examples
    --------
    >>> sum_min = equivalent_min(
    ...     [60.0, 70.0], [10, 2], reference_c=70, z_c=7.5, span_c=(63, 85)
    ... )
    >>> sum_min
    2.0
    """
    food = within("temperature", temperature_c, -_INFINITE, _INFINITE, "°C")
    lasted = within("time", minutes, 0.0, _INFINITE, "min")
    _same_length(food, lasted)
    least_c, most_c = span_c
    counts = food >= least_c
    rate = lethal_rate(
        np.minimum(food[counts], most_c),
        reference_c=reference_c,
        z_c=z_c,
        span_c=span_c,
        z_above_c=z_above_c,
    )
    return float(np.sum(rate * lasted[counts]))


def least_equivalent_min(
    instants_min: ArrayLike,
    temperature_c: ArrayLike,
    *,
    reference_c: float,
    z_c: float,
    span_c: tuple[float, float],
    z_above_c: float | None = None,
) -> float:
    """Return what readings one after another come to at the reference, at the least.

    Parameters
    ----------
    instants_min : array_like, shape (n,)
        When each reading was made, minutes from any start, in order.
    temperature_c : array_like, shape (n,)
        Temperature inside the food at each instant, °C.
    reference_c, z_c, span_c, z_above_c
        As for ``equivalent_min``.

    Returns
    -------
    float
        Minutes at ``reference_c``.

    Raises
    ------
    OutOfRange
        As for ``equivalent_min``, or if the instants are not in order.

    Notes
    -----
    Between two readings the temperature is taken for monotonic and nothing more, so the
    colder of the two holds for the whole interval: it errs towards too little lethality.

    Examples
    --------
    >>> least_equivalent_min(
    ...     [0, 2, 4], [68, 70, 70], reference_c=70, z_c=7.5, span_c=(70, 85)
    ... )
    2.0
    """
    instants = within("instants", instants_min, -_INFINITE, _INFINITE, "min")
    food = within("temperature", temperature_c, -_INFINITE, _INFINITE, "°C")
    _same_length(food, instants)
    return equivalent_min(
        np.minimum(food[:-1], food[1:]),
        np.diff(instants),
        reference_c=reference_c,
        z_c=z_c,
        span_c=span_c,
        z_above_c=z_above_c,
    )


def log10_reduction(
    equivalent_minutes: ArrayLike, *, reference_min: float, reference_log10: float
) -> Floats:
    """Return by how many powers of ten minutes at the reference lessen what lives.

    Parameters
    ----------
    equivalent_minutes : array_like
        Minutes at the reference temperature, 0 or more; any shape.
    reference_min : float
        Minutes there that reach ``reference_log10``.
    reference_log10 : float
        Powers of ten that they kill.

    Returns
    -------
    numpy.ndarray of float64
        Powers of ten; the same shape.

    Raises
    ------
    OutOfRange
        If a time is negative, or a reference is not above 0.

    Notes
    -----
    Takes killing as even from the first minute to the last; survivors that tail off
    make it too high. Not to be read beyond the powers of ten that the source supports.

    Examples
    --------
    >>> reduction = log10_reduction(3.51, reference_min=2.0, reference_log10=6)
    >>> round(float(reduction), 2)
    10.53
    """
    lasted = within("time at the reference", equivalent_minutes, 0.0, _INFINITE, "min")
    needed = above_zero("time at the reference", reference_min, "min")
    return lasted / needed * above_zero("reduction", reference_log10, "log10")


def _same_length(temperature_c: Floats, other: Floats) -> None:
    if temperature_c.ndim != 1 or temperature_c.shape != other.shape:
        raise OutOfRange(
            "as many temperatures as times, in one row",
            f"{temperature_c.shape} and {other.shape}",
            "of one length",
        )
