"""Conversions are exact, and a difference is not a point."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safety.errors import WrongUnit
from safety.units import (
    UNITS,
    c_from_f,
    convert,
    convert_difference,
    f_from_c,
    symbol,
)

EXACT = st.decimals(-10_000, 10_000, places=4)
PAIRS = [
    ("degF", "degC"), ("degC", "degF"), ("mm", "in"), ("in", "mm"), ("g", "kg"),
    ("kg", "oz"), ("oz", "lb"), ("lb", "g"), ("percent", "percent"), ("1", "1"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"),
    [
        (32, 0),
        (212, 100),
        (-40, -40),
        (41, 5),
        (145, Fraction(565, 9)),
        (Decimal("134.96"), Decimal("57.2")),
    ],
)
def test_temperatures_convert_both_ways(fahrenheit, celsius):
    assert c_from_f(fahrenheit) == Fraction(celsius)
    assert f_from_c(celsius) == Fraction(fahrenheit)


@pytest.mark.parametrize(
    ("value", "source", "target", "expected"),
    [
        (1, "in", "mm", Fraction("25.4")),
        (1, "lb", "g", Fraction("453.59237")),  # the pound of 1959
        (1, "lb", "oz", 16),
        (1, "kg", "g", 1000),
        (38, "mm", "in", Fraction(190, 127)),
        (145, "degF", "degF", 145),
    ],
)
def test_lengths_and_masses_convert_exactly(value, source, target, expected):
    assert convert(value, source, target) == expected


@pytest.mark.parametrize(("source", "target"), PAIRS)
@given(value=EXACT)
def test_there_and_back_is_the_same_value(source, target, value):
    assert convert(convert(value, source, target), target, source) == value
    there = convert_difference(value, source, target)
    assert convert_difference(there, target, source) == value


@given(one=EXACT, other=EXACT)
def test_a_difference_of_temperatures_is_not_a_temperature(one, other):
    points = convert(one, "degF", "degC") - convert(other, "degF", "degC")
    assert convert_difference(one - other, "degF", "degC") == points
    assert convert_difference(2, "degF", "degC") == Fraction(10, 9)
    assert convert(2, "degF", "degC") == Fraction(-50, 3)


@given(one=EXACT, other=EXACT)
def test_conversion_keeps_the_order(one, other):
    converted = c_from_f(one), c_from_f(other)
    assert (one < other) == (converted[0] < converted[1])


@pytest.mark.parametrize("conversion", [convert, convert_difference])
@pytest.mark.parametrize(
    ("source", "target"), [("degF", "mm"), ("g", "percent"), ("1", "ppm")]
)
def test_units_of_two_dimensions_are_refused(conversion, source, target):
    with pytest.raises(WrongUnit, match=f"{source} cannot measure"):
        conversion(1, source, target)


def test_every_unit_has_a_symbol_and_a_plain_number_has_none():
    assert {unit: symbol(unit) for unit in UNITS} == {
        "degF": "°F", "degC": "°C", "percent": "%", "ppm": "ppm", "1": "", "mm": "mm",
        "in": "in", "g": "g", "kg": "kg", "oz": "oz", "lb": "lb",
        "hPa": "hPa", "inHg": "inHg",
    }  # fmt: skip
