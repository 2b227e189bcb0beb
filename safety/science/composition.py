"""How dense a food is and how it takes up and carries heat, by what it is made of.

From the components' own figures, for planning: a table's composition is only a default,
for fish of one kind differ in fat by a factor of four.
"""

from dataclasses import dataclass
from typing import Any

from safety.errors import OutOfRange
from safety.science.ranges import within
from safety.science.sourced import citation, load

_WHOLE_PCT = 100.0
_SLACK = 5.0  # own figure: printed compositions do not add up exactly
_J_PER_KJ = 1000.0
COMPONENTS = ("water", "protein", "fat", "carbohydrate", "ash")


@dataclass(frozen=True, slots=True)
class Thermal:
    """Density, kg/m³; heat, J/(kg K); conductivity along and across layers, W/(m K)."""

    density: float
    heat: float
    conductivity: float
    conductivity_across: float

    @property
    def diffusivity(self) -> float:
        """How fast heat spreads, m²/s."""
        return self.conductivity / (self.density * self.heat)


def source() -> str:
    """Return where the components' figures come from.

    Returns
    -------
    str
        The citation. Errs in no direction.

    Examples
    --------
    >>> source().startswith("ASHRAE")
    True
    """
    return citation(load("thermal")["components"])


def thermal(
    temperature_c: float,
    *,
    water_pct: float,
    protein_pct: float = 0.0,
    fat_pct: float = 0.0,
    carbohydrate_pct: float = 0.0,
    ash_pct: float = 0.0,
) -> Thermal:
    """Return how a food takes up and carries heat, unfrozen.

    Parameters
    ----------
    temperature_c : float
        Mean temperature of the food, °C, 0 to 150.
    water_pct, protein_pct, fat_pct, carbohydrate_pct, ash_pct : float
        Its composition, % by weight; together 95 to 105, and taken as shares of their
        sum.

    Returns
    -------
    Thermal
        Conductivity with the components side by side, and one after another, which is
        20 to 30 % lower; flesh lies between. The first makes heating and cooling too
        fast.

    Raises
    ------
    OutOfRange
        If the temperature lies outside, a share is no percentage, or the shares do not
        make up the food.

    Notes
    -----
    Density by volumes, heat by weights. The heat of water is about 1 % below the paper's.
    Source: ASHRAE Handbook, Refrigeration, after Choi and Okos 1986.

    Examples
    --------
    >>> fish = thermal(20, water_pct=71.6, protein_pct=19.9, fat_pct=10.4, ash_pct=1.2)
    >>> round(fish.density), round(fish.heat, -1), round(fish.conductivity, 2)
    (1043, 3480.0, 0.49)
    """
    told = load("thermal")["components"]
    food = float(within("temperature", temperature_c, 0.0, told["highest_c"], "°C"))
    parts = (water_pct, protein_pct, fat_pct, carbohydrate_pct, ash_pct)
    given = dict(zip(COMPONENTS, parts, strict=True))
    for name, share in given.items():
        within(f"share of {name}", share, 0.0, _WHOLE_PCT, "%")
    whole = sum(parts)
    if abs(whole - _WHOLE_PCT) > _SLACK:
        raise OutOfRange("the parts of the food together", f"{whole:g} %", "near 100 %")
    shares = {name: part / whole for name, part in given.items() if part > 0}
    of = {
        kind: {name: _at(told[name], kind, food) for name in shares}
        for kind in ("density", "heat", "conductivity")
    }
    density = 1 / sum(share / of["density"][name] for name, share in shares.items())
    volumes = {
        name: share * density / of["density"][name] for name, share in shares.items()
    }
    carried = of["conductivity"]
    return Thermal(
        density=density,
        heat=sum(share * of["heat"][name] for name, share in shares.items()),
        conductivity=sum(part * carried[name] for name, part in volumes.items()),
        conductivity_across=1
        / sum(part / carried[name] for name, part in volumes.items()),
    )


def simple_heat(water_pct: float) -> float:
    """Return the heat that a food takes up, by its water alone, above freezing.

    Parameters
    ----------
    water_pct : float
        Water, % by weight, 0 to 100.

    Returns
    -------
    float
        kJ/(kg K).

    Raises
    ------
    OutOfRange
        If it is no percentage.

    Notes
    -----
    Counts fat like any other solid, and so errs low for fat fish: heating seems too fast.
    Source: Earle, Unit Operations in Food Processing, Appendix 7.

    Examples
    --------
    >>> round(simple_heat(70), 3)
    3.185
    """
    told = load("thermal")["simple"]
    water = float(within("water", water_pct, 0.0, _WHOLE_PCT, "%")) / _WHOLE_PCT
    return float(
        told["heat_of_water_kj"] * water + told["heat_of_solids_kj"] * (1 - water)
    )


def simple_latent_heat(water_pct: float) -> float:
    """Return the heat that a food gives off while it freezes, by its water alone.

    Parameters
    ----------
    water_pct : float
        Water, % by weight, 0 to 100.

    Returns
    -------
    float
        kJ/kg.

    Raises
    ------
    OutOfRange
        If it is no percentage.

    Notes
    -----
    Takes all water for frozen, and so errs high: some stays liquid far below freezing.
    Source: Earle, Unit Operations in Food Processing, Appendix 7.

    Examples
    --------
    >>> round(simple_latent_heat(70), 1)
    234.5
    """
    water = float(within("water", water_pct, 0.0, _WHOLE_PCT, "%")) / _WHOLE_PCT
    return float(load("thermal")["simple"]["latent_kj"] * water)


def _at(component: Any, kind: str, temperature_c: float) -> float:
    constant, slope, square = component[kind]
    return float(constant + slope * temperature_c + square * temperature_c**2)
