"""Examples of heat, boiling and ice, worked by hand or by other programs."""

import math

import pytest

from safety.science.boiling import boiling_c, standard_pressure_hpa
from safety.science.composition import simple_heat, simple_latent_heat, thermal
from safety.science.freezing import ice_point_c, latent_heat_kj, plank_h
from safety.science.slab import (
    SURFACE,
    biot,
    minutes_on_line,
    minutes_until,
    one_term,
)
from safety.science.wetbulb import wet_bulb_c
from safety.units import convert


def test_a_steak_is_chilled_to_its_surface():
    # A textbook of heat transfer (seen 2): 2 cm thick, 25 to 2 °C at the surface, air of
    # -11 °C, 9 W/(m² K), 0.45 W/(m K), 0.91e-7 m²/s: Biot 0.2, 0.4328, 1.0311, 5590 s.
    number = biot(9, 0.01, 0.45)
    assert number == pytest.approx(0.2)
    assert one_term(number) == pytest.approx((0.4328, 1.0311), abs=1e-4)
    slab = {
        "start_c": 25, "air_c": -11, "biot_number": number, "half_thickness_m": 0.01,
        "diffusivity": 0.91e-7,
    }  # fmt: skip
    assert minutes_until(2, place=SURFACE, **slab) * 60 == pytest.approx(5590, abs=10)
    assert minutes_until(2, **slab) == pytest.approx(103, abs=1)


def test_first_term_at_a_number_of_biot_of_one():
    # ASHRAE Handbook, Refrigeration, chapter 10 (seen 2): 0.8603, 1.1191; its fit 0.860972.
    root, factor = one_term(1)
    assert (root, factor) == pytest.approx((0.8603, 1.1191), abs=1e-4)
    assert root == pytest.approx(0.860972, abs=1e-3)


def test_slope_and_lag_of_a_slab_in_perfect_contact():
    # ASHRAE Handbook, Refrigeration, chapter 10 (seen 2): above Biot 100, 0.9332 and 1.273.
    root, factor = one_term(1e6)
    assert math.log(10) / root**2 == pytest.approx(0.9332, abs=5e-4)
    assert factor == pytest.approx(1.273, abs=5e-4)


def test_a_dry_slab_heats_as_worked_out_by_others():
    # By a series and by finite differences, 0.50 W/(m K), 1040 kg/m³, 3480 J/(kg K).
    number = biot(15, 0.0125, 0.50)
    minutes = minutes_until(
        62.8, start_c=5, air_c=80, biot_number=number, half_thickness_m=0.0125,
        diffusivity=0.50 / 1040 / 3480,
    )  # fmt: skip
    assert minutes == pytest.approx(86.5, abs=1)


def test_wet_bulb_as_worked_out_by_another_program():
    # Worked out with another program (computed).
    assert wet_bulb_c(80, dew_point_c=15, pressure_hpa=1013.25) == pytest.approx(
        32.1, abs=0.2
    )


def test_chinook_by_its_composition():
    # ASHRAE equations and a table's composition (computed); ash of 1.2 % added.
    fish = thermal(20, water_pct=71.64, protein_pct=19.93, fat_pct=10.43, ash_pct=1.2)
    assert fish.density == pytest.approx(1044, abs=3)
    assert fish.heat == pytest.approx(3472, abs=10)
    assert fish.conductivity == pytest.approx(0.492, abs=0.003)
    assert fish.conductivity_across == pytest.approx(0.380, abs=0.003)
    assert fish.diffusivity == pytest.approx(1.36e-7, abs=0.01e-7)


def test_heat_by_water_alone():
    # Earle, Unit Operations in Food Processing, Appendix 7 (seen 1); its fish row says 276.
    assert simple_heat(70) == pytest.approx(3.185, abs=1e-3)
    assert simple_latent_heat(70) == pytest.approx(234.5, abs=0.1)


def test_minutes_along_the_straight_part():
    # ASHRAE Handbook, Refrigeration, equations of heating time (computed): 89.5 min.
    minutes = minutes_on_line(62.8, start_c=5, air_c=80, decade_min=130, lag=1.12)
    assert minutes == pytest.approx(89.5, abs=0.1)


def test_a_sphere_freezes():
    # A textbook of food engineering (memory): 2603 s.
    hours = plank_h(
        "sphere", thickness_m=0.07, surface_w=50, conductivity_w=1.2, density=1000,
        latent_kj=250, freezing_c=-1.25, air_c=-40,
    )  # fmt: skip
    assert hours * 3600 == pytest.approx(2603, abs=5)


def test_a_slab_of_beef_freezes():
    # A problem seen in two places; 334 kJ/kg of water (computed): 12.3 h.
    hours = plank_h(
        "slab", thickness_m=0.05, surface_w=5, conductivity_w=1.1, density=970,
        latent_kj=latent_heat_kj(73), freezing_c=-1.75, air_c=-30,
    )  # fmt: skip
    assert hours == pytest.approx(12.3, abs=0.1)


@pytest.mark.parametrize(
    ("feet", "fahrenheit", "circulated"),
    # Standard atmosphere and IAPWS (computed); a list that circulates is too hot (seen 1).
    [(5_000, 202.8, 203.2), (10_000, 193.7, 194.7)],
)
def test_water_boils_at_two_elevations(feet, fahrenheit, circulated):
    celsius = boiling_c(standard_pressure_hpa(feet * 0.3048))
    boils = float(convert(celsius, "degC", "degF"))
    assert boils == pytest.approx(fahrenheit, abs=0.1)
    assert boils < circulated


def test_salty_slush_is_colder():
    # CRC Handbook, 102nd edition (seen 1).
    assert ice_point_c(1.0) == pytest.approx(-0.59, abs=0.01)
