"""Exact numbers, instants and conversions of units, plainly."""

import datetime
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

EPOCH = datetime.datetime(1970, 1, 1, tzinfo=datetime.UTC)
MICROSECONDS_PER_MINUTE = 60_000_000
SECONDS_PER_MINUTE = 60

# How many of the first unit one of the second is (lengths and masses have no offset).
MM_PER = {"mm": Fraction(1), "in": Fraction("25.4")}
G_PER = {
    "g": Fraction(1),
    "kg": Fraction(1000),
    "lb": Fraction("453.59237"),
    "oz": Fraction("453.59237") / 16,
}


def exact(number):
    """Return the number as a fraction; a float counts as the decimal it prints as."""
    if isinstance(number, float):
        return Fraction(repr(number))
    if isinstance(number, int | Decimal | Fraction | str):
        return Fraction(number)
    raise TypeError(number)


@dataclass(frozen=True)
class Instant:
    """A point of time, and the calendar day on which its writer stood."""

    minute: Fraction
    day: datetime.date


def instant(text):
    """Read an ISO 8601 instant with an offset."""
    moment = datetime.datetime.fromisoformat(text)
    microseconds = (moment - EPOCH) // datetime.timedelta(microseconds=1)
    return Instant(Fraction(microseconds, MICROSECONDS_PER_MINUTE), moment.date())


def later(start_text, seconds):
    """Return the instant so many seconds after another, in the same offset."""
    start = instant(start_text)
    day = (
        datetime.datetime.fromisoformat(start_text)
        + datetime.timedelta(microseconds=int(seconds * 1_000_000))
    ).date()
    return Instant(start.minute + seconds / SECONDS_PER_MINUTE, day)


def convert(value, unit, wanted):
    """Convert a value (a point, not a difference) exactly."""
    if unit == wanted:
        return value
    if unit == "degC" and wanted == "degF":
        return value * Fraction(9, 5) + 32
    if unit == "degF" and wanted == "degC":
        return (value - 32) * Fraction(5, 9)
    for table in (MM_PER, G_PER):
        if unit in table and wanted in table:
            return value * table[unit] / table[wanted]
    raise ValueError((unit, wanted))


def convert_difference(value, unit, wanted):
    """Convert a difference exactly; only temperatures differ from points here."""
    if unit == wanted:
        return value
    if unit == "degC" and wanted == "degF":
        return value * Fraction(9, 5)
    if unit == "degF" and wanted == "degC":
        return value * Fraction(5, 9)
    raise ValueError((unit, wanted))
