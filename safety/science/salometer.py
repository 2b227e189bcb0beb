"""The salometer: the strength of a brine of plain salt and water by its degrees.

All percentages are by weight of the brine.
"""

from numpy.typing import ArrayLike

from safety.science.ranges import Floats, above_zero, within

_WHOLE_PCT = 100.0
_PURE_WATER_DEGREES, _SATURATED_DEGREES = 0.0, 100.0

# Own figures: brine is kept and read between these; the rule was checked no further.
_COLDEST_BRINE_DEGF, _WARMEST_BRINE_DEGF = 28.0, 100.0


def salt_pct_from_degrees_salometer(
    degrees: ArrayLike, *, saturated_pct: float
) -> Floats:
    """Return the salt in a brine from the degrees that a salometer shows in it.

    Parameters
    ----------
    degrees : array_like
        Degrees salometer at the temperature of the scale, 0 to 100; any shape.
    saturated_pct : float
        Salt in the brine of 100 degrees, % of the brine's weight.

    Returns
    -------
    numpy.ndarray of float64
        Salt, % of the brine's weight; the same shape.

    Raises
    ------
    OutOfRange
        If a reading is not on the scale, or ``saturated_pct`` is no percentage.

    Notes
    -----
    Exact for plain salt and water by the definition of the degree. Sugar and other
    solids make a salometer read high, so the salt comes out too high: the wrong way for
    a limit on the least strength. Read before they go in.
    Source: the definition of the degree, ``us-or.brine-note.saturated``.

    Examples
    --------
    >>> round(float(salt_pct_from_degrees_salometer(60, saturated_pct=26.395)), 3)
    15.837
    """
    shown = within(
        "degrees salometer", degrees, _PURE_WATER_DEGREES, _SATURATED_DEGREES, "°"
    )
    return shown / _SATURATED_DEGREES * _saturated(saturated_pct)


def degrees_salometer_from_salt_pct(
    salt_pct: ArrayLike, *, saturated_pct: float
) -> Floats:
    """Return the degrees that a salometer shows in a brine of plain salt and water.

    Parameters
    ----------
    salt_pct : array_like
        Salt, % of the brine's weight, 0 to ``saturated_pct``; any shape.
    saturated_pct : float
        Salt in the brine of 100 degrees, % of the brine's weight.

    Returns
    -------
    numpy.ndarray of float64
        Degrees salometer at the temperature of the scale; the same shape.

    Raises
    ------
    OutOfRange
        If there is more salt than a saturated brine holds, or less than none.

    Notes
    -----
    The inverse of ``salt_pct_from_degrees_salometer``, with the same source; exact by
    definition, so it errs in no direction.

    Examples
    --------
    >>> round(float(degrees_salometer_from_salt_pct(16, saturated_pct=26.395)), 2)
    60.62
    """
    saturated = _saturated(saturated_pct)
    salt = within("salt in a brine", salt_pct, 0.0, saturated, "%")
    return salt / saturated * _SATURATED_DEGREES


def degrees_salometer_corrected(
    degrees: ArrayLike,
    brine_degf: ArrayLike,
    *,
    scale_degf: float,
    degrees_per_degf: float,
) -> Floats:
    """Return what a salometer would show if the brine had the temperature of its scale.

    Parameters
    ----------
    degrees : array_like
        Degrees salometer as read, 0 to 100.
    brine_degf : array_like
        Temperature of the brine, °F, 28 to 100; broadcast against ``degrees``.
    scale_degf : float
        Temperature at which the salometer reads true, °F.
    degrees_per_degf : float
        Degrees salometer to add for each °F above it, and to take off below.

    Returns
    -------
    numpy.ndarray of float64
        Degrees salometer; the broadcast shape.

    Raises
    ------
    OutOfRange
        If the reading or the temperature is outside the range, or the correction leads
        off the scale.

    Notes
    -----
    A rule of thumb, held against densities of brine between 32 and 90 °F. From 40 to 60
    degrees it is right within 0.7. Where it makes a brine seem stronger than it is: weak
    warm brine (20 degrees: up to 0.4) and strong cold brine (80 degrees: up to 0.2).
    Where it makes it seem weaker: weak cold brine (up to 1.5), strong warm (up to 0.7).
    Source: ``us-or.brine-note.correction``; the temperatures it is held to are our own.

    Examples
    --------
    >>> float(
    ...     degrees_salometer_corrected(58, 80, scale_degf=60, degrees_per_degf=0.1)
    ... )
    60.0
    """
    shown = within(
        "degrees salometer", degrees, _PURE_WATER_DEGREES, _SATURATED_DEGREES, "°"
    )
    warm = within("brine", brine_degf, _COLDEST_BRINE_DEGF, _WARMEST_BRINE_DEGF, "°F")
    corrected = shown + (warm - scale_degf) * degrees_per_degf
    return within(
        "degrees salometer, corrected,",
        corrected,
        _PURE_WATER_DEGREES,
        _SATURATED_DEGREES,
        "°",
    )


def _saturated(saturated_pct: float) -> float:
    return float(
        within(
            "salt in a saturated brine",
            above_zero("salt in a saturated brine", saturated_pct, "%"),
            0.0,
            _WHOLE_PCT,
            "%",
        )
    )
