"""Chances of what looks too neat: exact where the arithmetic is, bounds where it is not."""

import math
from collections.abc import Sequence

# Divisors of the terms of the chi-square tail with nine degrees of freedom:
# 1, 1·3, 1·3·5, 1·3·5·7.
_ODD_PRODUCTS = (1, 3, 15, 105)
_DIGITS = 10


def agreement_chance(step: float, sd: float) -> float:
    """Return the chance that two independent readings show the same figure.

    Parameters
    ----------
    step : float
        The last place of the display, in the unit of the readings, > 0.
    sd : float
        Standard deviation between readings, in the same unit, >= 0.

    Returns
    -------
    float
        0 to 1: ``step / (2 sd √π)``, at most 1.

    Notes
    -----
    The density of a difference of two normal readings at 0, times the step: exact for
    steps much smaller than ``sd``, else too high, so that a run looks likelier than it
    is. Readings that follow each other closely agree more often than independent ones.

    Examples
    --------
    >>> round(agreement_chance(0.1, 0.8), 4)
    0.0353
    """
    if sd <= 0:
        return 1.0
    return min(1.0, step / (2 * sd * math.sqrt(math.pi)))


def run_chance(length: int, step: float, sd: float, *, among: int) -> float:
    """Return an upper bound of the chance of so long a run of equal readings.

    Parameters
    ----------
    length : int
        How many readings in a row are equal, >= 1.
    step : float
        The last place of the display, in the unit of the readings.
    sd : float
        Standard deviation between readings, in the same unit.
    among : int
        How many readings the series has, >= ``length``: a run may begin at each.

    Returns
    -------
    float
        0 to 1.

    Notes
    -----
    The chance of one run of that length times the places at which it could begin (the
    union bound): never too low for independent readings.
    """
    starts = max(1, among - length + 1)
    return min(1.0, starts * agreement_chance(step, sd) ** (length - 1))


def digits_chi_square(digits: Sequence[int]) -> float:
    """Return chi-square of last digits against ten equally frequent ones.

    Parameters
    ----------
    digits : sequence of int, shape (n,)
        0 to 9 each, n >= 1.

    Returns
    -------
    float
        The statistic, nine degrees of freedom.
    """
    expected = len(digits) / _DIGITS
    return sum(
        (digits.count(digit) - expected) ** 2 / expected for digit in range(_DIGITS)
    )


def chi_square_tail(statistic: float) -> float:
    """Return the chance of a chi-square with nine degrees of freedom beyond a value.

    Parameters
    ----------
    statistic : float
        >= 0.

    Returns
    -------
    float
        0 to 1, by the closed form for an odd number of degrees.

    Examples
    --------
    >>> round(chi_square_tail(27.877), 5)
    0.001
    """
    root = math.sqrt(statistic)
    density = math.exp(-statistic / 2) / math.sqrt(2 * math.pi)
    terms = sum(
        root ** (2 * place + 1) / divisor for place, divisor in enumerate(_ODD_PRODUCTS)
    )
    return math.erfc(root / math.sqrt(2)) + 2 * density * terms


def at_least_chance(hits: int, among: int, share: float) -> float:
    """Return the chance of so many hits or more among independent trials.

    Parameters
    ----------
    hits : int
        0 to ``among``.
    among : int
        How many trials.
    share : float
        The chance of a hit in one, 0 to 1.

    Returns
    -------
    float
        0 to 1: the upper tail of the binomial, summed term by term.
    """
    return math.fsum(
        math.comb(among, k) * share**k * (1 - share) ** (among - k)
        for k in range(hits, among + 1)
    )
