"""Cures: salt shared between fish and brine, dry cures, pumping, and nitrite that goes in."""

import numpy as np
from numpy.typing import ArrayLike

from safety.errors import OutOfRange
from safety.science.ranges import Floats, above_zero, within
from safety.science.sourced import load

_WHOLE_PCT = 100
_MOST_TIMES = 1000.0  # own figure: more brine than this to the fish is a large bath


def shared_water_phase_salt_pct(
    brine_pct: ArrayLike, brine_per_fish: ArrayLike, moisture_pct: ArrayLike
) -> Floats:
    """Return the water phase salt once fish and brine hold equally strong water.

    Parameters
    ----------
    brine_pct : array_like
        Salt in the brine at the start, % of its weight, 0 to 28.
    brine_per_fish : array_like
        Weight of brine to weight of fish, 0 to 1000; broadcast.
    moisture_pct : array_like
        Water in the raw fish, % of its weight, 1 to 100; broadcast.

    Returns
    -------
    numpy.ndarray of float64
        Water phase salt of the fish, and strength of the brine, %; the broadcast shape.

    Raises
    ------
    OutOfRange
        If a figure is outside its range.

    Notes
    -----
    Salt over all the water that the two share. An upper bound before drying: fish out of
    the brine sooner holds less. Measured in two trials 2 and 3 % (relative) below it.
    Source: balance of masses; trials of Medina-Vivanco and others with tilapia.

    Examples
    --------
    >>> round(float(shared_water_phase_salt_pct(10, 2, 70)), 2)
    7.41
    """
    most = max(load("brine")["saturation"]["salt_pct"])
    strength = within("salt in the brine", brine_pct, 0, most, "%")
    times = within("brine to fish", brine_per_fish, 0, _MOST_TIMES, "times")
    water = within("moisture", moisture_pct, 1, _WHOLE_PCT, "%") / _WHOLE_PCT
    return strength * times / (times + water)


def dry_cure_water_phase_salt_pct(
    salt_per_100_g: ArrayLike, moisture_pct: ArrayLike
) -> Floats:
    """Return the water phase salt of a dry cure that is taken up whole.

    Parameters
    ----------
    salt_per_100_g : array_like
        Salt rubbed in, g to 100 g of raw fish or meat, 0 to 40.
    moisture_pct : array_like
        Water in it, % of its weight, 1 to 100; broadcast.

    Returns
    -------
    numpy.ndarray of float64
        Water phase salt, %; the broadcast shape.

    Raises
    ------
    OutOfRange
        If a figure is outside its range, or more salt than dissolves in that water.

    Notes
    -----
    Nothing drips and nothing dries: an upper bound where brine is poured off, for salt
    goes with it. Source: balance of masses.

    Examples
    --------
    >>> round(float(dry_cure_water_phase_salt_pct(2.5, 71.6)), 2)
    3.37
    """
    salt = within("salt to 100 g", salt_per_100_g, 0, _MOST_DRY, "g")
    water = within("moisture", moisture_pct, 1, _WHOLE_PCT, "%")
    most = max(load("brine")["saturation"]["salt_pct"])
    return within("water phase salt", _WHOLE_PCT * salt / (salt + water), 0, most, "%")


def salt_for_dry_cure_g(raw_g: float, salt_pct: float) -> float:
    """Return the grams of salt, sugar or cure for an equilibrium cure.

    Parameters
    ----------
    raw_g : float
        Weight of the raw fish or meat (with the water, where it is cured in water), g.
    salt_pct : float
        Aimed at, % of that weight, 0 to 40.

    Returns
    -------
    float
        g; arithmetic, so it errs in no direction. Of the finished weight it is less:
        2.5 % of raw fish is 2.44 % of fish with its salt.

    Raises
    ------
    OutOfRange
        If a figure is outside its range.

    Notes
    -----
    Source: definition.

    Examples
    --------
    >>> salt_for_dry_cure_g(4000, 2.5)
    100.0
    """
    weight = float(within("raw weight", raw_g, 0, np.inf, "g"))
    return weight * float(within("salt", salt_pct, 0, _MOST_DRY, "%")) / _WHOLE_PCT


def pumped_salt_pct(pump_pct: ArrayLike, brine_pct: ArrayLike) -> Floats:
    """Return the salt in meat or fish that was pumped, of its pumped weight.

    Parameters
    ----------
    pump_pct : array_like
        Weight gained by pumping, % of the green weight, 0 to 100.
    brine_pct : array_like
        Salt (or sugar) in the pickle, % of its weight, 0 to 100; broadcast.

    Returns
    -------
    numpy.ndarray of float64
        % of the pumped weight; the broadcast shape.

    Raises
    ------
    OutOfRange
        If a figure is outside its range.

    Notes
    -----
    Errs high where pickle drips out again. Source: balance of masses.

    Examples
    --------
    >>> round(float(pumped_salt_pct(10, 22)), 2)
    2.0
    """
    pump = within("pump", pump_pct, 0, _WHOLE_PCT, "%")
    strength = within("salt in the pickle", brine_pct, 0, _WHOLE_PCT, "%")
    return pump * strength / (_WHOLE_PCT + pump)


def pickle_pct_for_pump(salt_pct: float, pump_pct: float) -> float:
    """Return how strong a pickle must be for the salt aimed at in pumped weight.

    Parameters
    ----------
    salt_pct : float
        Aimed at, % of the pumped weight, 0 to 100.
    pump_pct : float
        Weight gained by pumping, % of the green weight, above 0 to 100.

    Returns
    -------
    float
        Salt in the pickle, % of its weight. The inverse of ``pumped_salt_pct``.

    Raises
    ------
    OutOfRange
        If no pickle is that strong, or a figure is outside its range.

    Notes
    -----
    Errs low where pickle drips out again. Source: balance of masses.

    Examples
    --------
    >>> round(pickle_pct_for_pump(2, 10), 6)
    22.0
    """
    pump = above_zero("pump", float(within("pump", pump_pct, 0, _WHOLE_PCT, "%")), "%")
    aim = float(within("salt aimed at", salt_pct, 0, _WHOLE_PCT, "%"))
    needed = aim * (_WHOLE_PCT + pump) / pump
    most = max(load("brine")["saturation"]["salt_pct"])
    return float(within("salt in the pickle", needed, 0, most, "%"))


def nitrite_ppm_pumped(
    cure_weight: float, nitrite_pct: float, pickle_weight: float, pump_frac: float
) -> float:
    """Return the nitrite that pumping, or a pick-up by immersion, puts in.

    Parameters
    ----------
    cure_weight, pickle_weight : float
        Cure, and the whole pickle that it is in, in one unit of weight.
    nitrite_pct : float
        Sodium nitrite in the cure, % of its weight, above 0 to 100.
    pump_frac : float
        Weight gained, of the green weight, as a decimal: 0.10 for 10 %; 0 to 1. The
        handbook prints "% pump" but reckons with the decimal.

    Returns
    -------
    float
        Sodium nitrite going in, ppm of the green weight.

    Raises
    ------
    OutOfRange
        If a figure is outside its range: 10 for 10 % is refused.

    Notes
    -----
    What goes in, not what is left. Source: Processing Inspectors' Calculations Handbook,
    1995; immersion method 1 is the same with the pick-up.

    Examples
    --------
    >>> round(nitrite_ppm_pumped(3, 6.25, 8.33 * 16, 0.10), 1)
    140.7
    """
    gain = float(within("pump as a decimal", pump_frac, 0, 1, ""))
    pickle = above_zero("pickle", pickle_weight, "")
    nitrite = _nitrite(cure_weight, nitrite_pct, pickle)
    return nitrite * gain * _million() / pickle


def nitrite_ppm_shared(
    cure_weight: float, nitrite_pct: float, pickle_weight: float, green_weight: float
) -> float:
    """Return the nitrite that goes in when meat and pickle reach equal strength.

    Parameters
    ----------
    cure_weight, pickle_weight, green_weight : float
        Cure, the whole pickle that it is in, and the meat or fish, in one unit of weight.
        For a dry cure, or a mince, the pickle weighs 0.
    nitrite_pct : float
        Sodium nitrite in the cure, % of its weight, above 0 to 100.

    Returns
    -------
    float
        Sodium nitrite going in, ppm of the weight that shares it.

    Raises
    ------
    OutOfRange
        If a figure is outside its range.

    Notes
    -----
    What goes in, not what is left; needs days. With a pickle of 0 it is the formula for
    dry-cured and comminuted products. Source: Processing Inspectors' Calculations
    Handbook, 1995, immersion method 2.

    Examples
    --------
    >>> round(nitrite_ppm_shared(1, 6.25, 160, 320), 1)
    130.2
    """
    green = above_zero("green weight", green_weight, "")
    pickle = float(within("pickle", pickle_weight, 0, np.inf, ""))
    within("cure", cure_weight, 0, pickle or green, "")
    nitrite = _nitrite(cure_weight, nitrite_pct, pickle + green)
    return nitrite * _million() / (green + pickle)


def cure_for_nitrite_g(ppm: float, nitrite_pct: float, green_g: float) -> float:
    """Return the cure that brings a level of nitrite into meat or fish, dry or minced.

    Parameters
    ----------
    ppm : float
        Sodium nitrite aimed at, ppm of the green weight, 0 to 1000.
    nitrite_pct : float
        Sodium nitrite in the cure, % of its weight, above 0 to 100.
    green_g : float
        Weight of the meat or fish, g.

    Returns
    -------
    float
        Cure, g. The inverse of ``nitrite_ppm_shared`` without a pickle; round it down.

    Raises
    ------
    OutOfRange
        If a figure is outside its range.

    Notes
    -----
    Errs in no direction. Source: Processing Inspectors' Calculations Handbook, 1995.

    Examples
    --------
    >>> round(cure_for_nitrite_g(156, 6.25, 1000), 3)
    2.496
    """
    aim = float(within("nitrite", ppm, 0, _MOST_NITRITE, "ppm"))
    share = above_zero("nitrite in the cure", nitrite_pct, "%")
    within("nitrite in the cure", share, 0, _WHOLE_PCT, "%")
    return aim / _million() * green_g * _WHOLE_PCT / share


def pickle_salt_pct(
    salt_weight: float, cure_weight: float, nitrite_pct: float, pickle_weight: float
) -> float:
    """Return the salt in a pickle, the salt of its cure counted.

    Parameters
    ----------
    salt_weight, cure_weight, pickle_weight : float
        Salt, cure and the whole pickle, in one unit of weight.
    nitrite_pct : float
        Sodium nitrite in the cure, % of its weight; the rest counts as salt.

    Returns
    -------
    float
        Salt, % of the pickle's weight. Errs high where the cure holds sugar or colour.

    Raises
    ------
    OutOfRange
        If a figure is outside its range, or there is more salt than pickle.

    Notes
    -----
    Source: balance of masses.

    Examples
    --------
    >>> round(pickle_salt_pct(110, 32, 5.88, 1266), 2)
    11.07
    """
    pickle = above_zero("pickle", pickle_weight, "")
    salt = float(within("salt", salt_weight, 0, pickle, ""))
    cure = float(within("cure", cure_weight, 0, pickle - salt, ""))
    share = float(within("nitrite in the cure", nitrite_pct, 0, _WHOLE_PCT, "%"))
    return _WHOLE_PCT * (salt + cure * (1 - share / _WHOLE_PCT)) / pickle


def _nitrite(cure_weight: float, nitrite_pct: float, most: float) -> float:
    if not 0 < nitrite_pct <= _WHOLE_PCT:
        raise OutOfRange(
            "nitrite in the cure", f"{nitrite_pct:g} %", "above 0 to 100 %"
        )
    return float(within("cure", cure_weight, 0, most, "")) * nitrite_pct / _WHOLE_PCT


def _million() -> float:
    return float(load("curing")["inspectors"]["parts_in_million"])


_MOST_DRY = 40.0  # own figure: g to 100 g; more salt than any fish takes up
_MOST_NITRITE = 1000.0  # own figure, ppm: far above every published level
