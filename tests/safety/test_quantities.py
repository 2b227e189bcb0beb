"""What can be measured, in which units, and what is a slip of the finger."""

from decimal import Decimal

import pytest

from safety.errors import OutOfSpan, UnknownName, WrongUnit
from safety.quantities import (
    INSTRUMENT_KINDS,
    QUANTITIES,
    quantity,
    units_of_instrument,
)
from safety.units import UNITS


def test_every_unit_of_a_quantity_exists():
    for known in QUANTITIES.values():
        assert set(known.units) <= set(UNITS)
        assert known.lowest < known.highest


def test_temperature_ph_and_water_activity_come_from_instruments_that_are_checked():
    measured_by = {known.instrument for known in QUANTITIES.values()} - {None}
    assert measured_by == set(INSTRUMENT_KINDS)
    assert units_of_instrument("temperature") == ("degF", "degC")
    assert units_of_instrument("ph") == units_of_instrument("water-activity") == ("1",)


def test_an_unknown_quantity_is_refused_with_what_there_is():
    with pytest.raises(UnknownName, match=r"no quantity called 'heat'.*salt"):
        quantity("heat")
    with pytest.raises(UnknownName, match="no kind of instrument called 'ruler'"):
        units_of_instrument("ruler")


def test_a_unit_that_cannot_measure_it_is_refused():
    with pytest.raises(WrongUnit, match="percent cannot measure core temperature"):
        quantity("core-temperature").check_unit("percent")
    quantity("core-temperature").check_unit("degC")


@pytest.mark.parametrize(
    ("name", "value", "unit"),
    [
        ("core-temperature", "1450", "degF"),
        ("core-temperature", "230.1", "degF"),
        ("core-temperature", "110.1", "degC"),
        ("core-temperature", "-60.1", "degF"),
        ("ph", "14.01", "1"),
        ("ph", "-0.01", "1"),
        ("water-activity", "97", "1"),
        ("moisture", "100.1", "percent"),
        ("salt", "-1", "percent"),
        ("thickness", "20", "in"),
    ],
)
def test_an_impossible_value_says_what_to_look_at(name, value, unit):
    with pytest.raises(OutOfSpan, match="Check the decimal point and the unit") as slip:
        quantity(name).check_plausible(Decimal(value), unit)
    assert value in str(slip.value)


@pytest.mark.parametrize(
    ("name", "value", "unit"),
    [
        ("core-temperature", "145.0", "degF"),
        ("core-temperature", "230", "degF"),
        ("core-temperature", "110", "degC"),
        ("air-temperature", "-4", "degF"),
        ("ph", "0", "1"),
        ("water-activity", "1", "1"),
        ("water-phase-salt", "3.448", "percent"),
        ("thickness", "1.5", "in"),
        ("mass", "14.1", "kg"),
    ],
)
def test_a_possible_value_passes(name, value, unit):
    quantity(name).check_plausible(Decimal(value), unit)


def test_a_possible_value_in_a_wrong_unit_is_refused():
    with pytest.raises(WrongUnit):
        quantity("ph").check_plausible(Decimal(7), "degC")
