"""Heat and cold: against other programs, in order, and refused where nothing can be said."""

import math

import pytest
from CoolProp.CoolProp import PropsSI
from CoolProp.HumidAirProp import HAPropsSI
from hypothesis import given
from hypothesis import strategies as st

from safety.errors import OutOfRange, UnknownName
from safety.science.boiling import (
    boiling_c,
    standard_pressure_hpa,
    vapour_pressure_hpa,
)
from safety.science.composition import simple_heat, thermal
from safety.science.freezing import ice_point_c, latent_heat_kj, longer, plank_h
from safety.science.slab import (
    SURFACE,
    biot,
    left,
    minutes_on_line,
    minutes_until,
    one_term,
    roots,
)
from safety.science.wetbulb import wet_bulb_c

BIOT = st.floats(0.01, 1000)
FISH = {"half_thickness_m": 0.0125, "diffusivity": 1.38e-7}
ZERO_C_K = 273.15


@pytest.mark.parametrize("hpa", range(500, 1151, 25))
def test_water_boils_as_another_program_says(hpa):
    theirs = PropsSI("T", "P", hpa * 100, "Q", 0, "Water") - ZERO_C_K
    assert boiling_c(hpa) == pytest.approx(theirs, abs=0.05)


@pytest.mark.parametrize("metres", range(-500, 5001, 250))
def test_water_boils_at_an_elevation_as_another_program_says(metres):
    hpa = standard_pressure_hpa(metres)
    theirs = PropsSI("T", "P", hpa * 100, "Q", 0, "Water") - ZERO_C_K
    assert boiling_c(hpa) == pytest.approx(theirs, abs=0.05)


@given(celsius=st.floats(50, 99.9))
def test_water_boils_where_its_pressure_is_that_of_the_air(celsius):
    hpa = vapour_pressure_hpa(celsius)
    if hpa >= 500:
        assert boiling_c(hpa) == pytest.approx(celsius, abs=1e-6)


@pytest.mark.parametrize("air_c", [20, 50, 65, 80, 95, 107.2])
@pytest.mark.parametrize("dew_c", [5, 15, 40])
@pytest.mark.parametrize("hpa", [700, 1013.25])
def test_wet_bulb_as_another_program_says(air_c, dew_c, hpa):
    if dew_c > air_c:
        with pytest.raises(OutOfRange, match="dew point"):
            wet_bulb_c(air_c, dew_point_c=dew_c, pressure_hpa=hpa)
        return
    theirs = HAPropsSI(
        "B", "T", air_c + ZERO_C_K, "D", dew_c + ZERO_C_K, "P", hpa * 100
    )
    ours = wet_bulb_c(air_c, dew_point_c=dew_c, pressure_hpa=hpa)
    assert ours == pytest.approx(theirs - ZERO_C_K, abs=0.2)


@given(number=BIOT)
def test_roots_solve_their_equation(number):
    every = roots(number, 8)
    assert (every[1:] > every[:-1]).all()
    for root in every:
        assert root * math.tan(root) == pytest.approx(number, rel=1e-6)


@given(number=BIOT, early=st.floats(0.001, 3), late=st.floats(0.001, 3))
def test_less_is_left_later_and_at_the_surface(number, early, late):
    first, second = sorted((early, late))
    assert left(number, second) <= left(number, first) + 1e-9
    assert left(number, first, place=SURFACE) <= left(number, first) + 1e-9


@given(number=BIOT, fourier=st.floats(0.2, 3))
def test_one_term_is_enough_after_a_while(number, fourier):
    root, factor = one_term(number)
    assert factor * math.exp(-(root**2) * fourier) == pytest.approx(
        left(number, fourier), abs=0.02
    )


@given(number=BIOT, target=st.floats(6, 79))
def test_minutes_lead_to_the_temperature(number, target):
    minutes = minutes_until(target, start_c=5, air_c=80, biot_number=number, **FISH)
    fourier = FISH["diffusivity"] * minutes * 60 / FISH["half_thickness_m"] ** 2
    assert 80 - 75 * left(number, fourier) == pytest.approx(target, abs=1e-3)


def test_a_temperature_beyond_the_air_is_never_reached():
    for target in (80, 81, 4):
        with pytest.raises(OutOfRange, match="between 5 °C"):
            minutes_until(target, start_c=5, air_c=80, biot_number=1, **FISH)


@pytest.mark.parametrize(
    ("thickness_mm", "surface_w", "air_c", "minutes"),
    [
        # From 5 to 62.8 °C, no water given off; by a series and by finite differences
        # (computed).
        (15, 15, 70, 73), (15, 25, 90, 24), (25, 15, 80, 87), (25, 25, 70, 84),
        (40, 15, 70, 221), (40, 25, 90, 82),
    ],
)  # fmt: skip
def test_slabs_heat_as_worked_out_by_others(thickness_mm, surface_w, air_c, minutes):
    half = thickness_mm / 2000
    ours = minutes_until(
        62.7778, start_c=5, air_c=air_c, biot_number=biot(surface_w, half, 0.50),
        half_thickness_m=half, diffusivity=0.50 / 1040 / 3480,
    )  # fmt: skip
    assert ours == pytest.approx(minutes, abs=1)


@pytest.mark.parametrize(
    ("thickness_mm", "surface_w", "to_70", "to_40"),
    [
        # From 60 °C in air of 3.3 °C (computed elsewhere).
        (25, 5, 185, 623), (25, 10, 98, 325), (25, 20, 54, 177), (40, 5, 306, 1023),
        (40, 10, 167, 548), (40, 20, 97, 312),
    ],
)  # fmt: skip
def test_slabs_cool_as_worked_out_by_others(thickness_mm, surface_w, to_70, to_40):
    half = thickness_mm / 2000
    for target, minutes in ((21.1, to_70), (4.4, to_40)):
        ours = minutes_until(
            target, start_c=60, air_c=3.3, biot_number=biot(surface_w, half, 0.50),
            half_thickness_m=half, diffusivity=0.50 / 1040 / 3480,
        )  # fmt: skip
        assert ours == pytest.approx(minutes, rel=0.02, abs=2)


@pytest.mark.parametrize(
    ("function", "arguments"),
    [
        (biot, {"surface_w": 0, "half_thickness_m": 0.01, "conductivity_w": 0.5}),
        (biot, {"surface_w": 9, "half_thickness_m": -0.01, "conductivity_w": 0.5}),
        (roots, {"biot_number": 0}),
        (left, {"biot_number": 1, "fourier": -1}),
        (left, {"biot_number": 1, "fourier": 1, "place": 2}),
        (minutes_on_line, {
            "target_c": 81, "start_c": 5, "air_c": 80, "decade_min": 130, "lag": 1.1,
        }),
        (minutes_on_line, {
            "target_c": 60, "start_c": 5, "air_c": 80, "decade_min": 0, "lag": 1.1,
        }),
        (thermal, {"temperature_c": 20, "water_pct": 50}),
        (thermal, {"temperature_c": 20, "water_pct": -5, "fat_pct": 105}),
        (thermal, {"temperature_c": -1, "water_pct": 100}),
        (simple_heat, {"water_pct": 101}),
        (latent_heat_kj, {"water_pct": -1}),
        (ice_point_c, {"salt_pct": 0.5}),
        (vapour_pressure_hpa, {"temperature_c": 100.1}),
        (wet_bulb_c, {"air_c": 151, "dew_point_c": 15, "pressure_hpa": 1013}),
        (wet_bulb_c, {"air_c": 120, "dew_point_c": 100, "pressure_hpa": 1013}),
    ],
)  # fmt: skip
def test_outside_its_range_there_is_no_answer(function, arguments):
    with pytest.raises(OutOfRange):
        function(**arguments)


BEEF = {
    "thickness_m": 0.05, "surface_w": 5, "conductivity_w": 1.1, "density": 970,
    "latent_kj": 243.8, "freezing_c": -1.75, "air_c": -30,
}  # fmt: skip


def test_a_slab_freezes_slower_than_a_cylinder_and_that_slower_than_a_sphere():
    slab, cylinder, sphere = (
        plank_h(shape, **BEEF) for shape in ("slab", "cylinder", "sphere")
    )
    assert slab > cylinder > sphere > 0
    assert 1 < longer()[0] < longer()[1]


def test_air_that_is_not_colder_freezes_nothing():
    with pytest.raises(OutOfRange, match="colder"):
        plank_h("slab", **BEEF | {"air_c": -1.75})


def test_there_is_no_such_shape():
    for shape in ("cube", "basis"):
        with pytest.raises(UnknownName, match="slab, cylinder, sphere"):
            plank_h(shape, **BEEF)


def test_across_the_layers_heat_is_carried_worse():
    fish = thermal(20, water_pct=72, protein_pct=20, fat_pct=8)
    assert 0.7 < fish.conductivity_across / fish.conductivity < 0.85
    assert fish.diffusivity == pytest.approx(
        fish.conductivity / fish.density / fish.heat
    )
