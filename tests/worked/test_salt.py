"""Examples of brine, cups, cures, water phase salt, water activity and diffusion."""

import pytest

from safety.errors import OutOfRange
from safety.science.activity import (
    activity_coefficient,
    food_water_activity,
    salted_fish_water_activity,
    short_water_activity,
    short_water_phase_salt_pct,
    sugar_water_activity,
    water_activity_from_osmotic,
    water_activity_of_brine,
)
from safety.science.brine import (
    brine_of,
    density_kg_per_l,
    freezing_c,
    molality,
    salt_pct_of_molality,
    salt_to_strengthen_kg,
    saturated_pct,
    water_to_weaken_kg,
)
from safety.science.curing import (
    dry_cure_water_phase_salt_pct,
    nitrite_ppm_pumped,
    nitrite_ppm_shared,
    pickle_pct_for_pump,
    pickle_salt_pct,
    pumped_salt_pct,
    shared_water_phase_salt_pct,
)
from safety.science.diffusing import (
    first_root,
    fourier,
    fourier_for_share,
    share_taken_up,
)
from safety.science.drying import (
    mean_for_share,
    salt_to_keep_pct,
    water_phase_salt_after_loss_pct,
)
from safety.science.household import brine_by_cups, grams, salt_share_of_mix
from safety.science.hydrometer import degrees_shown, sugared, true_degrees
from safety.science.salt import water_phase_salt_pct
from safety.science.salt_known import trials
from safety.science.sourced import load
from safety.units import convert


@pytest.mark.parametrize(
    ("degrees", "percent", "pounds", "water", "within"),
    # A brine chart of the salt industry as reprinted (seen 2): percent, pounds of salt to a
    # US gallon of water, pounds of water in a US gallon of brine.
    [
        (60, 15.837, 1.568, 7.84, (0.002, 0.001, 0.01)),
        (40, 10.558, 0.983, 8.030, (0.001, 0.001, 0.006)),
        (50, 13.198, 1.266, 7.937, (0.001, 0.001, 0.006)),
        (10, 2.640, 0.226, 8.262, (0.001, 0.001, 0.006)),
    ],
)
def test_row_of_the_brine_chart(degrees, percent, pounds, water, within):
    brine = brine_of("degrees", degrees)
    assert brine.salt_pct == pytest.approx(percent, abs=within[0])
    assert brine.salt_lb_per_us_gal_water == pytest.approx(pounds, abs=within[1])
    assert brine.water_lb_per_us_gal_brine == pytest.approx(water, abs=within[2])
    assert brine_of("salt_pct", percent).degrees == pytest.approx(degrees, abs=0.01)


def test_saturated_row_of_the_brine_chart():
    # The same chart (seen 2).
    brine = brine_of("degrees", 100)
    assert brine.salt_pct == pytest.approx(26.395, abs=0.001)
    assert brine.salt_lb_per_us_gal_water == pytest.approx(2.986, abs=0.001)


def test_fifteen_imperial_gallons():
    # British Columbia, Fish Safety Note, Preparing a saltbrine (seen 2): 28.23 lb, 12.8 kg,
    # 1.882 lb to an imperial gallon, 187.8 g to a litre.
    brine = brine_of("degrees", 60)
    assert brine.salt_lb_per_imp_gal_water == pytest.approx(1.882, rel=0.003)
    assert brine.salt_g_per_l_water == pytest.approx(187.8, rel=0.003)
    pounds = 15 * brine.salt_lb_per_imp_gal_water
    assert pounds == pytest.approx(28.23, rel=0.003)
    assert float(convert(pounds, "lb", "kg")) == pytest.approx(12.8, rel=0.003)


def test_fifteen_us_gallons_take_less():
    # Computed: 15 times 1.568 lb.
    pounds = 15 * brine_of("degrees", 60).salt_lb_per_us_gal_water
    assert pounds == pytest.approx(23.52, abs=0.02)
    assert float(convert(pounds, "lb", "kg")) == pytest.approx(10.67, abs=0.02)


def test_a_litre_of_brine():
    # Seafish, Seafood Academy, brine strength table (seen 1): 80 degrees.
    brine = brine_of("degrees", 80)
    assert brine.salt_pct == pytest.approx(21.12, abs=0.01)
    assert brine.salt_g_per_l_water == pytest.approx(267.69, abs=0.4)
    assert brine.brine_g_per_l == pytest.approx(1157.4, abs=1.2)
    assert brine.salt_g_per_l_brine == pytest.approx(244.4, abs=0.4)


@pytest.mark.parametrize(
    ("percent", "density", "moles", "freezes"),
    # CRC Handbook of Chemistry and Physics, 102nd edition (seen 1).
    [(10, 1.0707, 1.901, -6.56), (20, 1.1478, 4.278, -16.46)],
)
def test_brine_of_the_handbook(percent, density, moles, freezes):
    assert density_kg_per_l(percent, 20) == pytest.approx(density, abs=2e-4)
    assert molality(percent) == pytest.approx(moles, abs=0.002)
    assert freezing_c(percent) == pytest.approx(freezes, abs=0.05)


def test_density_by_temperature():
    # Kaufmann 1960 (seen 1).
    found = [density_kg_per_l(20, celsius) for celsius in (0, 10, 25)]
    assert found == pytest.approx([1.15663, 1.15254, 1.14533], abs=2e-4)


def test_density_by_moles():
    # Pitzer, Peiper and Busey 1984 (seen 1).
    found = [density_kg_per_l(salt_pct_of_molality(moles), 25) for moles in (1, 3, 6)]
    assert found == pytest.approx([1.03623, 1.10577, 1.1942], abs=5e-4)


def test_saturation_by_temperature():
    # Kaufmann 1960 (seen 1).
    found = [saturated_pct(celsius) for celsius in (0, 20, 25, 100)]
    assert found == pytest.approx([26.34, 26.43, 26.48, 28.12], abs=0.01)


def test_a_salometer_in_cold_and_in_warm_brine():
    # Computed from densities and the growth of glass.
    cold, warm = float(convert(40, "degF", "degC")), float(convert(80, "degF", "degC"))
    assert degrees_shown(20, cold) == pytest.approx(21.09, abs=0.05)
    assert degrees_shown(80, warm) == pytest.approx(77.55, abs=0.05)
    assert true_degrees(77.55, warm) - 77.55 == pytest.approx(2.45, abs=0.05)
    assert true_degrees(21.09, cold) - 21.09 == pytest.approx(-1.09, abs=0.1)


def test_sugar_looks_like_salt():
    # Computed from densities of the CRC Handbook, volumes added.
    brine = sugared(10, 5)
    assert brine.density == pytest.approx(1.0930, abs=0.002)
    assert brine.shown_degrees == pytest.approx(49.1, abs=0.8)
    assert brine.shown_salt_pct == pytest.approx(12.97, abs=0.2)
    assert brine.true_degrees == pytest.approx(37.9, abs=0.1)


def test_brine_is_made_stronger():
    # Computed: 20 (15.837 - 12.670) / (100 - 15.837).
    before, after = (brine_of("degrees", each).salt_pct for each in (48, 60))
    assert salt_to_strengthen_kg(20, before, after) == pytest.approx(0.753, abs=0.002)


def test_brine_is_made_weaker():
    # Computed by the balance of masses.
    before, after = (brine_of("degrees", each).salt_pct for each in (80, 60))
    assert water_to_weaken_kg(20, before, after) == pytest.approx(6.667, abs=0.002)


@pytest.mark.parametrize(
    ("salt", "weighed"),
    # A quarter cup of each weighed on one bench, 2012 (seen 1).
    [
        ("table-salt", 76.0),
        ("pickling-salt", 74.0),
        ("coarse-sea-salt", 66.8),
        ("fine-sea-salt", 64.8),
        ("dense-flake-kosher", 62.0),
        ("light-flake-kosher", 45.2),
        ("finishing-flakes", 33.2),
    ],
)
def test_weighed_quarter_cups_lie_in_the_range(salt, weighed):
    row = load("household")["bulk"]["salts"][salt]
    assert row["weighed_quarter_cup_g"] == weighed
    cup = grams(salt, 0.25)
    assert cup.low - 0.5 <= weighed <= cup.high + 0.5


def test_sugar_and_salt_by_volume():
    # Computed from 215 g of packed brown sugar and 288 or 140 g of salt to the cup.
    found = [
        salt_share_of_mix(salt, "brown-sugar-packed", 4).likely
        for salt in ("table-salt", "light-flake-kosher")
    ]
    assert found == pytest.approx([25.1, 14.0], abs=0.1)


def test_a_cup_of_salt_to_seven_of_water():
    # Computed from 288, 245 and 140 g to the cup and 236.6 g of water.
    salts = ("table-salt", "dense-flake-kosher", "light-flake-kosher")
    found = [brine_by_cups(salt, 1, 7).likely for salt in salts]
    assert found == pytest.approx([14.8, 12.9, 7.8], abs=0.1)


@pytest.mark.parametrize(
    ("salt", "moisture", "expected"),
    # Computed by the formula of Ontario, British Columbia and Oregon (seen 3).
    [
        (2.8, 60, 4.459),
        (2.25, 62.5, 3.475),
        (1.8, 70, 2.507),
        (3.5, 65, 5.109),
        (3.0, 73, 3.947),
    ],
)
def test_water_phase_salt_of_five_foods(salt, moisture, expected):
    assert float(water_phase_salt_pct(salt, moisture)) == pytest.approx(
        expected, abs=0.001
    )


def test_drying_raises_water_phase_salt():
    # Computed, all of the loss water.
    found = water_phase_salt_after_loss_pct(1.8, 70, [20, 25])
    assert found == pytest.approx([3.475, 3.846], abs=0.001)


def test_three_and_a_half_per_cent_in_other_words():
    # Computed by definition.
    assert brine_of("salt_pct", 3.5).salt_g_per_kg_water / 10 == pytest.approx(
        3.627, abs=0.001
    )
    assert molality(3.5) == pytest.approx(0.6206, abs=0.0005)


def test_salt_that_fish_must_keep():
    # Computed, balance of masses.
    assert float(salt_to_keep_pct(3.5, 71.6, 80)) == pytest.approx(1.806, abs=0.002)


def test_mean_to_aim_at():
    # Computed from the normal distribution, 1.645 and 2.326 deviations.
    found = [mean_for_share(3.5, spread_frac=0.10, share=each) for each in (0.95, 0.99)]
    assert found == pytest.approx([4.19, 4.56], abs=0.01)


def test_water_activity_by_moles():
    # Output of a public geochemical program (seen 1).
    moles = (0.1, 1, 2, 3, 4, 5, 6)
    found = [water_activity_of_brine(salt_pct_of_molality(each)) for each in moles]
    printed = [0.997, 0.967, 0.932, 0.893, 0.851, 0.807, 0.759]
    assert found == pytest.approx(printed, abs=0.001)


def test_activity_coefficients():
    # The same output (seen 1).
    found = [activity_coefficient(moles) for moles in (1, 3, 6)]
    assert found == pytest.approx([0.6561, 0.7128, 0.9874], abs=0.005)


def test_water_activity_from_a_printed_coefficient():
    # Manual of an instrument, quoting Robinson and Stokes (seen 1).
    assert water_activity_from_osmotic(6, 1.271) == pytest.approx(0.760, abs=0.001)


@pytest.mark.parametrize(
    ("salt", "printed", "worked_out"),
    [
        # FDA, Hazards Guide, Appendix 4, Table A-1, June 2022 (seen 1).
        (5, 0.97, 0.9702),
        (10, 0.935, 0.9351),
        # A review of cold-smoked salmon (seen 1).
        (3, 0.983, 0.9826),
        (8, 0.950, 0.9500),
    ],
)
def test_printed_pairs_of_salt_and_water_activity(salt, printed, worked_out):
    found = water_activity_of_brine(salt)
    assert found == pytest.approx(printed, abs=0.001)
    assert found == pytest.approx(worked_out, abs=0.0001)


def test_moist_salted_fish():
    # Lupin, Boeri and Moschiar 1981 (seen 1).
    found = [salted_fish_water_activity(moles) for moles in (1, 3)]
    assert found == pytest.approx([0.960, 0.876], abs=0.0005)


def test_short_equation_both_ways():
    # Ross and Dalgaard 2004 (memory).
    assert short_water_activity(3.5) == pytest.approx(0.9801, abs=0.0001)
    assert short_water_phase_salt_pct(0.97) == pytest.approx(5.037, abs=0.002)


def test_ten_grams_of_sugar():
    # Norrish 1966 (computed).
    assert sugar_water_activity("sucrose", 10) == pytest.approx(0.9946, abs=0.0002)
    assert sugar_water_activity("glucose", 10) == pytest.approx(0.9899, abs=0.0002)


def test_salt_and_sugar_together():
    # Ross 1975 (computed): 0.9796 times 0.9973.
    found = food_water_activity(3.5, sucrose_g_per_100_g_water=5)
    assert found.likely == pytest.approx(0.9770, abs=0.0003)


@pytest.mark.parametrize(
    ("strength", "times", "foretold", "measured", "activity", "measured_activity"),
    # Medina-Vivanco, Sobral and Hubinger, tilapia in little brine (seen 1); water shared.
    [
        (20, 3.25, 16.1, 15.69, 0.886, 0.88),
        (26, 5.7, 22.9, 22.47, 0.809, 0.81),
    ],
)
def test_tilapia_in_little_brine(
    strength, times, foretold, measured, activity, measured_activity
):
    found = float(shared_water_phase_salt_pct(strength, times, 78.5))
    assert found == pytest.approx(foretold, abs=0.06)
    assert found == pytest.approx(measured, abs=0.6)
    assert found > measured  # an upper bound
    assert water_activity_of_brine(measured) == pytest.approx(activity, abs=0.001)
    assert water_activity_of_brine(found) == pytest.approx(measured_activity, abs=0.01)


def test_brine_and_fish_at_two_to_one():
    # Computed: water shared.
    assert float(shared_water_phase_salt_pct(10, 2, 70)) == pytest.approx(
        7.41, abs=0.01
    )


def test_salmon_salted_by_hand():
    # Foods 9(8) 1048, table 2 (seen 1): 30 g to a kilogram, 65 % water, 11 % lost; 0.97.
    salt = 3.0 / 1.03
    found = float(water_phase_salt_after_loss_pct(salt, 65 / 1.03, 11 / 1.03))
    assert found == pytest.approx(5.26, abs=0.02)
    assert water_activity_of_brine(found) == pytest.approx(0.9685, abs=0.0005)
    assert water_activity_of_brine(found) == pytest.approx(0.97, abs=0.005)


def test_dry_cure_to_equilibrium():
    # Computed by definition.
    assert float(dry_cure_water_phase_salt_pct(2.5, 71.6)) == pytest.approx(
        3.37, abs=0.01
    )
    of_all = 2.5 / (2.5 + 100)
    assert 100 * of_all == pytest.approx(2.44, abs=0.01)


def test_pickle_for_a_pump():
    # Computed by the balance of masses.
    assert pickle_pct_for_pump(2.0, 10) == pytest.approx(22.0, abs=0.01)
    assert float(pumped_salt_pct(10, 22.0)) == pytest.approx(2.0, abs=0.001)


@pytest.mark.parametrize(
    ("ounces", "printed", "unrounded"), [(3, 140, 140.7), (4, 188, 187.6)]
)
def test_nitrite_of_a_pumped_pickle(ounces, printed, unrounded):
    # USDA-FSIS, Processing Inspectors' Calculations Handbook, 1995 (seen 5).
    found = nitrite_ppm_pumped(ounces / 16, 6.25, 8.33, 0.10)
    assert found == pytest.approx(printed, abs=1)
    assert found == pytest.approx(unrounded, abs=0.05)


def test_percent_pump_must_be_a_decimal():
    # The same handbook prints "% pump"; taken at its word it is a hundred times too much.
    with pytest.raises(OutOfRange, match="pump as a decimal"):
        nitrite_ppm_pumped(3 / 16, 6.25, 8.33, 10)


def test_nitrite_and_salt_of_a_recipe():
    # A recipe (seen 1): 32 g of 5.88 % cure and 110 g of salt in 1266 g of brine.
    assert nitrite_ppm_pumped(32, 5.88, 1266, 0.10) == pytest.approx(148.6, abs=0.2)
    assert pickle_salt_pct(110, 32, 5.88, 1266) == pytest.approx(11.07, abs=0.02)


def test_nitrite_by_immersion():
    # The same handbook, immersion, second method (seen 5): 1 oz, 10 lb, 20 lb.
    assert nitrite_ppm_shared(1 / 16, 6.25, 10, 20) == pytest.approx(130.2, abs=0.2)


def test_share_taken_up_from_a_large_bath():
    # Crank, series (computed).
    found = [share_taken_up(time) for time in (0.05, 0.1, 0.5, 1.0)]
    assert found == pytest.approx([0.2523, 0.3568, 0.7640, 0.9313], abs=0.0001)


def test_share_taken_up_from_a_small_bath():
    # Crank; the root agrees with his table (memory).
    assert first_root(1) == pytest.approx(2.0288, abs=0.0001)
    assert share_taken_up(0.1, bath_to_slab=1) == pytest.approx(0.5528, abs=0.0002)


def test_time_to_the_half():
    # Computed: 20 mm, both faces, 2e-10 m²/s.
    needed = fourier_for_share(0.5)
    assert needed == pytest.approx(0.1967, abs=0.0001)
    assert needed / fourier(2e-10, 3600, 0.01) == pytest.approx(27.3, abs=0.1)


def test_carp_by_the_root_of_time_is_foretold_too_early():
    # J. Trop. Agric. Food Sci. 38(1), 2010 (seen 2): 5.2 % in 10 min; 3.5 % in 5.4 and 5.9.
    found = {trial["id"]: trial for trial in trials()}
    measured, minutes = found["T3"]["measured"][0], found["T3"]["minutes"]
    assert (measured, minutes) == (5.2, 10)
    foretold = minutes * (3.5 / measured) ** 2
    assert foretold == pytest.approx(4.53, abs=0.1)
    # By the share of 20 % brine, thickness unknown: the same while Fourier is small.
    times = [fourier_for_share(each / 20) for each in (3.5, 5.2)]
    assert minutes * times[0] / times[1] == pytest.approx(4.55, abs=0.1)
    assert [found[each]["minutes"] for each in ("T2", "T1")] == [5.4, 5.9]
    assert foretold < 5.4


def test_gravlax_of_two_thicknesses():
    # J. Aquac. Mar. Biol. 6(2), 2017 (seen 2): 11.41 and 6.85 % in 10 and 20 mm.
    ratio = 11.41 / 6.85
    assert ratio == pytest.approx(1.67, abs=0.01)
    early = share_taken_up(0.001) / share_taken_up(0.001 / 4)
    assert early == pytest.approx(2.00, abs=0.01)
    later = share_taken_up(0.98) / share_taken_up(0.98 / 4)
    assert later == pytest.approx(ratio, abs=0.01)
