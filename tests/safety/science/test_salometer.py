"""The salometer's formulas: inverse of each other, refused off the scale, and how they err."""

import numpy as np
import pytest

from safety.errors import OutOfRange
from safety.science.salometer import (
    degrees_salometer_corrected,
    degrees_salometer_from_salt_pct,
    salt_pct_from_degrees_salometer,
)

SATURATED_PCT = 26.395  # definition of the degree salometer, at 60 °F
RULE = {"scale_degf": 60, "degrees_per_degf": 0.1}  # one degree for 10 °F

# True degrees, °F, what a salometer shows there: calculated from handbook densities of
# sodium chloride solutions and the expansion of glass.
CALCULATED = [
    (20, 32, 21.28), (20, 40, 21.09), (20, 80, 18.36), (20, 90, 17.38),
    (40, 32, 42.12), (40, 40, 41.66), (40, 80, 38.01), (40, 90, 36.90),
    (60, 32, 62.68), (60, 40, 62.04), (60, 80, 57.76), (60, 90, 56.57),
    (80, 32, 82.97), (80, 40, 82.23), (80, 80, 77.55), (80, 90, 76.30),
]  # fmt: skip


def test_degrees_and_percent_are_inverse_of_each_other():
    degrees = np.linspace(0, 100, 41).reshape(1, 41)
    salt = salt_pct_from_degrees_salometer(degrees, saturated_pct=SATURATED_PCT)
    back = degrees_salometer_from_salt_pct(salt, saturated_pct=SATURATED_PCT)
    assert salt.shape == degrees.shape
    assert np.allclose(back, degrees, rtol=0, atol=1e-9)


@pytest.mark.parametrize("wrong", [-0.1, 100.1, float("nan"), float("inf")])
def test_degrees_off_the_scale_are_refused(wrong):
    with pytest.raises(OutOfRange, match="0 to 100"):
        salt_pct_from_degrees_salometer(wrong, saturated_pct=SATURATED_PCT)
    with pytest.raises(OutOfRange, match="0 to 100"):
        degrees_salometer_corrected([60, wrong], 60, **RULE)


@pytest.mark.parametrize("saturated", [0, -1, 101, float("nan")])
def test_a_scale_that_is_none_is_refused(saturated):
    with pytest.raises(OutOfRange, match="saturated"):
        salt_pct_from_degrees_salometer(60, saturated_pct=saturated)


def test_more_salt_than_a_brine_holds_is_refused():
    with pytest.raises(OutOfRange, match=r"26\.395"):
        degrees_salometer_from_salt_pct(26.4, saturated_pct=SATURATED_PCT)


@pytest.mark.parametrize("degf", [27.9, 100.1, float("nan")])
def test_a_brine_too_cold_or_warm_for_the_rule_is_refused(degf):
    with pytest.raises(OutOfRange, match="brine"):
        degrees_salometer_corrected(60, degf, **RULE)


def test_a_correction_off_the_scale_is_refused():
    with pytest.raises(OutOfRange, match="corrected"):
        degrees_salometer_corrected(99, 80, **RULE)
    with pytest.raises(OutOfRange, match="corrected"):
        degrees_salometer_corrected(1, 40, **RULE)


def test_the_rule_errs_as_its_notes_say():
    true, degf, shown = (
        np.array(column, float) for column in zip(*CALCULATED, strict=True)
    )
    off = degrees_salometer_corrected(shown, degf, **RULE) - true
    weak, strong, warm = true == 20, true == 80, degf > 60
    assert np.abs(off[~weak & ~strong]).max() <= 0.7
    assert 0 < off[weak & warm].max() <= 0.4
    assert 0 < off[strong & ~warm].max() <= 0.25
    assert -1.55 <= off[weak & ~warm].min() < 0
    assert -0.71 <= off[strong & warm].min() < 0


def test_at_the_temperature_of_the_scale_nothing_is_corrected():
    assert degrees_salometer_corrected(60, 60, **RULE) == 60
