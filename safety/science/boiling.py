"""At what temperature plain water boils, by elevation or by the day's pressure.

The answer is a range, for the pressure is never known exactly: where only the elevation
is known, the weather moves it by more than a degree Fahrenheit. Pressures are station
pressures, what a barometer shows on the spot; those of a weather report are reduced to
sea level and boil the water too hot.
"""

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from safety.science.ranges import within

_HPA_PER_MPA = 1e4
_CELSIUS_ZERO_K = 273.15  # by definition
_OF_A_QUADRATIC = 4
# The formula holds from the triple to the critical point; places where food is made
# lie far inside.
LOWEST_HPA, HIGHEST_HPA = 500.0, 1150.0


@dataclass(frozen=True, slots=True)
class Boiling:
    """Between which temperatures plain water boils, and the likeliest one, °C."""

    low_c: float
    likely_c: float
    high_c: float


@cache
def _figures() -> dict[str, Any]:
    path = files("safety.science").joinpath("data/boiling.toml")
    return tomllib.loads(path.read_text("utf-8"))


def sources() -> tuple[str, ...]:
    """Return what the range rests on, as citations.

    Returns
    -------
    tuple of str
        Publisher, title, section, edition; the formula, the atmosphere, our allowances.
    """
    return tuple(
        f"{told['publisher']}, {told['title']}, {told['section']}, {told['edition']}"
        for told in _figures().values()
    )


def boiling_c(pressure_hpa: float) -> float:
    """Return the temperature at which plain water boils under a pressure.

    Parameters
    ----------
    pressure_hpa : float
        Station pressure, hPa; from ``LOWEST_HPA`` to ``HIGHEST_HPA``.

    Returns
    -------
    float
        Temperature on the scale of 1990, °C. The formula is good to a few thousandths
        of a degree. Salt in the water, and a pot that touches the probe, make it hotter
        than this: a thermometer that reads right then seems to read high.

    Raises
    ------
    ValueError
        If the pressure lies outside the range.

    Notes
    -----
    Saturation temperature of region 4, IAPWS R7-97(2012), equation 31.

    Examples
    --------
    >>> round(boiling_c(1013.25), 2)
    99.97
    """
    if not LOWEST_HPA <= pressure_hpa <= HIGHEST_HPA:
        raise ValueError(
            f"{pressure_hpa:g} hPa is no pressure at which food is made: use "
            f"{LOWEST_HPA:g} to {HIGHEST_HPA:g} hPa."
        )
    return saturation_k(pressure_hpa / _HPA_PER_MPA) - _CELSIUS_ZERO_K


def saturation_k(pressure_mpa: float) -> float:
    """Return the saturation temperature of water, by the published formula alone.

    Parameters
    ----------
    pressure_mpa : float
        Pressure, MPa; the formula holds from 0.000611 to 22.064. Not looked at here:
        `boiling_c` does, for the pressures of weather.

    Returns
    -------
    float
        Temperature on the scale of 1990, K.

    Notes
    -----
    Region 4, IAPWS R7-97(2012), equation 31.

    Examples
    --------
    >>> round(saturation_k(0.1), 3)
    372.756
    """
    n = _figures()["vapour"]["coefficients"]
    beta = math.sqrt(math.sqrt(pressure_mpa))
    e = beta**2 + n[2] * beta + n[5]
    f = n[0] * beta**2 + n[3] * beta + n[6]
    g = n[1] * beta**2 + n[4] * beta + n[7]
    d = 2 * g / (-f - math.sqrt(f**2 - _OF_A_QUADRATIC * e * g))
    total = n[9] + d
    return float(
        (total - math.sqrt(total**2 - _OF_A_QUADRATIC * (n[8] + n[9] * d))) / 2
    )


def vapour_pressure_hpa(temperature_c: float) -> float:
    """Return the pressure under which plain water boils at a temperature.

    Parameters
    ----------
    temperature_c : float
        On the scale of 1990, °C, 0.01 to 100.

    Returns
    -------
    float
        Pressure, hPa; good to a few hundredths of a percent, of either sign.

    Raises
    ------
    OutOfRange
        If the temperature lies outside the range.

    Notes
    -----
    The same equation of region 4 as `saturation_k`, solved the other way: IAPWS
    R7-97(2012), equation 30.

    Examples
    --------
    >>> round(vapour_pressure_hpa(99.9743), 1)
    1013.2
    """
    told = _figures()["vapour"]
    span_c = told["lowest_c"], told["highest_c"]
    food = float(within("temperature", temperature_c, *span_c, "°C"))
    n = told["coefficients"]
    kelvin = food + _CELSIUS_ZERO_K
    theta = kelvin + n[8] / (kelvin - n[9])
    a = theta**2 + n[0] * theta + n[1]
    b = n[2] * theta**2 + n[3] * theta + n[4]
    c = n[5] * theta**2 + n[6] * theta + n[7]
    root = 2 * c / (-b + math.sqrt(b**2 - _OF_A_QUADRATIC * a * c))
    return float((root**2) ** 2 * _HPA_PER_MPA)


def standard_pressure_hpa(elevation_m: float) -> float:
    """Return the pressure of the standard atmosphere at an elevation.

    Parameters
    ----------
    elevation_m : float
        Above sea level, m.

    Returns
    -------
    float
        Pressure, hPa. What a barometer shows there differs with the weather: see
        `boiling_span`.

    Raises
    ------
    ValueError
        If the elevation lies outside what the data file allows.

    Notes
    -----
    ISO 2533:1975, troposphere.

    Examples
    --------
    >>> round(standard_pressure_hpa(0), 2)
    1013.25
    """
    air = _figures()["atmosphere"]
    if not air["lowest_m"] <= elevation_m <= air["highest_m"]:
        raise ValueError(
            f"{elevation_m:g} m is no elevation at which food is made: use "
            f"{air['lowest_m']:g} to {air['highest_m']:g} m."
        )
    height_m = elevation_m / (1 + elevation_m / air["earth_radius_m"])
    share = 1 - air["lapse_k_per_m"] * height_m / air["sea_level_k"]
    return float(air["sea_level_hpa"] * share ** air["exponent"])


def is_pressure_of(pressure_hpa: float, elevation_m: float) -> bool:
    """Say whether a typed pressure can be the station pressure of a place.

    Parameters
    ----------
    pressure_hpa : float
        As typed, hPa.
    elevation_m : float
        Above sea level, m.

    Returns
    -------
    bool
        False where it lies further from the standard pressure than weather goes. Errs
        low down, where the two are close: there a pressure reduced to sea level passes,
        by which the water seems to boil up to 1.6 °C too hot and a thermometer that
        reads high seems right. So people are asked for the barometer itself.
    """
    apart = abs(pressure_hpa - standard_pressure_hpa(elevation_m))
    return bool(apart <= _figures()["allowances"]["furthest_hpa"])


def boiling_span(elevation_m: float, pressure_hpa: float | None = None) -> Boiling:
    """Return between which temperatures plain water boils at a place.

    Parameters
    ----------
    elevation_m : float
        Above sea level, m.
    pressure_hpa : float, optional
        What a barometer shows there, hPa. Without it the range covers the usual
        weather.

    Returns
    -------
    Boiling
        The range, °C. Errs to the wide side in usual weather; in a deep storm, with
        only the elevation known, water boils below it, and a thermometer that reads
        high by what is missing seems right.

    Raises
    ------
    ValueError
        If the elevation or the pressure cannot be.

    Examples
    --------
    >>> span = boiling_span(0)
    >>> round(span.low_c, 1), round(span.likely_c, 1), round(span.high_c, 1)
    (99.1, 100.0, 100.8)
    """
    allowed = _figures()["allowances"]
    likely = standard_pressure_hpa(elevation_m)
    around = float(allowed["weather_hpa"])
    if pressure_hpa is not None:
        likely, around = pressure_hpa, float(allowed["barometer_hpa"])
    return Boiling(
        low_c=boiling_c(likely - around),
        likely_c=boiling_c(likely),
        high_c=boiling_c(likely + around),
    )
