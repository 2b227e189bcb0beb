"""Exact conversions: points and differences of temperature, mass, length, pressure.

A temperature and a difference of temperatures are never the same thing: 2 degF of
tolerance is 10/9 degC, while 2 degF on a dial is -50/3 degC. All factors are exact by
definition (the pound of 1959 is 0.45359237 kg, the inch 25.4 mm, the inch of mercury
that height of 13.5951 g/cm3 under standard gravity), so every function here works in
fractions and rounds nothing.
"""

from decimal import Decimal
from fractions import Fraction

from safety.errors import WrongUnit

Exact = Fraction | Decimal | int

_F_PER_C = Fraction(9, 5)
_F_ZERO = Fraction(32)

# (dimension, size of one unit in the base unit of its dimension)
_UNITS: dict[str, tuple[str, Fraction]] = {
    "degF": ("temperature", 1 / _F_PER_C),
    "degC": ("temperature", Fraction(1)),
    "percent": ("percent", Fraction(1)),
    "ppm": ("ppm", Fraction(1)),
    "1": ("plain", Fraction(1)),
    "mm": ("length", Fraction(1)),
    "in": ("length", Fraction("25.4")),
    "g": ("mass", Fraction(1)),
    "kg": ("mass", Fraction(1000)),
    "oz": ("mass", Fraction("453.59237") / 16),
    "lb": ("mass", Fraction("453.59237")),
    "hPa": ("pressure", Fraction(1)),
    "inHg": (
        "pressure",
        Fraction("25.4") * Fraction("13.5951") * Fraction("9.80665") / 100,
    ),
}

UNITS: tuple[str, ...] = tuple(_UNITS)

_SYMBOLS = {"degF": "°F", "degC": "°C", "percent": "%", "1": ""}


def symbol(unit: str) -> str:
    """Return the unit as people write it ("°F", "%", "mm"; nothing for a plain number).

    Parameters
    ----------
    unit : str
        One of ``UNITS``.

    Returns
    -------
    str
        The symbol, without a space.
    """
    return _SYMBOLS.get(unit, unit)


def c_from_f(value_f: Exact) -> Fraction:
    """Return a temperature read in degF as degC, exactly.

    Parameters
    ----------
    value_f : Fraction, Decimal or int
        Temperature, °F.

    Returns
    -------
    Fraction
        Temperature, °C. Exact; errs in no direction.

    Examples
    --------
    >>> c_from_f(145)
    Fraction(565, 9)
    """
    return (Fraction(value_f) - _F_ZERO) / _F_PER_C


def f_from_c(value_c: Exact) -> Fraction:
    """Return a temperature read in degC as degF, exactly.

    Parameters
    ----------
    value_c : Fraction, Decimal or int
        Temperature, °C.

    Returns
    -------
    Fraction
        Temperature, °F. Exact; errs in no direction.

    Examples
    --------
    >>> float(f_from_c(Decimal("57.2")))
    134.96
    """
    return Fraction(value_c) * _F_PER_C + _F_ZERO


def convert(value: Exact, source: str, target: str) -> Fraction:
    """Return a point ``value`` of unit ``source`` in unit ``target``, exactly.

    Parameters
    ----------
    value : Fraction, Decimal or int
        A reading in ``source``.
    source, target : str
        Units of one dimension, from ``UNITS``.

    Returns
    -------
    Fraction
        The same point in ``target``. Exact; errs in no direction.

    Raises
    ------
    WrongUnit
        If the units do not measure the same thing.

    Examples
    --------
    >>> convert(Decimal("1.5"), "in", "mm")
    Fraction(381, 10)
    """
    _same_dimension(source, target)
    if source == target:
        return Fraction(value)
    if source == "degF":
        return c_from_f(value)
    if source == "degC":
        return f_from_c(value)
    return Fraction(value) * _UNITS[source][1] / _UNITS[target][1]


def convert_difference(value: Exact, source: str, target: str) -> Fraction:
    """Return a difference of ``source`` units as a difference of ``target`` units.

    Parameters
    ----------
    value : Fraction, Decimal or int
        A difference (a tolerance, an error), in ``source``.
    source, target : str
        Units of one dimension, from ``UNITS``.

    Returns
    -------
    Fraction
        The same difference in ``target``. Exact; errs in no direction.

    Raises
    ------
    WrongUnit
        If the units do not measure the same thing.

    Examples
    --------
    >>> convert_difference(2, "degF", "degC")
    Fraction(10, 9)
    """
    _same_dimension(source, target)
    return Fraction(value) * _UNITS[source][1] / _UNITS[target][1]


def _same_dimension(source: str, target: str) -> None:
    if _UNITS[source][0] != _UNITS[target][0]:
        allowed = tuple(u for u, d in _UNITS.items() if d[0] == _UNITS[target][0])
        raise WrongUnit(_UNITS[target][0], source, allowed)
