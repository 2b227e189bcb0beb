"""How long a fillet takes to heat, to cool or to freeze: a range for planning.

The range covers what is not known: how well the air carries heat, and how long a wet
surface keeps the middle cool. What counts is measured in the thickest piece.
"""

import math
from collections.abc import Callable, Mapping
from typing import Any

from safety.errors import OutOfRange, UnknownName
from safety.science import composition
from safety.science.composition import Thermal, thermal
from safety.science.estimate import Estimate
from safety.science.freezing import latent_heat_kj, longer, plank_h
from safety.science.ranges import within
from safety.science.slab import biot, minutes_until
from safety.science.sourced import citation, load

_WHOLE_PCT = 100.0
_MM_PER_M = 1000.0
_CAVEAT = (
    "It can be wrong by a factor of two or more; places in one smoker or cooler differ. "
    "Read the thickest piece."
)


def surfaces() -> tuple[str, ...]:
    """Return the kinds of air and ice whose carrying of heat is known.

    Returns
    -------
    tuple of str
        Names for `surface`. Errs in no direction.

    Examples
    --------
    >>> "small-smoker" in surfaces()
    True
    """
    return tuple(load("thermal")["surface"]["w"])


def surface(name: str) -> tuple[float, float]:
    """Return how well a kind of air or ice carries heat to a surface.

    Parameters
    ----------
    name : str
        One of `surfaces`.

    Returns
    -------
    tuple of float
        The least and the most, W/(m² K): our own working values, radiation included.

    Raises
    ------
    UnknownName
        If there is no such kind.

    Examples
    --------
    >>> surface("small-smoker")
    (10.0, 18.0)
    """
    known = load("thermal")["surface"]["w"]
    if name not in known:
        raise UnknownName("kind of air", name, tuple(known))
    least, most = known[name]
    return float(least), float(most)


def fish(temperature_c: float, *, water_pct: float, fat_pct: float) -> Thermal:
    """Return how fish takes up and carries heat; what is neither water nor fat is protein.

    Parameters
    ----------
    temperature_c : float
        Mean temperature, °C, 0 to 150.
    water_pct, fat_pct : float
        % by weight; together at most 100.

    Returns
    -------
    Thermal
        Errs as `composition.thermal` does; counting ash as protein moves it by 1 %.

    Raises
    ------
    OutOfRange
        If a share is no percentage, or there is more than the food.

    Examples
    --------
    >>> round(fish(20, water_pct=72, fat_pct=8).conductivity, 2)
    0.5
    """
    rest = _WHOLE_PCT - water_pct - fat_pct
    within("what is neither water nor fat", rest, 0.0, _WHOLE_PCT, "%")
    return thermal(
        temperature_c, water_pct=water_pct, fat_pct=fat_pct, protein_pct=rest
    )


def heating_minutes(
    target_c: float,
    *,
    start_c: float,
    air_c: float,
    thickness_mm: float,
    air: str,
    water_pct: float,
    fat_pct: float,
) -> Estimate:
    """Return the minutes in which the middle of a slab has heated to a temperature.

    Parameters
    ----------
    target_c, start_c, air_c : float
        Temperature looked for, at the start throughout, and of the air, °C.
    thickness_mm : float
        Of the thickest piece, both faces open, mm, above 0.
    air : str
        One of `surfaces`.
    water_pct, fat_pct : float
        Of the fish, %.

    Returns
    -------
    Estimate
        Minutes. At the least with dry surfaces in air that carries heat well; at the
        most with a surface that dries slowly in air that carries it badly. It errs to
        too short where the door is opened or the load is large.

    Raises
    ------
    OutOfRange
        If the target does not lie between start and air, or an argument is no figure.
    UnknownName
        If there is no such air.

    Examples
    --------
    >>> time = heating_minutes(
    ...     62.8, start_c=5, air_c=80, thickness_mm=25, air="small-smoker",
    ...     water_pct=72, fat_pct=8,
    ... )
    >>> 60 < time.low < time.likely < time.high < 1000
    True
    """
    least, most = surface(air)
    minutes = _slab(target_c, start_c, air_c, thickness_mm, water_pct, fat_pct)
    told = load("thermal")["evaporation"]
    return Estimate(
        quantity="time until the middle is there",
        unit="min",
        low=minutes(most),
        likely=minutes(math.sqrt(least * most)) * told["likely"],
        high=minutes(least) * told["most"],
        sources=_sources(told),
        caveats=(
            "A surface that gives off water keeps the middle cool for hours.",
            _CAVEAT,
        ),
        is_thin=True,
    )


def cooling_minutes(
    target_c: float,
    *,
    start_c: float,
    air_c: float,
    thickness_mm: float,
    air: str,
    water_pct: float,
    fat_pct: float,
) -> Estimate:
    """Return the minutes in which the middle of a slab has cooled to a temperature.

    Parameters
    ----------
    target_c, start_c, air_c, thickness_mm, air, water_pct, fat_pct
        As for `heating_minutes`; the air colder than the target.

    Returns
    -------
    Estimate
        Minutes. A surface that gives off water cools faster; pieces that touch, boxes
        and a warm load cool slower, and there it errs to too short.

    Raises
    ------
    OutOfRange
        If the target does not lie between start and air, or an argument is no figure.
    UnknownName
        If there is no such air.

    Examples
    --------
    >>> time = cooling_minutes(
    ...     21.1, start_c=60, air_c=3.3, thickness_mm=25, air="fan-cooler",
    ...     water_pct=72, fat_pct=8,
    ... )
    >>> 50 < time.low < time.likely < time.high < 110
    True
    """
    least, most = surface(air)
    minutes = _slab(target_c, start_c, air_c, thickness_mm, water_pct, fat_pct)
    return Estimate(
        quantity="time until the middle is there",
        unit="min",
        low=minutes(most),
        likely=minutes(math.sqrt(least * most)),
        high=minutes(least),
        sources=_sources(),
        caveats=("Pieces that touch or lie in boxes cool slower.", _CAVEAT),
        is_thin=True,
    )


def freezing_hours(
    *, air_c: float, thickness_mm: float, air: str, water_pct: float, fat_pct: float
) -> Estimate:
    """Return the hours in which a slab of chilled fish is frozen through.

    Parameters
    ----------
    air_c, thickness_mm, air, water_pct, fat_pct
        As for `heating_minutes`; the air colder than the freezing point of fish.

    Returns
    -------
    Estimate
        Hours. It errs to too short for packed and stacked fish. A clock of days against
        parasites starts when the middle is measured to be frozen.

    Raises
    ------
    OutOfRange
        If the air does not freeze fish, or an argument is no figure.
    UnknownName
        If there is no such air.

    Examples
    --------
    >>> time = freezing_hours(
    ...     air_c=-20, thickness_mm=25, air="still-freezer", water_pct=72, fat_pct=8
    ... )
    >>> 6 < time.low < time.likely < time.high < 14
    True
    """
    least, most = surface(air)
    told = load("thermal")
    flesh = fish(0.0, water_pct=water_pct, fat_pct=fat_pct)

    def hours(surface_w: float) -> float:
        return plank_h(
            "slab",
            thickness_m=thickness_mm / _MM_PER_M,
            surface_w=surface_w,
            conductivity_w=told["freezing"]["frozen_conductivity_w"],
            density=flesh.density,
            latent_kj=latent_heat_kj(water_pct),
            freezing_c=told["fish"]["freezing_c"],
            air_c=air_c,
        )

    shortest, longest = longer()
    return Estimate(
        quantity="time until it is frozen through",
        unit="h",
        low=hours(most) * shortest,
        likely=hours(math.sqrt(least * most)) * math.sqrt(shortest * longest),
        high=hours(least) * longest,
        sources=(
            *(citation(told[name]) for name in ("plank", "fish", "freezing")),
            *_sources(),
        ),
        caveats=("Packed or stacked fish freezes slower.", _CAVEAT),
        is_thin=True,
    )


def _slab(
    target_c: float,
    start_c: float,
    air_c: float,
    thickness_mm: float,
    water_pct: float,
    fat_pct: float,
) -> Callable[[float], float]:
    """Return the minutes by how well the air carries heat, W/(m² K)."""
    if thickness_mm <= 0:
        raise OutOfRange("thickness", f"{thickness_mm:g} mm", "above 0")
    mean_c = max(0.0, (start_c + target_c) / 2)
    flesh = fish(mean_c, water_pct=water_pct, fat_pct=fat_pct)
    half_m = thickness_mm / _MM_PER_M / 2

    def minutes(surface_w: float) -> float:
        return minutes_until(
            target_c,
            start_c=start_c,
            air_c=air_c,
            biot_number=biot(surface_w, half_m, flesh.conductivity),
            half_thickness_m=half_m,
            diffusivity=flesh.diffusivity,
        )

    return minutes


def _sources(*also: Mapping[str, Any]) -> tuple[str, ...]:
    entries = [load("thermal")["surface"], *also]
    return (composition.source(), *(citation(one) for one in entries))
