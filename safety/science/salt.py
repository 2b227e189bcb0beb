"""Salt in a food and in its water, and the water activity that it hints at.

All percentages are by weight of the food. Estimates for planning and checking: water
phase salt is judged exactly by the judge, from a laboratory's figures.
"""

import numpy as np
from numpy.typing import ArrayLike

from safety.errors import OutOfRange
from safety.science.ranges import Floats, above_zero, within

_WHOLE_PCT = 100.0


def salt_pct_from_sodium_pct(
    sodium_pct: ArrayLike, *, salt_per_sodium: float
) -> Floats:
    """Return the salt that holds all the sodium of a food.

    Parameters
    ----------
    sodium_pct : array_like
        Sodium, % of the food's weight (g per 100 g), 0 to 100; any shape.
    salt_per_sodium : float
        Weight of sodium chloride that holds a unit weight of sodium.

    Returns
    -------
    numpy.ndarray of float64
        Salt, % of the food's weight; the same shape.

    Raises
    ------
    OutOfRange
        If a value is no percentage, or the salt comes out above the whole.

    Notes
    -----
    Counts sodium of the flesh itself and of other additives as salt, so it errs towards
    more salt than there is: never proof that a least salt is reached.
    Source: the molar masses of sodium and chlorine.

    Examples
    --------
    >>> round(float(salt_pct_from_sodium_pct(1.019, salt_per_sodium=2.5421)), 4)
    2.5904
    """
    sodium = within("sodium", sodium_pct, 0.0, _WHOLE_PCT, "%")
    factor = above_zero("salt to a part of sodium", salt_per_sodium, "parts")
    return within("salt", sodium * factor, 0.0, _WHOLE_PCT, "%")


def water_phase_salt_pct(salt_pct: ArrayLike, moisture_pct: ArrayLike) -> Floats:
    """Return the salt in the water of a food: salt over salt and water.

    Parameters
    ----------
    salt_pct, moisture_pct : array_like
        Salt and water, % of the food's weight; broadcast against each other. Together
        at most 100, and some water.

    Returns
    -------
    numpy.ndarray of float64
        Water phase salt, %; the broadcast shape.

    Raises
    ------
    OutOfRange
        If a figure is no percentage, the two are more than the food, or it has no water.

    Notes
    -----
    Arithmetic, so it errs in no direction; but where it comes out above a saturated
    brine, part of the salt is not dissolved, and water activity says more.
    Source: FDA, Fish and Fishery Products Hazards and Controls Guidance, 4th edition,
    Chapter 13.

    Examples
    --------
    >>> round(float(water_phase_salt_pct(2.5, 70.0)), 4)
    3.4483
    """
    salt = within("salt", salt_pct, 0.0, _WHOLE_PCT, "%")
    moisture = within("moisture", moisture_pct, 0.0, _WHOLE_PCT, "%")
    together = within("salt and moisture together", salt + moisture, 0, _WHOLE_PCT, "%")
    if (moisture == 0).any():
        raise OutOfRange("moisture", "0 %", "above 0 %")
    return _WHOLE_PCT * salt / together


def salt_pct_for_water_phase_salt(
    water_phase_salt: ArrayLike, moisture_pct: ArrayLike
) -> Floats:
    """Return the salt a food of known moisture needs for a water phase salt.

    Parameters
    ----------
    water_phase_salt : array_like
        Aimed at, %, from 0 to below 100; broadcast against ``moisture_pct``.
    moisture_pct : array_like
        Water in the finished food, % of its weight.

    Returns
    -------
    numpy.ndarray of float64
        Salt, % of the finished food's weight; the broadcast shape. Round it up.

    Raises
    ------
    OutOfRange
        If a figure is no percentage, or so much salt does not fit beside the water.

    Notes
    -----
    The inverse of ``water_phase_salt_pct``, with the same source; errs in no direction.

    Examples
    --------
    >>> round(float(salt_pct_for_water_phase_salt(3.5, 65)), 3)
    2.358
    """
    aim = within("water phase salt", water_phase_salt, 0.0, _WHOLE_PCT, "%")
    moisture = within("moisture", moisture_pct, 0.0, _WHOLE_PCT, "%")
    if (aim == _WHOLE_PCT).any():
        raise OutOfRange("water phase salt", "100 %", "below 100 %")
    salt = aim * moisture / (_WHOLE_PCT - aim)
    within("salt and moisture together", salt + moisture, 0.0, _WHOLE_PCT, "%")
    return salt


def water_activity_from_water_phase_salt_pct(
    water_phase_salt: ArrayLike, *, linear: float, square: float, highest_pct: float
) -> Floats:
    """Return a hint of the water activity that salt alone gives the water of a food.

    Parameters
    ----------
    water_phase_salt : array_like
        Water phase salt, %, from 0 to ``highest_pct``; any shape.
    linear, square : float
        Coefficients of the fall of water activity, per % and per % squared.
    highest_pct : float
        Up to where the curve was checked, %.

    Returns
    -------
    numpy.ndarray of float64
        Water activity, a fraction; the same shape.

    Raises
    ------
    OutOfRange
        If a value lies outside the range in which the curve was checked.

    Notes
    -----
    ``1 - linear W - square W**2``. Leaves out everything but salt that binds water, so
    a food has a lower activity than this. Against activities computed for plain brine
    it is up to 0.001 too high at 25 °C up to 14 % (0.007 at 20 %), which is the safe way
    for a limit at most; at 4 °C up to 0.002 too low, which is not. A hint: it never
    stands for a measurement.
    Source of the form: Ross and Dalgaard 2004, after Resnik and Chirife 1988.

    Examples
    --------
    >>> round(
    ...     float(
    ...         water_activity_from_water_phase_salt_pct(
    ...             5, linear=0.0052471, square=0.00012206, highest_pct=14
    ...         )
    ...     ),
    ...     4,
    ... )
    0.9707
    """
    salt = within("water phase salt", water_phase_salt, 0.0, highest_pct, "%")
    return 1.0 - linear * salt - square * np.square(salt)
