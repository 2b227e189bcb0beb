"""Units of the workbench: what people type, in the unit that is worked with."""

from decimal import Decimal
from fractions import Fraction

from django.utils.translation import gettext_lazy as _

from safety.units import UNITS, convert, convert_difference, symbol

_DIFFERENCES = {"delta-degC": "degC", "delta-degF": "degF"}
_INCHES = {"in": Fraction(1), "ft": Fraction(12)}  # by definition
_MM_PER_M = Fraction(1000)
_WORDS = {
    "h": _("hours"),
    "d": _("days"),
    "delta-degC": symbol("degC"),
    "delta-degF": symbol("degF"),
}


def in_unit(value: Decimal | Fraction, unit: str, wanted: str) -> Fraction:
    """Return a typed figure in another unit of its kind, exactly."""
    figure = Fraction(value)
    if unit == wanted:
        return figure
    if unit in _DIFFERENCES:
        return convert_difference(figure, _DIFFERENCES[unit], _DIFFERENCES[wanted])
    if "m" in {unit, wanted}:
        metres = _metres(figure, unit)
        return metres if wanted == "m" else metres / _metres(Fraction(1), wanted)
    return convert(figure, unit, wanted)


def written(unit: str) -> str:
    """Return a unit as people write it."""
    return symbol(unit) if unit in UNITS else str(_WORDS.get(unit, unit))


def _metres(figure: Fraction, unit: str) -> Fraction:
    if unit == "m":
        return figure
    return convert(figure * _INCHES[unit], "in", "mm") / _MM_PER_M
