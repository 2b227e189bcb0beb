"""Near what temperature a fully wet surface stays in hot air: the wet bulb.

Why the inside of wet fish stops rising for a while. It says nothing of how long: that
depends on how fast water still comes to the surface.
"""

from safety.science.boiling import (
    HIGHEST_HPA,
    LOWEST_HPA,
    boiling_c,
    vapour_pressure_hpa,
)
from safety.science.ranges import within
from safety.science.sourced import load

_HALVINGS = 60
_UNDER_BOILING = 0.01  # own figure: at boiling the air would hold nothing but steam


def wet_bulb_c(air_c: float, *, dew_point_c: float, pressure_hpa: float) -> float:
    """Return the wet-bulb temperature of moist air.

    Parameters
    ----------
    air_c : float
        Temperature of the air, °C, 0.01 to 150.
    dew_point_c : float
        Temperature at which its water would condense, °C, 0.01 up to that of the
        air, and below boiling.
    pressure_hpa : float
        Station pressure, hPa, 500 to 1150.

    Returns
    -------
    float
        °C, within 0.2 °C.

    Raises
    ------
    OutOfRange
        If an argument is outside its range.

    Notes
    -----
    Ideal gases; errs by less than 0.2 °C, either way. A surface that dries climbs above
    it, so the middle of a fillet may pass it: it is no ceiling.
    Source: ASHRAE Handbook, Fundamentals, psychrometrics, from memory; vapour pressure by
    IAPWS R7-97(2012).

    Examples
    --------
    >>> round(wet_bulb_c(80, dew_point_c=15, pressure_hpa=1013), 1)
    32.1
    """
    told = load("thermal")["psychrometric"]
    air = float(within("air", air_c, told["lowest_c"], told["highest_c"], "°C"))
    hpa = float(within("pressure", pressure_hpa, LOWEST_HPA, HIGHEST_HPA, "hPa"))
    wettest = min(air, boiling_c(hpa) - _UNDER_BOILING)
    dew = float(within("dew point", dew_point_c, told["lowest_c"], wettest, "°C"))
    held = _ratio(dew, hpa)
    low, high = dew, wettest
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if _carried(middle, air, hpa) < held:
            low = middle
        else:
            high = middle
    return high


def _carried(wet_c: float, air_c: float, pressure_hpa: float) -> float:
    """Return the water that air holds whose wet bulb is this, parts by weight."""
    told = load("thermal")["psychrometric"]
    vapour = told["heat_of_vapour_kj"] - told["wet_bulb_slope"] * wet_c
    cooled = told["heat_of_air_kj"] * (air_c - wet_c)
    most = told["heat_of_vapour_kj"] + told["heat_of_steam_kj"] * air_c
    return float(
        (vapour * _ratio(wet_c, pressure_hpa) - cooled)
        / (most - told["heat_of_water_kj"] * wet_c)
    )


def _ratio(temperature_c: float, pressure_hpa: float) -> float:
    steam = vapour_pressure_hpa(temperature_c)
    masses = load("thermal")["psychrometric"]["ratio_of_masses"]
    return float(masses * steam / (pressure_hpa - steam))
