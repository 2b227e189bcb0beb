"""What can be measured: name, units allowed, plausible span, digits shown."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from safety.errors import OutOfSpan, UnknownName, WrongUnit
from safety.units import convert, symbol

TEMPERATURE_UNITS = ("degF", "degC")


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """One thing that an instrument or a laboratory reports.

    ``lowest`` and ``highest`` are in the first unit: outside them a typed value is a
    slip of the finger, not a measurement (own figures, not published ones).
    ``instrument`` names what must measure it, where its instruments have checks.
    """

    name: str
    title: str
    units: tuple[str, ...]
    lowest: Decimal
    highest: Decimal
    digits: int
    instrument: str | None = None

    def check_unit(self, unit: str) -> None:
        """Refuse a unit that cannot measure this quantity.

        Raises
        ------
        WrongUnit
            If ``unit`` is not one of ``units``.
        """
        if unit not in self.units:
            raise WrongUnit(self.title.lower(), unit, self.units)

    def check_plausible(self, value: Decimal, unit: str) -> None:
        """Refuse a typed value that this quantity cannot have.

        Raises
        ------
        WrongUnit
            If ``unit`` is not one of ``units``.
        OutOfSpan
            If ``value`` lies outside the plausible span.
        """
        self.check_unit(unit)
        base = self.units[0]
        if not self.lowest <= convert(value, unit, base) <= self.highest:
            span = " to ".join(
                f"{float(convert(Fraction(end), base, unit)):.3g}"
                for end in (self.lowest, self.highest)
            )
            raise OutOfSpan(
                self.title.lower(), str(value), symbol(unit), f"{span} {symbol(unit)}"
            )


def _temperature(name: str, title: str, low: str, high: str) -> Quantity:
    return Quantity(
        name=name,
        title=title,
        units=TEMPERATURE_UNITS,
        lowest=Decimal(low),
        highest=Decimal(high),
        digits=1,
        instrument="temperature",
    )


def _plain(
    name: str,
    title: str,
    units: tuple[str, ...],
    span: tuple[str, str],
    digits: int,
    instrument: str | None = None,
) -> Quantity:
    return Quantity(
        name=name,
        title=title,
        units=units,
        lowest=Decimal(span[0]),
        highest=Decimal(span[1]),
        digits=digits,
        instrument=instrument,
    )


_ALL = (
    _temperature("core-temperature", "Core temperature", "-60", "230"),
    _temperature("surface-temperature", "Surface temperature", "-60", "400"),
    _temperature("air-temperature", "Air temperature", "-80", "600"),
    _temperature("water-temperature", "Water temperature", "20", "230"),
    _temperature("product-temperature", "Product temperature", "-60", "230"),
    _plain("salt", "Salt", ("percent",), ("0", "40"), 2),
    _plain("moisture", "Moisture", ("percent",), ("0", "100"), 1),
    _plain("water-phase-salt", "Water phase salt", ("percent",), ("0", "100"), 2),
    _plain("nitrite", "Nitrite", ("ppm",), ("0", "100000"), 0),
    _plain("ph", "pH", ("1",), ("0", "14"), 2, "ph"),
    _plain("water-activity", "Water activity", ("1",), ("0", "1"), 3, "water-activity"),
    _plain("thickness", "Thickness", ("mm", "in"), ("0", "500"), 1),
    _plain("mass", "Mass", ("kg", "g", "oz", "lb"), ("0", "5000"), 3),
    _plain("relative-humidity", "Relative humidity", ("percent",), ("0", "100"), 0),
)

QUANTITIES: dict[str, Quantity] = {quantity.name: quantity for quantity in _ALL}

# The two parts of a sample from which water phase salt is reckoned.
SAMPLE: tuple[str, str] = ("salt", "moisture")

# What an instrument measures -> the unit in which its default tolerance is kept.
INSTRUMENT_KINDS = ("temperature", "ph", "water-activity")


def quantity(name: str) -> Quantity:
    """Return the quantity called ``name``.

    Raises
    ------
    UnknownName
        If no quantity has that name.
    """
    try:
        return QUANTITIES[name]
    except KeyError:
        raise UnknownName("quantity", name, tuple(QUANTITIES)) from None


def units_of_instrument(measures: str) -> tuple[str, ...]:
    """Return the units in which an instrument of this kind can read.

    Raises
    ------
    UnknownName
        If no instrument is of that kind.
    """
    for known in _ALL:
        if known.instrument == measures:
            return known.units
    raise UnknownName("kind of instrument", measures, INSTRUMENT_KINDS)
