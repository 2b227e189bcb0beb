"""Salt in a food and in its water: inverse of each other, and refused where there is no sense."""

import numpy as np
import pytest

from safety.errors import OutOfRange
from safety.science.salt import (
    salt_pct_for_water_phase_salt,
    salt_pct_from_sodium_pct,
    water_activity_from_water_phase_salt_pct,
    water_phase_salt_pct,
)

# Ross and Dalgaard 2004, coefficients from memory; checked up to 14 %.
CURVE = {"linear": 0.0052471, "square": 0.00012206, "highest_pct": 14}

# Water phase salt, water activity of plain brine at 25 °C: calculated by Pitzer's equations.
CALCULATED = [(1, 0.9943), (3.5, 0.9796), (5, 0.9702), (10, 0.9351), (14, 0.9016)]


def test_salt_in_food_and_in_its_water_are_inverse_of_each_other():
    aim, moisture = np.meshgrid(np.linspace(0, 20, 21), np.linspace(30, 80, 11))
    salt = salt_pct_for_water_phase_salt(aim, moisture)
    assert salt.shape == aim.shape
    assert np.allclose(water_phase_salt_pct(salt, moisture), aim, rtol=0, atol=1e-9)


@pytest.mark.parametrize(
    ("salt", "moisture"),
    [(-1, 70), (40, 61), (3, 0), (0, 0), (float("nan"), 70), (3, float("inf"))],
)
def test_food_that_cannot_be_is_refused(salt, moisture):
    with pytest.raises(OutOfRange):
        water_phase_salt_pct(salt, moisture)


def test_one_wrong_value_of_many_is_found_and_named():
    with pytest.raises(OutOfRange, match="120 %"):
        water_phase_salt_pct([2, 3, 120], 70)


@pytest.mark.parametrize(("aim", "moisture"), [(100, 70), (101, 70), (60, 70), (3, -1)])
def test_an_aim_that_does_not_fit_is_refused(aim, moisture):
    with pytest.raises(OutOfRange):
        salt_pct_for_water_phase_salt(aim, moisture)


def test_more_moisture_needs_more_salt():
    salt = salt_pct_for_water_phase_salt(3.5, [50, 60, 70, 80])
    assert np.all(np.diff(salt) > 0)


def test_sodium_becomes_more_salt_than_it_weighs():
    # Sodium 22.98977, chlorine 35.453 g/mol.
    factor = (22.98977 + 35.453) / 22.98977
    assert factor == pytest.approx(2.5421, abs=0.00005)
    assert salt_pct_from_sodium_pct(1, salt_per_sodium=factor) == factor
    with pytest.raises(OutOfRange, match="salt"):
        salt_pct_from_sodium_pct(40, salt_per_sodium=factor)
    with pytest.raises(OutOfRange, match="above 0"):
        salt_pct_from_sodium_pct(1, salt_per_sodium=0)


def test_the_hint_of_water_activity_is_never_below_plain_brine_by_much():
    salt, activity = (np.array(column) for column in zip(*CALCULATED, strict=True))
    off = water_activity_from_water_phase_salt_pct(salt, **CURVE) - activity
    assert np.all(off > 0)
    assert off.max() <= 0.00105


@pytest.mark.parametrize("salt", [-0.1, 14.01, 26, float("nan")])
def test_no_hint_outside_the_range_that_was_checked(salt):
    with pytest.raises(OutOfRange, match="0 to 14"):
        water_activity_from_water_phase_salt_pct(salt, **CURVE)
