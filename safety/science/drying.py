"""What drying makes of salt, and how much salt a target needs, pieces unlike each other."""

from statistics import NormalDist

from numpy.typing import ArrayLike

from safety.errors import OutOfRange
from safety.science.ranges import Floats, within

_WHOLE_PCT = 100
_WIDEST_SPREAD = 0.4  # own figure: pieces that differ more are not one batch
_LEAST_SHARE, _MOST_SHARE = 0.5, 0.9995

CAVEATS = (
    (
        "Reckons that only water leaves; drip takes salt along, so the real figure is "
        "a little lower."
    ),
    "Weight loss is that of the whole batch; thick pieces lose less than thin ones.",
)


def water_phase_salt_after_loss_pct(
    salt_pct: ArrayLike, moisture_pct: ArrayLike, loss_pct: ArrayLike
) -> Floats:
    """Return the water phase salt after a loss of weight, all of it water.

    Parameters
    ----------
    salt_pct, moisture_pct : array_like
        Salt and water before, % of the weight before; broadcast.
    loss_pct : array_like
        Weight lost since, % of the weight before, 0 to below the moisture; broadcast.

    Returns
    -------
    numpy.ndarray of float64
        Water phase salt, %; the broadcast shape.

    Raises
    ------
    OutOfRange
        If a figure is no percentage, or more is lost than there is water.

    Notes
    -----
    Errs high: drip takes salt along (see ``CAVEATS``). Above a saturated brine, part of
    the salt is not dissolved. Source: balance of masses.

    Examples
    --------
    >>> round(float(water_phase_salt_after_loss_pct(1.8, 70, 20)), 3)
    3.475
    """
    salt = within("salt", salt_pct, 0, _WHOLE_PCT, "%")
    moisture = within("moisture", moisture_pct, 0, _WHOLE_PCT, "%")
    loss = within("weight loss", loss_pct, 0, _WHOLE_PCT, "%")
    within("salt and moisture together", salt + moisture, 0, _WHOLE_PCT, "%")
    if (loss >= moisture).any():
        raise OutOfRange("weight loss", f"{loss.max():g} %", "less than the moisture")
    return _WHOLE_PCT * salt / (salt + moisture - loss)


def salt_to_keep_pct(
    water_phase_salt: ArrayLike, raw_moisture_pct: ArrayLike, yield_pct: ArrayLike
) -> Floats:
    """Return the salt that raw fish must keep to reach a water phase salt when finished.

    Parameters
    ----------
    water_phase_salt : array_like
        Aimed at, %, 0 to 26; broadcast.
    raw_moisture_pct : array_like
        Water in the raw fish, % of its weight; broadcast.
    yield_pct : array_like
        Finished weight with its salt, % of the raw weight; broadcast.

    Returns
    -------
    numpy.ndarray of float64
        Salt, g to 100 g of raw fish; the broadcast shape.

    Raises
    ------
    OutOfRange
        If a figure is outside its range, or no water would be left.

    Notes
    -----
    A necessary condition: fish that takes up less cannot reach it. Ignores the salt of
    the flesh itself (0.1 to 0.3 %), so it errs towards more salt; with drip it errs low.
    Source: balance of masses.

    Examples
    --------
    >>> round(float(salt_to_keep_pct(3.5, 71.6, 80)), 3)
    1.806
    """
    aim = within("water phase salt", water_phase_salt, 0, _STRONGEST, "%")
    raw = within("moisture", raw_moisture_pct, 0, _WHOLE_PCT, "%")
    kept = within("yield", yield_pct, 0, _MOST_YIELD, "%")
    together = raw - _WHOLE_PCT + kept
    if (together <= 0).any():
        raise OutOfRange("yield", f"{kept.min():g} %", "more than the dry matter")
    return aim / _WHOLE_PCT * together


def mean_for_share(lowest: float, *, spread_frac: float, share: float) -> float:
    """Return the mean that keeps a share of all pieces above a least value.

    Parameters
    ----------
    lowest : float
        Least value, any unit, 0 or more.
    spread_frac : float
        Coefficient of variation between pieces, 0 to 0.4.
    share : float
        Share of pieces that is to lie above, 0.5 to 0.9995.

    Returns
    -------
    float
        Mean to aim at, in the same unit.

    Raises
    ------
    OutOfRange
        If a figure is outside its range, or no mean is high enough.

    Notes
    -----
    Presumes a normal quantity and a spread that is known; one learned from few pieces
    needs more: see ``tolerance.lower_bound``. Errs low where the spread is guessed low.
    Source: definition of the normal distribution.

    Examples
    --------
    >>> round(mean_for_share(3.5, spread_frac=0.10, share=0.95), 2)
    4.19
    """
    least = float(within("least value", lowest, 0, float("inf"), ""))
    spread = float(within("spread between pieces", spread_frac, 0, _WIDEST_SPREAD, ""))
    part = float(within("share of pieces", share, _LEAST_SHARE, _MOST_SHARE, ""))
    left = 1 - NormalDist().inv_cdf(part) * spread
    if left <= 0:
        raise OutOfRange("spread between pieces", f"{spread:g}", "smaller than that")
    return least / left


_STRONGEST = 26.0  # own figure, %: nearly saturated
_MOST_YIELD = 125.0  # own figure, %: fish in weak brine gains weight
