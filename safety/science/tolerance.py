"""What a few pieces say of all: the one-sided tolerance bound of a normal quantity."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist, fmean, stdev

import numpy as np
from numpy.typing import NDArray

from safety.errors import OutOfRange

Floats = NDArray[np.float64]

FEWEST, MOST = 2, 10_000
LOWEST_SHARE, HIGHEST_SHARE = 0.5, 0.999
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(24)
_PANELS = 24  # of equal width, besides those about the bend of the integrand
_REACH = 9.0  # standard deviations beyond which nothing of the integrand is left
_BENDS = np.array([-8.0, -4.0, -2.0, 0.0, 2.0, 4.0, 8.0])
_CLOSE = 1e-11  # of the factor, or of 1 where that is more
_LEAST = 1e-12  # below it the integrand would bend nowhere that a float can tell
_NORMAL = NormalDist()
_KEPT = 512  # own figure: factors kept, for a page asks for the same again


@dataclass(frozen=True, slots=True)
class LowerBound:
    """A lower tolerance bound and all that it was made of, in the unit of the values."""

    count: int
    mean: float
    deviation: float
    factor: float
    bound: float
    coverage: float
    confidence: float


def tolerance_factor(count: int, *, coverage: float, confidence: float) -> float:
    """Return the factor k of a one-sided normal tolerance bound, mean - k * deviation.

    Parameters
    ----------
    count : int
        Number of values, 2 to 10,000.
    coverage : float, fraction
        Share of all pieces that is to lie above the bound, 0.5 to 0.999.
    confidence : float, fraction
        How sure that is to be, 0.5 to 0.999.

    Returns
    -------
    float, without a unit
        In standard deviations of the values (with count - 1).

    Raises
    ------
    OutOfRange
        If an argument is outside its range.

    Notes
    -----
    With z the normal quantile of the coverage, k is the quantile at ``confidence`` of the
    noncentral t distribution with count - 1 degrees of freedom and noncentrality
    sqrt(count) * z, divided by sqrt(count). Its distribution function is integrated by
    Gauss-Legendre quadrature over the possible deviations of the sample and inverted by
    bisection. The upper end of the last interval is returned, at most 1e-11 (relative,
    where k is above 1) beyond the solution: the factor errs high, and the bound therefore
    low. It agrees with the printed tables to their last digit.

    The factor presumes a normal quantity and pieces drawn at random from one process. Of
    pieces that differ more from batch to batch than within one it promises too much.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, section 7.2.6.3, Tolerance intervals
    for a normal distribution. M. G. Natrella, Experimental Statistics, National Bureau of
    Standards Handbook 91, 1963, section 2-5.

    Examples
    --------
    >>> round(tolerance_factor(6, coverage=0.95, confidence=0.95), 4)
    3.7077
    """
    _check("count", count, FEWEST, MOST)
    for name, share in (("coverage", coverage), ("confidence", confidence)):
        _check(name, share, LOWEST_SHARE, HIGHEST_SHARE)
    return _factor(count, coverage, confidence)


def lower_bound(
    values: Sequence[float], *, coverage: float, confidence: float
) -> LowerBound:
    """Return the value above which, by these pieces, a share of all pieces lies.

    Parameters
    ----------
    values : Sequence[float], shape (n,), any one unit
        One value per piece, n from 2 to 10,000.
    coverage : float, fraction
        Share of all pieces, 0.5 to 0.999.
    confidence : float, fraction
        How sure, 0.5 to 0.999.

    Returns
    -------
    LowerBound, in the unit of the values
        An estimate: it never meets a limit.

    Raises
    ------
    OutOfRange
        If there are too few or too many values, or a share is outside its range.

    Notes
    -----
    Errs low, as the factor errs high; see `tolerance_factor` for what it presumes.

    References
    ----------
    As for `tolerance_factor`.

    Examples
    --------
    >>> pieces = [4.44, 4.29, 4.56, 4.36, 4.21, 4.49]
    >>> round(lower_bound(pieces, coverage=0.95, confidence=0.95).bound, 2)
    3.91
    """
    factor = tolerance_factor(len(values), coverage=coverage, confidence=confidence)
    mean, deviation = fmean(values), stdev(values)
    return LowerBound(
        count=len(values),
        mean=mean,
        deviation=deviation,
        factor=factor,
        bound=mean - factor * deviation,
        coverage=coverage,
        confidence=confidence,
    )


def noncentral_t_share(t: float, *, degrees: int, noncentrality: float) -> float:
    """Return the share of a noncentral t distribution that lies at or below ``t``.

    Parameters
    ----------
    t : float, without a unit
        1e-12 or more.
    degrees : int
        Degrees of freedom, 1 to 9,999.
    noncentrality : float, without a unit
        0 or more.

    Returns
    -------
    float, fraction
        The chance that a normal value about ``noncentrality`` is at most ``t`` times the
        deviation of an independent sample.

    Raises
    ------
    OutOfRange
        If an argument is outside its range.

    Notes
    -----
    The integrand bends where ``t`` times the deviation equals the noncentrality, within a
    few times 1/t of it: panels end there. The error is below 1e-12, of either sign.

    References
    ----------
    N. L. Johnson and B. L. Welch, Applications of the non-central t-distribution,
    Biometrika 31, 1940, for the definition.

    Examples
    --------
    >>> round(noncentral_t_share(1.0, degrees=1, noncentrality=0.0), 6)
    0.75
    """
    _check("t", t, _LEAST, math.inf)
    _check("degrees", degrees, FEWEST - 1, MOST - 1)
    _check("noncentrality", noncentrality, 0, math.inf)
    spread = 1 / math.sqrt(2 * degrees)
    low, high = max(0.0, 1 - _REACH * spread), 1 + _REACH * spread
    bends = np.clip((noncentrality + _BENDS) / t, low, high)
    edges = np.unique(np.concatenate([np.linspace(low, high, _PANELS + 1), bends]))
    half = np.diff(edges)[:, None] / 2
    at = (edges[:-1, None] + half + half * _NODES).ravel()
    weight = (half * _WEIGHTS).ravel()
    share = _below(t * at - noncentrality) * np.exp(_log_density(at, degrees))
    return float(weight @ share)


@lru_cache(maxsize=_KEPT)
def _factor(count: int, coverage: float, confidence: float) -> float:
    root = math.sqrt(count)
    noncentrality = root * max(0.0, _NORMAL.inv_cdf(coverage))

    def share(factor: float) -> float:
        return noncentral_t_share(
            factor * root, degrees=count - 1, noncentrality=noncentrality
        )

    low, high = _LEAST, 1.0
    while share(high) < confidence:
        low, high = high, 2 * high
    while high - low > _CLOSE * max(1.0, high):
        middle = (low + high) / 2
        if share(middle) < confidence:
            low = middle
        else:
            high = middle
    return high


def _log_density(deviation: Floats, degrees: int) -> Floats:
    """Return the logarithm of the density of a sample's deviation, about 1."""
    half = degrees / 2
    constant = math.log(2) + half * math.log(half) - math.lgamma(half)
    powers = (degrees - 1) * np.log(deviation)
    return np.asarray(constant + powers - half * deviation**2, dtype=np.float64)


def _below(z: Floats) -> Floats:
    """Return the share of a standard normal distribution below each value."""
    return np.array([math.erfc(-each / math.sqrt(2)) / 2 for each in z.tolist()])


def _check(name: str, value: float, lowest: float, highest: float) -> None:
    if not lowest <= value <= highest:
        raise OutOfRange(name, f"{value:g}", f"from {lowest:g} to {highest:g}")
