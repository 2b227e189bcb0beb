"""The earliest time in which toxin of non-proteolytic Clostridium botulinum was found.

A lower envelope of published observations, with coefficients from memory: until the paper
is read, nothing that people see may show a time by it, and the data file says so.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from safety.science.ranges import Floats, within
from safety.science.sourced import citation, load

_INFINITE = float("inf")
_HOURS_PER_D = 24.0


def source() -> tuple[str, bool]:
    """Return where the curve comes from, and whether it may be shown to people.

    Returns
    -------
    tuple of str and bool
        The citation; False while its coefficients are known from memory only. Errs to
        silence.

    Examples
    --------
    >>> source()[1]
    False
    """
    told = load("botulinum_time")["curve"]
    return citation(told), told["basis"] != "memory"


def earliest_toxin_d(temperature_c: ArrayLike) -> Floats:
    """Return after how many days toxin was found at the earliest.

    Parameters
    ----------
    temperature_c : array_like
        Temperature of the packed food, °C, 3 to 30; any shape.

    Returns
    -------
    numpy.ndarray of float64
        Days; the same shape.

    Raises
    ------
    OutOfRange
        If a temperature lies outside 3 to 30 °C.

    Notes
    -----
    ``10 ** (0.65 - 0.0525 T + 2.74 / T)``. A lower bound of what was published, for any
    food without a barrier: it errs to a short time, counts no salt, and says nothing of
    safety after that time. Below 3.0 °C growth was not seen and the formula runs away.
    Source: Skinner and Larkin 1998, coefficients from memory.

    Examples
    --------
    >>> round(float(earliest_toxin_d(5)), 2)
    8.62
    """
    told = load("botulinum_time")["curve"]
    span_c = told["lowest_c"], told["highest_c"]
    food = within("temperature of the packed food", temperature_c, *span_c, "°C")
    power = told["constant"] + told["slope"] * food + told["inverse"] / food
    return np.asarray(np.power(10.0, power))


def toxin_fraction(stretches: Sequence[tuple[float, float]]) -> float:
    """Return which share of the earliest time to toxin stretches of storage use up.

    Parameters
    ----------
    stretches : sequence of tuple of float, shape (n, 2)
        Hours, and the warmest temperature of each stretch, °C.

    Returns
    -------
    float
        Sum of hours over the earliest hours; without a unit.

    Raises
    ------
    OutOfRange
        If a time is negative, or a temperature above 30 °C or no finite number.

    Notes
    -----
    A stretch colder than 3.0 °C adds nothing. With the warmest temperature of each
    stretch it errs to too much. Never to be turned into growth.
    Source: as for `earliest_toxin_d`.

    Examples
    --------
    >>> round(toxin_fraction([(72, 3.5), (6, 8), (2, 15)]), 4)
    0.3111
    """
    told = load("botulinum_time")["curve"]
    total = 0.0
    for hours, warmest_c in stretches:
        lasted = float(within("time", hours, 0.0, _INFINITE, "h"))
        highest_c = told["highest_c"]
        food = within("temperature", warmest_c, -_INFINITE, highest_c, "°C")
        if food >= told["lowest_c"]:
            total += lasted / (float(earliest_toxin_d(food)) * _HOURS_PER_D)
    return total
