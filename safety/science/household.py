"""Household measures: what cups and spoons of salt and sugar weigh, as ranges."""

from collections.abc import Mapping
from typing import Any

import numpy as np

from safety.errors import UnknownName
from safety.science.estimate import Estimate
from safety.science.ranges import within
from safety.science.sourced import citation, load

_WHOLE_PCT = 100
_MOST_CUPS = 1000.0  # own figure: more is not measured by cups
_MOST_PARTS = 100.0  # own figure: the strongest ratio by volume that is asked for
_VOLUME_MOVES = (
    "A measure by volume is not a weight: packing, shaking and the grain move it. Weigh "
    "where a limit hangs on it."
)

MEASURES = ("cup", "tablespoon", "teaspoon")


def salts() -> Mapping[str, str]:
    """Return the kinds of salt that are known, and what people call them.

    Returns
    -------
    Mapping of str to str
        Name, and words. Errs in no direction.
    """
    return {name: row["words"] for name, row in _bulk()["salts"].items()}


def sugars() -> Mapping[str, str]:
    """Return the kinds of sugar that are known, and what people call them.

    Returns
    -------
    Mapping of str to str
        Name, and words. Errs in no direction.
    """
    return {name: row["words"] for name, row in _bulk()["sugars"].items()}


def grams(material: str, count: float, measure: str = "cup") -> Estimate:
    """Return what a number of level cups or spoons weighs.

    Parameters
    ----------
    material : str
        A name of ``salts`` or ``sugars``.
    count : float
        How many, 0 to 1000.
    measure : str
        One of ``MEASURES``, of the United States.

    Returns
    -------
    Estimate
        g: the lowest, the usual and the highest weight that was found published.

    Raises
    ------
    OutOfRange
        If the count is outside its range.
    UnknownName
        If the material or the measure is not known.

    Notes
    -----
    The ends are what was found, not a share of cases, so no coverage is claimed. A kind
    whose figures are from memory is marked thin.
    Source: ``household.toml``.

    Examples
    --------
    >>> round(grams("light-flake-kosher", 1).likely)
    140
    """
    row = _row(material)
    number = float(within(measure, count, 0, _MOST_CUPS, measure))
    cups = number / _in_a_cup(measure)
    low, likely, high = (row[key] * cups for key in ("low_g", "likely_g", "high_g"))
    return _estimate(row["words"], "g", (low, likely, high), (row,))


def salt_share_of_mix(salt: str, sugar: str, sugar_to_salt: float) -> Estimate:
    """Return the share of salt by weight in a mix that was measured by volume.

    Parameters
    ----------
    salt, sugar : str
        Names of ``salts`` and ``sugars``.
    sugar_to_salt : float
        Scoops of sugar to one scoop of salt, 0 to 100.

    Returns
    -------
    Estimate
        Salt, % of the weight of the mix. The low end pairs the lightest salt with the
        heaviest sugar, the high end the other way round.

    Raises
    ------
    OutOfRange
        If the ratio is outside its range.
    UnknownName
        If a kind is not known.

    Notes
    -----
    Errs in no known direction inside its range. The same ratio by weight is exact.
    Source: ``household.toml``.

    Examples
    --------
    >>> mix = salt_share_of_mix("table-salt", "brown-sugar-packed", 5)
    >>> round(mix.low, 1), round(mix.likely, 1), round(mix.high, 1)
    (19.2, 21.1, 23.5)
    """
    ratio = float(within("sugar to salt", sugar_to_salt, 0, _MOST_PARTS, "parts"))
    salty, sweet = _row(salt, "salts"), _row(sugar, "sugars")
    pairs = (("low_g", "high_g"), ("likely_g", "likely_g"), ("high_g", "low_g"))
    low, likely, high = (
        _WHOLE_PCT * salty[mine] / (salty[mine] + ratio * sweet[other])
        for mine, other in pairs
    )
    return _estimate("salt in the mix", "percent", (low, likely, high), (salty, sweet))


def brine_by_cups(salt: str, salt_cups: float, water_cups: float) -> Estimate:
    """Return the strength of a brine of cups of salt in cups of water.

    Parameters
    ----------
    salt : str
        A name of ``salts``.
    salt_cups, water_cups : float
        Level cups, salt 0 to 1000, water 0.01 to 1000.

    Returns
    -------
    Estimate
        Salt, % of the brine's weight, if all of it dissolves.

    Raises
    ------
    OutOfRange
        If a count is outside its range.
    UnknownName
        If the kind is not known.

    Notes
    -----
    Errs in no known direction inside its range. Source: ``household.toml``.

    Examples
    --------
    >>> round(brine_by_cups("table-salt", 1, 7).likely, 1)
    14.8
    """
    row = _row(salt, "salts")
    cups = float(within("salt", salt_cups, 0, _MOST_CUPS, "cups"))
    water = float(within("water", water_cups, 1 / _WHOLE_PCT, _MOST_CUPS, "cups"))
    water_g = water * load("household")["water"]["g_per_cup"]
    low, likely, high = (
        _WHOLE_PCT * row[key] * cups / (row[key] * cups + water_g)
        for key in ("low_g", "likely_g", "high_g")
    )
    return _estimate("salt in the brine", "percent", (low, likely, high), (row,))


def _bulk() -> Mapping[str, Any]:
    bulk: Mapping[str, Any] = load("household")["bulk"]
    return bulk


def _row(material: str, kind: str = "") -> Mapping[str, Any]:
    known: dict[str, Mapping[str, Any]] = {}
    for each in (kind,) if kind else ("salts", "sugars"):
        known |= _bulk()[each]
    if material not in known:
        raise UnknownName("salt or sugar", material, tuple(known))
    return known[material]


def _in_a_cup(measure: str) -> float:
    told = load("household")["measures"]
    sizes = {
        "cup": 1.0,
        "tablespoon": float(told["tablespoons_in_a_cup"]),
        "teaspoon": float(told["teaspoons_in_a_cup"]),
    }
    if measure not in sizes:
        raise UnknownName("measure", measure, MEASURES)
    return sizes[measure]


def _estimate(
    quantity: str,
    unit: str,
    ends: tuple[float, float, float],
    rows: tuple[Mapping[str, Any], ...],
) -> Estimate:
    low, likely, high = np.sort(ends).tolist()
    return Estimate(
        quantity=quantity,
        unit=unit,
        low=low,
        likely=likely,
        high=high,
        sources=(citation(_bulk()),),
        caveats=(_VOLUME_MOVES,),
        is_thin=any(row["basis"] == "memory" for row in rows),
    )
