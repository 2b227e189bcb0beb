"""Heat going into or out of a slab: the middle of a fillet in air of one temperature.

For planning: nothing evaporates, the air does not change, both faces are open. What
counts is measured in the food.
"""

import math

import numpy as np

from safety.errors import OutOfRange
from safety.science.ranges import Floats, above_zero, within

_TERMS = 60
_HALVINGS = 60
_MOST_BIOT, _MOST_FOURIER = 1e9, 1e4
_S_PER_MIN = 60.0
_INFINITE = math.inf
CENTRE, SURFACE = 0.0, 1.0
_LN10 = math.log(10.0)


def biot(surface_w: float, half_thickness_m: float, conductivity_w: float) -> float:
    """Return how hard heat finds it to get through the food beside into it.

    Parameters
    ----------
    surface_w : float
        Heat from the air to the surface, W/(m² K), above 0.
    half_thickness_m : float
        From a face to the middle, m, above 0.
    conductivity_w : float
        Conductivity of the food, W/(m K), above 0.

    Returns
    -------
    float
        Without a unit. Errs in no direction.

    Raises
    ------
    OutOfRange
        If an argument is not above 0.

    Examples
    --------
    >>> round(biot(9, 0.01, 0.45), 2)
    0.2
    """
    through = above_zero("half the thickness", half_thickness_m, "m")
    carried = above_zero("conductivity", conductivity_w, "W/(m K)")
    return above_zero("heat to the surface", surface_w, "W/(m² K)") * through / carried


def roots(biot_number: float, count: int = 1) -> Floats:
    """Return the first solutions of ``x tan x = Bi``.

    Parameters
    ----------
    biot_number : float
        Above 0 to 1e9.
    count : int
        How many.

    Returns
    -------
    numpy.ndarray of float64, shape (count,)
        Radians, by halving, to the last digits of a float. Errs in no direction.

    Raises
    ------
    OutOfRange
        If the number of Biot is outside its range.

    Examples
    --------
    >>> round(float(roots(1.0)[0]), 4)
    0.8603
    """
    bi = above_zero("number of Biot", biot_number, "")
    within("number of Biot", bi, 0.0, _MOST_BIOT, "")
    low = np.arange(count) * np.pi
    high = low + np.pi / 2
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        is_small = middle * np.abs(np.sin(middle)) < bi * np.abs(np.cos(middle))
        low, high = np.where(is_small, middle, low), np.where(is_small, high, middle)
    return np.asarray((low + high) / 2)


def one_term(biot_number: float) -> tuple[float, float]:
    """Return root and factor of the first term, which holds once the heat is inside.

    Parameters
    ----------
    biot_number : float
        Above 0 to 1e9.

    Returns
    -------
    tuple of float
        Root, radians, and the factor of the middle, without a unit.

    Raises
    ------
    OutOfRange
        If the number of Biot is outside its range.

    Notes
    -----
    Good to 2 % of the first difference from a Fourier number of 0.2 on; before that the
    middle seems to move too late. `left` adds all terms.
    Source: textbooks of heat transfer; ASHRAE Handbook, Refrigeration, chapter 10.

    Examples
    --------
    >>> root, factor = one_term(0.2)
    >>> round(root, 4), round(factor, 4)
    (0.4328, 1.0311)
    """
    root = roots(biot_number)
    return float(root[0]), float(_factors(root)[0])


def left(biot_number: float, fourier: float, *, place: float = CENTRE) -> float:
    """Return how much of the difference to the air is left at a place of a slab.

    Parameters
    ----------
    biot_number : float
        Above 0 to 1e9.
    fourier : float
        Diffusivity times time over the square of half the thickness; 0 to 1e4.
    place : float
        From the middle, 0, to a face, 1.

    Returns
    -------
    float
        (air - food) / (air - food at the start), 0 to 1.

    Raises
    ------
    OutOfRange
        If an argument is outside its range.

    Notes
    -----
    Sixty terms; right to 1e-6 from a Fourier number of 0.001 on. The air stays as it is
    and nothing evaporates: heating errs to too fast.
    Source: textbooks of heat transfer.

    Examples
    --------
    >>> round(left(0.2, 5.085, place=SURFACE), 4)
    0.361
    """
    at = float(within("Fourier number", fourier, 0.0, _MOST_FOURIER, ""))
    where = float(within("place", place, CENTRE, SURFACE, ""))
    if at == 0:
        return 1.0
    every = roots(biot_number, _TERMS)
    terms = _factors(every) * np.exp(-(every**2) * at) * np.cos(every * where)
    return float(np.clip(np.sum(terms), 0.0, 1.0))


def minutes_until(
    target_c: float,
    *,
    start_c: float,
    air_c: float,
    biot_number: float,
    half_thickness_m: float,
    diffusivity: float,
    place: float = CENTRE,
) -> float:
    """Return after how many minutes a place of a slab has a temperature.

    Parameters
    ----------
    target_c, start_c, air_c : float
        Temperature looked for, at the start throughout, and of the air, °C; the first
        between the other two.
    biot_number : float
        Above 0 to 1e9.
    half_thickness_m : float
        From a face to the middle, m.
    diffusivity : float
        How fast heat spreads in the food, m²/s.
    place : float
        From the middle, 0, to a face, 1.

    Returns
    -------
    float
        Minutes.

    Raises
    ------
    OutOfRange
        If the target does not lie between start and air: it is never reached there.

    Notes
    -----
    Errs as `left` does: heating takes longer where the surface dries, cooling is faster.
    Source: as there.

    Examples
    --------
    >>> minutes = minutes_until(
    ...     2, start_c=25, air_c=-11, biot_number=0.2, half_thickness_m=0.01,
    ...     diffusivity=0.91e-7, place=SURFACE,
    ... )
    >>> round(minutes, 1)
    93.1
    """
    within("temperature", [target_c, start_c, air_c], -_INFINITE, _INFINITE, "°C")
    through = above_zero("half the thickness", half_thickness_m, "m")
    spread = above_zero("diffusivity", diffusivity, "m²/s")
    share = (air_c - target_c) / (air_c - start_c) if air_c != start_c else 1.0
    if not 0 < share <= 1:
        raise OutOfRange(
            "the temperature looked for",
            f"{target_c:g} °C",
            f"between {start_c:g} °C at the start and {air_c:g} °C of the air",
        )
    low, high = 0.0, 1.0
    while left(biot_number, high, place=place) > share:
        low, high = high, 2 * high
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        is_early = left(biot_number, middle, place=place) > share
        low, high = (middle, high) if is_early else (low, middle)
    return high * through**2 / spread / _S_PER_MIN


def minutes_on_line(
    target_c: float, *, start_c: float, air_c: float, decade_min: float, lag: float
) -> float:
    """Return the minutes to a temperature along the straight part of a heating curve.

    Parameters
    ----------
    target_c, start_c, air_c : float
        Temperature looked for, at the start, and of the air, °C.
    decade_min : float
        Minutes in which the difference to the air falls to a tenth, above 0.
    lag : float
        By how much the straight line begins above the difference at the start, above 0.

    Returns
    -------
    float
        Minutes.

    Raises
    ------
    OutOfRange
        If the target does not lie between start and air, or is reached before the line
        begins.

    Notes
    -----
    Only while the air stays and the surface gives off no water: then it errs to too
    fast. Source: ASHRAE Handbook, Refrigeration, equations of heating time.

    Examples
    --------
    >>> round(
    ...     minutes_on_line(62.8, start_c=5, air_c=80, decade_min=130, lag=1.12), 1
    ... )
    89.5
    """
    decade = above_zero("time of a decade", decade_min, "min")
    factor = above_zero("lag", lag, "")
    share = (air_c - target_c) / (air_c - start_c) if air_c != start_c else math.inf
    if not 0 < share <= min(1.0, factor):
        raise OutOfRange("the temperature looked for", f"{target_c:g} °C", "on the way")
    return decade * math.log(factor / share) / _LN10


def _factors(every: Floats) -> Floats:
    return np.asarray(2 * np.sin(every) / (every + np.sin(every) * np.cos(every)))
