"""What a salometer really shows: in warm or cold brine, and where sugar is dissolved."""

from dataclasses import dataclass

import numpy as np

from safety.science.brine import density_kg_per_l, figures, saturated_pct
from safety.science.estimate import Estimate
from safety.science.ranges import within
from safety.science.salometer import (
    degrees_salometer_from_salt_pct,
    salt_pct_from_degrees_salometer,
)
from safety.science.sourced import citation
from safety.science.tabulated import between, solve

_WHOLE_PCT = 100
_FULL_SCALE = 100
_SUGAR_READS_HIGH = (
    "Sugar and other solids make a salometer read high: reckon the strength from what was "
    "weighed in."
)
_COLDEST_BRINE, _WARMEST_BRINE = 0.0, 40.0  # own figures, °C: where brine is kept


@dataclass(frozen=True, slots=True, kw_only=True)
class Sugared:
    """A brine that holds sugar: what it weighs, what it shows and what it holds."""

    density: float
    shown_degrees: float
    shown_salt_pct: float
    true_degrees: float


def degrees_shown(true_degrees: float, brine_c: float) -> float:
    """Return what a salometer of glass shows in a brine that is warmer or colder.

    Parameters
    ----------
    true_degrees : float
        Degrees salometer by the salt in it, 0 to 100.
    brine_c : float
        Temperature of the brine, °C, 0 to 40.

    Returns
    -------
    float
        Degrees of a salometer for 60 °F; below 0 and above 100 it is off the scale.

    Raises
    ------
    OutOfRange
        If a figure is outside its range.

    Notes
    -----
    The salometer floats at one density; glass grows by 25 millionths of its volume for
    each °C (own figure). Within 0.05 degrees; errs in no known direction. Warm brine reads
    low.
    Source: densities of Kaufmann 1960.

    Examples
    --------
    >>> round(degrees_shown(80, 80 / 1.8 - 32 / 1.8), 2)
    77.55
    """
    degrees = float(within("degrees salometer", true_degrees, 0, _FULL_SCALE, "°"))
    salt = float(
        salt_pct_from_degrees_salometer(degrees, saturated_pct=saturated_pct())
    )
    shown = solve(
        _at_scale,
        -_BEYOND * saturated_pct(),
        (1 + _BEYOND) * saturated_pct(),
        _seen_density(salt, brine_c),
        what="density of the brine",
    )
    return shown * _FULL_SCALE / saturated_pct()


def true_degrees(shown: float, brine_c: float) -> float:
    """Return the degrees by the salt in a brine from those shown when warm or cold.

    Parameters
    ----------
    shown : float
        Degrees read, of a salometer for 60 °F, 0 to 100.
    brine_c : float
        Temperature of the brine, °C, 0 to 40.

    Returns
    -------
    float
        Degrees salometer by the salt in it.

    Raises
    ------
    OutOfRange
        If a figure is outside its range, or the brine would be stronger than saturated.

    Notes
    -----
    The inverse of ``degrees_shown``, with the same source. Sugar and other solids make it
    too high: the wrong way for a limit on the least strength.

    Examples
    --------
    >>> round(true_degrees(77.55, 26.667), 1)
    80.0
    """
    read = float(within("degrees salometer", shown, 0, _FULL_SCALE, "°"))
    return solve(
        lambda degrees: degrees_shown(degrees, brine_c),
        0.0,
        float(_FULL_SCALE),
        read,
        what="degrees salometer in brine of this temperature",
    )


def sugared(salt_pct: float, sugar_pct: float) -> Sugared:
    """Return what a salometer shows in a brine that holds sugar, at 20 °C.

    Parameters
    ----------
    salt_pct : float
        Salt, % of the brine's weight, 0 to 20.
    sugar_pct : float
        Sucrose, % of the brine's weight, 0 to 20.

    Returns
    -------
    Sugared
        Density in kg/L, degrees salometer shown and by the salt, and the salt it seems.

    Raises
    ------
    OutOfRange
        If a figure is outside its range, or the two together weigh more than salt ever
        does, so that the reading leaves the scale.

    Notes
    -----
    The volumes that salt and sugar each add to the water are added. Held against nothing
    measured: within about 0.8 degrees. Each per cent of sugar looks like 0.6 % of salt, so
    strength by a salometer errs high, the wrong way: read before the sugar goes in.
    Source: CRC Handbook, 102nd edition; Kaufmann 1960.

    Examples
    --------
    >>> round(sugared(10, 5).shown_salt_pct, 1)
    13.0
    """
    table = figures()["sucrose"]
    at_c = table["at_c"]
    salt = float(within("salt in a brine", salt_pct, 0, _MOST_IN_SUGARED, "%"))
    sugar = float(within("sugar in a brine", sugar_pct, 0, _MOST_IN_SUGARED, "%"))
    water = _WHOLE_PCT - salt - sugar
    with_salt = water + salt
    with_sugar = water + sugar
    sweet = float(
        between(
            table["sucrose_pct"], table["kg_per_l"], sugar / with_sugar * _WHOLE_PCT
        )
    )
    volume = (
        with_salt / density_kg_per_l(salt / with_salt * _WHOLE_PCT, at_c)
        + with_sugar / sweet
        - water / density_kg_per_l(0, at_c)
    )
    density = _WHOLE_PCT / volume
    seems = solve(
        lambda pct: density_kg_per_l(pct, at_c),
        0.0,
        saturated_pct(at_c),
        density,
        what="density of a brine with sugar",
    )
    return Sugared(
        density=density,
        shown_degrees=seems * _FULL_SCALE / saturated_pct(),
        shown_salt_pct=seems,
        true_degrees=float(
            degrees_salometer_from_salt_pct(salt, saturated_pct=saturated_pct())
        ),
    )


def strength_from_reading(
    shown: float, brine_c: float, *, reading_error: float, has_sugar: bool
) -> Estimate:
    """Return the salt in a brine from one reading of a salometer, as a range.

    Parameters
    ----------
    shown : float
        Degrees read, of a salometer for 60 °F, 0 to 100.
    brine_c : float
        Temperature of the brine, °C, 0 to 40.
    reading_error : float
        How far the reading may be off, degrees, 0 to 10.
    has_sugar : bool
        Whether anything but salt was dissolved before it was read.

    Returns
    -------
    Estimate
        Salt, % of the brine's weight. With sugar in it the low end is 0, for a salometer
        cannot tell, and the estimate is thin.

    Raises
    ------
    OutOfRange
        If a figure is outside its range.

    Notes
    -----
    Errs high where anything else is dissolved. Source: see ``brine.sources``.

    Examples
    --------
    >>> round(strength_from_reading(60, 20, reading_error=1, has_sugar=False).likely, 1)
    16.1
    """
    error = float(within("error of a reading", reading_error, 0, _FARTHEST_OFF, "°"))
    ends = (max(0.0, shown - error), shown, min(float(_FULL_SCALE), shown + error))
    low, likely, high = (
        float(
            salt_pct_from_degrees_salometer(
                _clipped(end, brine_c), saturated_pct=saturated_pct()
            )
        )
        for end in ends
    )
    told = figures()
    caveats = ("Holds for plain salt and water.",)
    if has_sugar:
        caveats = (_SUGAR_READS_HIGH,)
    return Estimate(
        quantity="salt in the brine",
        unit="percent",
        low=0.0 if has_sugar else low,
        likely=likely,
        high=high,
        sources=tuple(citation(told[name]) for name in ("salometer", "density")),
        caveats=caveats,
        is_thin=has_sugar,
    )


def _clipped(shown: float, brine_c: float) -> float:
    """Return the true degrees, at the ends of the scale where a reading lies beyond."""
    least, most = degrees_shown(0, brine_c), degrees_shown(_FULL_SCALE, brine_c)
    if shown <= least:
        return 0.0
    return float(_FULL_SCALE) if shown >= most else true_degrees(shown, brine_c)


def _at_scale(salt_pct: float) -> float:
    """Return the density at the scale's temperature, a little beyond the scale too."""
    table, scale_c = figures()["density"], figures()["salometer"]["scale_c"]
    by_strength = between(table["celsius"], np.transpose(table["kg_per_l"]), scale_c)
    return float(between(table["salt_pct"], by_strength, salt_pct))


def _seen_density(salt_pct: float, brine_c: float) -> float:
    """Return the density at which a glass float of its scale's size would float."""
    warm = float(within("brine", brine_c, _COLDEST_BRINE, _WARMEST_BRINE, "°C"))
    growth = figures()["glass"]["volume_per_c"]
    scale_c = figures()["salometer"]["scale_c"]
    return density_kg_per_l(salt_pct, warm) * float(1 + growth * (warm - scale_c))


_MOST_IN_SUGARED = 20.0  # own figure, %: the volumes were added no further
_BEYOND = 0.1  # own figure: share of the scale beyond its ends
_FARTHEST_OFF = 10.0  # own figure, degrees: a worse reading tells nothing
