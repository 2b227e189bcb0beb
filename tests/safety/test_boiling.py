"""Boiling water: against published check values and tables, and never too narrow."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safety.science.boiling import (
    boiling_c,
    boiling_span,
    is_pressure_of,
    saturation_k,
    sources,
    standard_pressure_hpa,
)
from safety.units import convert


@pytest.mark.parametrize(
    ("pressure_mpa", "expected_k"),
    # IAPWS R7-97(2012), table 36 (memory).
    [(0.1, 372.755919), (1, 453.035632), (10, 584.149488)],
)
def test_saturation_temperature_has_the_check_values_of_the_release(
    pressure_mpa, expected_k
):
    assert saturation_k(pressure_mpa) == pytest.approx(expected_k, abs=1e-6)


@pytest.mark.parametrize(
    ("pressure_hpa", "expected_c"),
    [
        # Worked out with two independent programs of the same formulation (computed).
        (1060, 101.243),
        (1040, 100.706),
        (1013.25, 99.974),
        (990, 99.325),
        (950, 98.178),
        (900, 96.687),
        (850, 95.125),
        (800, 93.486),
        (700, 89.932),
    ],
)
def test_water_boils_as_worked_out_by_others(pressure_hpa, expected_c):
    assert boiling_c(pressure_hpa) == pytest.approx(expected_c, abs=0.002)


@pytest.mark.parametrize(
    ("elevation_m", "pressure_kpa", "expected_c"),
    [
        # Standard atmosphere, and the same two programs (computed).
        (-152.4, 103.169, 100.48),
        (0, 101.325, 99.97),
        (304.8, 97.717, 98.96),
        (609.6, 94.214, 97.95),
        (1524, 84.311, 94.90),
        (1676.4, 82.746, 94.40),
        (2286, 76.720, 92.36),
        (3048, 69.695, 89.82),
        (3657.6, 64.458, 87.78),
    ],
)
def test_water_boils_cooler_higher_up(elevation_m, pressure_kpa, expected_c):
    pressure_hpa = standard_pressure_hpa(elevation_m)
    assert pressure_hpa / 10 == pytest.approx(pressure_kpa, abs=0.001)
    assert boiling_c(pressure_hpa) == pytest.approx(expected_c, abs=0.006)


@pytest.mark.parametrize(
    ("elevation_ft", "printed_f"),
    # Elevation tables as reprinted for consumers, rounded and partly of an older
    # atmosphere (seen 1): within 0.2 °F of ours.
    [(0, 212.0), (1000, 210.2), (2000, 208.4), (3000, 206.6), (5000, 203.0)],
)
def test_reprinted_tables_agree_within_their_rounding(elevation_ft, printed_f):
    likely_c = boiling_span(elevation_ft * 0.3048).likely_c
    assert likely_c == pytest.approx((printed_f - 32) / 1.8, abs=0.2 / 1.8)


@pytest.mark.parametrize(
    ("elevation_m", "low_c", "high_c"),
    # 30 hPa of weather either way, by the pressure table above (computed).
    [(0, 99.13, 100.79), (1600, 93.66, 95.61)],
)
def test_without_a_barometer_the_weather_is_allowed_for(elevation_m, low_c, high_c):
    span = boiling_span(elevation_m)
    assert span.low_c == pytest.approx(low_c, abs=0.02)
    assert span.high_c == pytest.approx(high_c, abs=0.02)


@given(
    elevation_m=st.floats(-400, 4000),
    off_hpa=st.floats(-30, 30),
    barometer=st.booleans(),
)
def test_the_range_holds_what_the_pressure_gives(elevation_m, off_hpa, barometer):
    there_hpa = standard_pressure_hpa(elevation_m) + off_hpa
    span = boiling_span(elevation_m, there_hpa if barometer else None)
    assert span.low_c <= boiling_c(there_hpa) <= span.high_c
    assert span.low_c < span.likely_c < span.high_c


def test_a_barometer_makes_the_range_narrow():
    span = boiling_span(195, 990)
    assert span.high_c - span.low_c < 0.06
    assert span.likely_c == pytest.approx(99.325, abs=0.001)


@pytest.mark.parametrize("elevation_m", [-501, 5001, float("nan")])
def test_no_food_is_made_there(elevation_m):
    with pytest.raises(ValueError, match="no elevation"):
        boiling_span(elevation_m)


@pytest.mark.parametrize("pressure_hpa", [499, 1151, 30, float("nan")])
def test_no_weather_has_that_pressure(pressure_hpa):
    with pytest.raises(ValueError, match="no pressure"):
        boiling_c(pressure_hpa)


def test_a_pressure_reduced_to_sea_level_is_recognised_high_up():
    assert not is_pressure_of(1013, 1600)
    assert is_pressure_of(835, 1600)
    assert is_pressure_of(1013.25 - 60, 0)
    assert not is_pressure_of(1013.25 - 60.1, 0)


def test_an_inch_of_mercury_is_what_the_tables_say():
    # NIST SP 811, appendix B.8: conventional inch of mercury, 3386.389 Pa (memory).
    assert float(convert(1, "inHg", "hPa")) == pytest.approx(33.86389, abs=1e-5)


def test_every_source_is_named():
    assert any("IAPWS R7-97" in source for source in sources())
    assert any("ISO 2533" in source for source in sources())
