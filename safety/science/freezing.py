"""How long freezing takes, and at what temperature salty ice melts: for planning.

A clock that counts days of freezing against parasites starts when the middle is frozen,
and that is measured.
"""

from collections.abc import Mapping

from safety.errors import OutOfRange, UnknownName
from safety.science.ranges import above_zero, within
from safety.science.sourced import load

_S_PER_H = 3600.0
_J_PER_KJ = 1000.0
_WHOLE_PCT = 100.0


def plank_h(
    shape: str,
    *,
    thickness_m: float,
    surface_w: float,
    conductivity_w: float,
    density: float,
    latent_kj: float,
    freezing_c: float,
    air_c: float,
) -> float:
    """Return how long a food takes to freeze through, the change of state alone.

    Parameters
    ----------
    shape : str
        ``slab``, ``cylinder`` or ``sphere``.
    thickness_m : float
        Whole thickness or diameter, m, above 0.
    surface_w : float
        Heat from the air to the surface, W/(m² K), above 0.
    conductivity_w : float
        Conductivity of the frozen food, W/(m K), above 0.
    density : float
        kg/m³, above 0.
    latent_kj : float
        Heat given off in freezing, kJ/kg, above 0.
    freezing_c, air_c : float
        Where it begins to freeze, and of the air, °C; the air colder.

    Returns
    -------
    float
        Hours.

    Raises
    ------
    OutOfRange
        If an argument is not above 0, or the air is not colder than freezing.
    UnknownName
        If there is no such shape.

    Notes
    -----
    Without cooling before and after: it errs to too short, for fish by 35 to 45 % of
    itself (`longer`).
    Source: Plank's equation, as printed in textbooks of food engineering.

    Examples
    --------
    >>> hours = plank_h(
    ...     "sphere", thickness_m=0.07, surface_w=50, conductivity_w=1.2, density=1000,
    ...     latent_kj=250, freezing_c=-1.25, air_c=-40,
    ... )
    >>> round(hours * 3600)
    2603
    """
    shapes: Mapping[str, list[float]] = {
        name: factors
        for name, factors in load("thermal")["plank"].items()
        if isinstance(factors, list)
    }
    if shape not in shapes:
        raise UnknownName("shape", shape, tuple(shapes))
    if not air_c < freezing_c:
        raise OutOfRange("air", f"{air_c:g} °C", f"colder than {freezing_c:g} °C")
    thick = above_zero("thickness", thickness_m, "m")
    to_surface = above_zero("heat to the surface", surface_w, "W/(m² K)")
    carried = above_zero("conductivity", conductivity_w, "W/(m K)")
    heat = above_zero("density", density, "kg/m³") * _J_PER_KJ
    heat *= above_zero("heat of freezing", latent_kj, "kJ/kg")
    outside, inside = shapes[shape]
    resistance = outside * thick / to_surface + inside * thick**2 / carried
    return heat / (freezing_c - air_c) * resistance / _S_PER_H


def longer() -> tuple[float, float]:
    """Return how many times as long as by Plank fish takes, with cooling and tempering.

    Returns
    -------
    tuple of float
        The least and the most of the slabs compared. Errs either way outside them.

    Examples
    --------
    >>> longer()
    (1.35, 1.45)
    """
    told = load("thermal")["freezing"]
    return float(told["longer_from"]), float(told["longer_to"])


def latent_heat_kj(water_pct: float) -> float:
    """Return the heat that a food gives off in freezing, all its water counted.

    Parameters
    ----------
    water_pct : float
        Water, % by weight, 0 to 100.

    Returns
    -------
    float
        kJ/kg. Errs high, for some water stays liquid: freezing seems to take longer.

    Raises
    ------
    OutOfRange
        If it is no percentage.

    Examples
    --------
    >>> round(latent_heat_kj(73), 1)
    243.8
    """
    water = float(within("water", water_pct, 0.0, _WHOLE_PCT, "%")) / _WHOLE_PCT
    return float(load("thermal")["freezing"]["latent_of_water_kj"]) * water


def ice_point_c(salt_pct: float) -> float:
    """Return the temperature of a slush of ice whose water holds salt, for printed salts.

    Parameters
    ----------
    salt_pct : float
        Salt in the water, % by weight: 0, 0.1 or 1, as the handbook prints them.

    Returns
    -------
    float
        °C. Errs in no direction; nothing is interpolated. A thermometer that reads right
        in salty slush seems to read low.

    Raises
    ------
    OutOfRange
        If that salt is not printed.

    Examples
    --------
    >>> ice_point_c(1.0)
    -0.59
    """
    told = load("thermal")["ice"]
    printed = dict(zip(told["salt_pct"], told["freezing_c"], strict=True))
    if salt_pct not in printed:
        rows = ", ".join(f"{one:g}" for one in printed)
        raise OutOfRange("salt in the slush", f"{salt_pct:g} %", f"of {rows} %")
    return float(printed[salt_pct])
