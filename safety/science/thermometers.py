"""Thermometers: what a check says of a reading, and limits tightened by uncertainty.

For the person who reads a dial. The judge has its own, wider rule of what instruments
may be off (``safety.judge.instruments``), and no correction here makes a limit met.
"""

from collections.abc import Sequence
from itertools import pairwise

from safety.errors import OutOfRange
from safety.science.ranges import within

_INFINITE = float("inf")


def error_shown(shown: float, true: float) -> float:
    """Return by how much a thermometer reads too high at a check.

    Parameters
    ----------
    shown, true : float
        What it showed and what was true (melting ice, boiling water, a reference), both
        in one unit, °C or °F.

    Returns
    -------
    float
        The error, a difference in the same unit; negative where it reads low.

    Raises
    ------
    OutOfRange
        If one of them is no finite number.

    Notes
    -----
    As right as the true value: the boiling point moves with elevation and weather.

    Examples
    --------
    >>> error_shown(33.5, 32)
    1.5
    """
    return _finite("what is shown", shown) - _finite("what is true", true)


def error_at(reading: float, checks: Sequence[tuple[float, float]]) -> float:
    """Return the error of a reading from the checks of its thermometer.

    Parameters
    ----------
    reading : float
        What the thermometer shows in the food, °C or °F.
    checks : sequence of (shown, true)
        One check or more, shape (n, 2), in the same unit.

    Returns
    -------
    float
        The error to expect, a difference in the same unit. Between two checks a straight
        line; outside them the error of the nearer; from one check the same everywhere.

    Raises
    ------
    OutOfRange
        If there is no check, two show the same, or a value is no finite number.

    Notes
    -----
    What the thermometer does between and beyond its checks nobody looked at: the line
    may err either way, so widen by an uncertainty before a reading is relied on.
    Source: standard practice of metrology.

    Examples
    --------
    >>> round(error_at(145, [(32.4, 32), (214, 212)]), 2)
    1.39
    """
    _finite("reading", reading)
    known = sorted((_finite("shown", s), error_shown(s, t)) for s, t in checks)
    if not known or len({shown for shown, _ in known}) < len(known):
        raise OutOfRange(
            "one check or more", f"{checks!r}", "that show different values"
        )
    if reading <= known[0][0]:
        return known[0][1]
    for (low, low_error), (high, high_error) in pairwise(known):
        if reading <= high:
            share = (reading - low) / (high - low)
            return low_error + share * (high_error - low_error)
    return known[-1][1]


def corrected(reading: float, checks: Sequence[tuple[float, float]]) -> float:
    """Return a reading with its error taken off.

    Parameters
    ----------
    reading : float
        What the thermometer shows in the food, °C or °F.
    checks : sequence of (shown, true)
        As for ``error_at``.

    Returns
    -------
    float
        The temperature, in the same unit.

    Raises
    ------
    OutOfRange
        As for ``error_at``.

    Notes
    -----
    Errs as ``error_at`` does. A correction that helps is to be used only beside a check
    that is in date; one that hurts always.

    Examples
    --------
    >>> round(corrected(145, [(32.4, 32), (214, 212)]), 1)
    143.6
    """
    return reading - error_at(reading, checks)


def reading_for(true: float, *, error: float) -> float:
    """Return what a thermometer with a known error shows at a true temperature.

    Parameters
    ----------
    true : float
        The temperature that is aimed at, °C or °F.
    error : float
        By how much it reads too high, a difference in the same unit.

    Returns
    -------
    float
        The reading to aim at, in the same unit.

    Raises
    ------
    OutOfRange
        If one of them is no finite number.

    Notes
    -----
    As right as the error is the same there as where it was found.

    Examples
    --------
    >>> reading_for(150, error=-7)
    143.0
    """
    return _finite("temperature", true) + _finite("error", error)


def guarded_least(limit: float, *, uncertainty: float) -> float:
    """Return the reading that shows a least value in spite of the uncertainty.

    Parameters
    ----------
    limit : float
        The value to be reached or passed.
    uncertainty : float
        Expanded uncertainty of a reading, 0 or more, a difference in the same unit.

    Returns
    -------
    float
        The least corrected reading to accept, in the same unit.

    Raises
    ------
    OutOfRange
        If a value is no finite number, or the uncertainty is negative.

    Notes
    -----
    The guard band is the whole uncertainty: errs towards refusing.
    Source: ILAC-G8:09/2019, Guidelines on decision rules and statements of conformity.

    Examples
    --------
    >>> guarded_least(145, uncertainty=2)
    147.0
    """
    return _finite("limit", limit) + _width(uncertainty)


def guarded_most(limit: float, *, uncertainty: float) -> float:
    """Return the reading that shows a greatest value in spite of the uncertainty.

    Parameters
    ----------
    limit : float
        The value not to be passed.
    uncertainty : float
        Expanded uncertainty of a reading, 0 or more, a difference in the same unit.

    Returns
    -------
    float
        The greatest corrected reading to accept, in the same unit.

    Raises
    ------
    OutOfRange
        If a value is no finite number, or the uncertainty is negative.

    Notes
    -----
    As ``guarded_least``: errs towards refusing; the same source.

    Examples
    --------
    >>> guarded_most(41, uncertainty=2)
    39.0
    """
    return _finite("limit", limit) - _width(uncertainty)


def _width(uncertainty: float) -> float:
    return float(within("uncertainty", uncertainty, 0.0, _INFINITE, ""))


def _finite(quantity: str, value: float) -> float:
    return float(within(quantity, value, -_INFINITE, _INFINITE, ""))
