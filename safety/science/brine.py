"""Brine of plain salt and water: its strength in every measure, density and freezing."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from safety.science.ranges import within
from safety.science.salometer import (
    degrees_salometer_from_salt_pct,
    salt_pct_from_degrees_salometer,
)
from safety.science.sourced import citation, load
from safety.science.tabulated import between, solve

_WHOLE_PCT = 100
_G_PER_KG = 1000
_LITRE_AT = 20.0  # own figure, °C: at which a litre of brine is reckoned


@dataclass(frozen=True, slots=True, kw_only=True)
class Brine:
    """One strength of plain brine in every measure; the names carry the units."""

    salt_pct: float
    degrees: float
    salt_g_per_kg_water: float
    salt_g_per_l_water: float
    salt_lb_per_us_gal_water: float
    salt_lb_per_imp_gal_water: float
    water_lb_per_us_gal_brine: float
    salt_g_per_l_brine: float
    brine_g_per_l: float
    specific_gravity: float


def figures() -> Mapping[str, Any]:
    """Return the published figures of brine, as their data file has them.

    Returns
    -------
    Mapping
        Tables by name, each with its publication. Errs in no direction.
    """
    return load("brine")


def sources() -> tuple[str, ...]:
    """Return what the strengths rest on, as citations.

    Returns
    -------
    tuple of str
        The chart of degrees, the gallons, densities and saturation.
    """
    told = figures()
    names = ("salometer", "gallons", "density", "saturation")
    return tuple(citation(told[name]) for name in names)


def saturated_pct(brine_c: float | None = None) -> float:
    """Return the salt in a saturated brine.

    Parameters
    ----------
    brine_c : float, optional
        Temperature of the brine, °C, 0 to 100; without it, that of the salometer's scale.

    Returns
    -------
    float
        Salt, % of the brine's weight, within 0.01; errs in no known direction.

    Raises
    ------
    OutOfRange
        If the temperature is outside the table.

    Notes
    -----
    Source: Kaufmann 1960; for the scale, the brine chart of salt makers.

    Examples
    --------
    >>> saturated_pct(25)
    26.48
    """
    if brine_c is None:
        return float(figures()["salometer"]["saturated_pct"])
    table = figures()["saturation"]
    rows = table["celsius"]
    warm = float(within("brine", brine_c, rows[0], rows[-1], "°C"))
    return float(between(rows, table["salt_pct"], warm))


def density_kg_per_l(salt_pct: float, brine_c: float) -> float:
    """Return what a litre of plain brine weighs.

    Parameters
    ----------
    salt_pct : float
        Salt, % of the brine's weight, 0 to saturation (the scale's, where that is more).
    brine_c : float
        Its temperature, °C, 0 to 100.

    Returns
    -------
    float
        Density, kg/L, within 0.0002; errs in no known direction.

    Raises
    ------
    OutOfRange
        If so much salt does not dissolve, or the temperature is outside the table.

    Notes
    -----
    Source: Kaufmann 1960.

    Examples
    --------
    >>> round(density_kg_per_l(20, 10), 5)
    1.15254
    """
    most = max(saturated_pct(), saturated_pct(brine_c))
    salt = float(within("salt in a brine", salt_pct, 0, most, "%"))
    table = figures()["density"]
    by_strength = between(table["celsius"], np.transpose(table["kg_per_l"]), brine_c)
    return float(between(table["salt_pct"], by_strength, salt))


def freezing_c(salt_pct: float) -> float:
    """Return the temperature at which ice begins to form in plain brine.

    Parameters
    ----------
    salt_pct : float
        Salt, % of the brine's weight, 0 to 23.3 (the eutectic).

    Returns
    -------
    float
        Freezing point, °C, within 0.05; errs in no known direction.

    Raises
    ------
    OutOfRange
        If the brine is stronger: then salt, not ice, comes out first.

    Notes
    -----
    Source: CRC Handbook, 102nd edition; the eutectic: Oregon State University, SG 22.

    Examples
    --------
    >>> round(freezing_c(10), 2)
    -6.56
    """
    table = figures()["handbook"]
    rows = table["salt_pct"]
    salt = float(within("salt in a brine", salt_pct, rows[0], rows[-1], "%"))
    return float(between(rows, table["freezing_c"], salt))


def brine_of_pct(salt_pct: float) -> Brine:
    """Return a strength of plain brine in every measure.

    Parameters
    ----------
    salt_pct : float
        Salt, % of the brine's weight, 0 to 26.395 (saturated at 60 °F).

    Returns
    -------
    Brine
        Pounds to the gallon are of water at 60 °F, as the chart of salt makers counts it;
        grams to the litre of water likewise; the litre of brine is at 20 °C.

    Raises
    ------
    OutOfRange
        If there is more salt than dissolves, or less than none.

    Notes
    -----
    By definition, apart from densities (within 0.0002); errs in no known direction. A US
    and an imperial gallon of one brine differ by a fifth.
    Source: see ``sources``.

    Examples
    --------
    >>> round(brine_of_pct(15.837).salt_lb_per_us_gal_water, 3)
    1.567
    """
    told, gallons = figures()["salometer"], figures()["gallons"]
    salt = float(within("salt in a brine", salt_pct, 0, saturated_pct(), "%"))
    to_water = salt / (_WHOLE_PCT - salt)
    gallon_lb = told["water_lb_per_us_gal"]
    larger = gallons["imperial_gal_l"] / gallons["us_gal_l"]
    gravity = density_kg_per_l(salt, told["scale_c"]) / told["water_kg_per_l"]
    litre_g = density_kg_per_l(salt, _LITRE_AT) * _G_PER_KG
    return Brine(
        salt_pct=salt,
        degrees=float(
            degrees_salometer_from_salt_pct(salt, saturated_pct=saturated_pct())
        ),
        salt_g_per_kg_water=to_water * _G_PER_KG,
        salt_g_per_l_water=to_water * _G_PER_KG * told["water_kg_per_l"],
        salt_lb_per_us_gal_water=to_water * gallon_lb,
        salt_lb_per_imp_gal_water=to_water * gallon_lb * larger,
        water_lb_per_us_gal_brine=gravity * gallon_lb * (1 - salt / _WHOLE_PCT),
        salt_g_per_l_brine=litre_g * salt / _WHOLE_PCT,
        brine_g_per_l=litre_g,
        specific_gravity=gravity,
    )


def brine_of(measure: str, value: float) -> Brine:
    """Return the plain brine that has a value in one of the measures.

    Parameters
    ----------
    measure : str
        A field of ``Brine`` that rises with the salt: any but the water in a gallon.
    value : float
        In the unit that the name of the field carries.

    Returns
    -------
    Brine
        The same brine in every measure; errs as ``brine_of_pct``.

    Raises
    ------
    OutOfRange
        If no brine of plain salt has that value.

    Notes
    -----
    Source: see ``sources``.

    Examples
    --------
    >>> round(brine_of("salt_lb_per_us_gal_water", 1.568).degrees, 1)
    60.0
    """
    if measure == "degrees":
        return brine_of_pct(
            float(salt_pct_from_degrees_salometer(value, saturated_pct=saturated_pct()))
        )
    return brine_of_pct(
        solve(
            lambda salt: float(getattr(brine_of_pct(salt), measure)),
            0.0,
            saturated_pct(),
            value,
            what=measure.replace("_", " "),
        )
    )


def molality(salt_pct: float) -> float:
    """Return the moles of salt in a kilogram of the water of a brine, or of a food.

    Parameters
    ----------
    salt_pct : float
        Salt over salt and water, %, 0 to 28.2 (saturated at 100 °C).

    Returns
    -------
    float
        mol/kg; by definition, so it errs in no direction.

    Raises
    ------
    OutOfRange
        If so much salt does not dissolve.

    Notes
    -----
    Source: the masses of a mole, IUPAC 2021.

    Examples
    --------
    >>> round(molality(3.5), 4)
    0.6206
    """
    most = max(figures()["saturation"]["salt_pct"])
    salt = float(within("salt over salt and water", salt_pct, 0, most, "%"))
    mole_g = float(load("water_activity")["masses"]["salt_g"])
    return salt / (_WHOLE_PCT - salt) * _G_PER_KG / mole_g


def salt_pct_of_molality(mol_per_kg: float) -> float:
    """Return the salt over salt and water from the moles in a kilogram of the water.

    Parameters
    ----------
    mol_per_kg : float
        mol/kg, 0 to 7.

    Returns
    -------
    float
        Salt over salt and water, %; by definition, so it errs in no direction.

    Raises
    ------
    OutOfRange
        If so much salt does not dissolve.

    Notes
    -----
    The inverse of ``molality``, with the same source.

    Examples
    --------
    >>> round(salt_pct_of_molality(1), 3)
    5.522
    """
    most = molality(max(figures()["saturation"]["salt_pct"]))
    moles = float(within("salt in the water", mol_per_kg, 0, most, "mol/kg"))
    salt_g = moles * float(load("water_activity")["masses"]["salt_g"])
    return salt_g / (salt_g + _G_PER_KG) * _WHOLE_PCT


def salt_to_strengthen_kg(brine_kg: float, from_pct: float, to_pct: float) -> float:
    """Return the salt to stir into a brine to make it stronger.

    Parameters
    ----------
    brine_kg : float
        Weight of the brine, kg, 0 or more.
    from_pct, to_pct : float
        Strength now and aimed at, % of the brine's weight, up to saturation at 60 °F.

    Returns
    -------
    float
        Salt to add, kg; a balance of masses, so it errs in no direction.

    Raises
    ------
    OutOfRange
        If it is stronger already, or so much salt does not dissolve.

    Notes
    -----
    In a brine that has held fish the salt is not known from what went in: measure first.
    Source: balance of masses.

    Examples
    --------
    >>> round(salt_to_strengthen_kg(20, 12.670, 15.837), 3)
    0.753
    """
    weight = float(within("brine", brine_kg, 0, np.inf, "kg"))
    aim = float(within("strength aimed at", to_pct, 0, saturated_pct(), "%"))
    now = float(within("strength now", from_pct, 0, aim, "%"))
    return weight * (aim - now) / (_WHOLE_PCT - aim)


def water_to_weaken_kg(brine_kg: float, from_pct: float, to_pct: float) -> float:
    """Return the water to add to a brine to make it weaker.

    Parameters
    ----------
    brine_kg : float
        Weight of the brine, kg, 0 or more.
    from_pct, to_pct : float
        Strength now and aimed at, % of the brine's weight; aimed at 0.01 or more.

    Returns
    -------
    float
        Water to add, kg; a balance of masses, so it errs in no direction.

    Raises
    ------
    OutOfRange
        If it is weaker already.

    Notes
    -----
    Source: balance of masses.

    Examples
    --------
    >>> round(water_to_weaken_kg(20, 21.116, 15.837), 3)
    6.667
    """
    weight = float(within("brine", brine_kg, 0, np.inf, "kg"))
    now = float(within("strength now", from_pct, 0, saturated_pct(), "%"))
    aim = float(
        within("strength aimed at", to_pct, _WEAKEST_PCT, max(now, _WEAKEST_PCT), "%")
    )
    return weight * (now - aim) / aim


_WEAKEST_PCT = 1 / 100  # own figure: weaker than this is water
