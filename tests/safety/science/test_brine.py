"""Brine, cups, cures and drying: refused outside the range, inverse where they should be."""

import csv
import io

import pytest

from safety.errors import OutOfRange, UnknownName
from safety.science.activity import (
    food_water_activity,
    sugar_water_activity,
    water_activity_of_brine,
    water_phase_salt_of_brine_pct,
)
from safety.science.brine import (
    brine_of,
    brine_of_pct,
    density_kg_per_l,
    freezing_c,
    molality,
    salt_pct_of_molality,
    salt_to_strengthen_kg,
    saturated_pct,
    water_to_weaken_kg,
)
from safety.science.curing import (
    cure_for_nitrite_g,
    dry_cure_water_phase_salt_pct,
    nitrite_ppm_shared,
    pickle_pct_for_pump,
    shared_water_phase_salt_pct,
)
from safety.science.drying import (
    mean_for_share,
    salt_to_keep_pct,
    water_phase_salt_after_loss_pct,
)
from safety.science.household import (
    brine_by_cups,
    grams,
    salt_share_of_mix,
    salts,
    sugars,
)
from safety.science.hydrometer import (
    degrees_shown,
    strength_from_reading,
    sugared,
    true_degrees,
)
from safety.science.sourced import load

CITED = {"publisher", "title", "section", "edition", "date", "basis", "checked"}
FILES = ("brine", "curing", "household", "water_activity", "salting_trials")

# Seafish, Seafood Academy, brine strength table (seen 1): degrees, percent, g of salt to a
# litre of water, g to a litre of brine, g of salt in it.
PRINTED = """\
10,2.64,27.07,1016.8,26.8
20,5.28,55.66,1035.6,54.6
30,7.92,86.01,1055.6,83.6
40,10.56,117.98,1075.5,113.5
50,13.2,151.95,1095.5,144.5
60,15.84,188.18,1115.7,176.7
70,18.48,226.78,1136.0,210.0
80,21.12,267.69,1157.4,244.4
90,23.75,311.57,1179.1,280.1
100,26.4,358.82,1201.2,317.2
"""


@pytest.mark.parametrize("name", FILES)
def test_figures_have_their_whole_source(name):
    found = list(heads(load(name)))
    assert found
    for head in found:
        assert all(str(head[key]).strip() for key in CITED)


def heads(value):
    """Yield the tables that are cited; a table that is not must hold only such."""
    if isinstance(value, dict) and set(value) >= CITED:
        yield value
        return
    assert isinstance(value, dict | list), value
    assert value
    for each in value.values() if isinstance(value, dict) else value:
        yield from heads(each)


@pytest.mark.parametrize("line", list(csv.reader(io.StringIO(PRINTED))))
def test_table_of_the_united_kingdom(line):
    degrees, percent, to_water, litre, in_litre = map(float, line)
    brine = brine_of("degrees", degrees)
    assert brine.salt_pct == pytest.approx(percent, abs=0.01)
    assert brine.salt_g_per_l_water == pytest.approx(to_water, abs=0.6)
    assert brine.brine_g_per_l == pytest.approx(litre, abs=1.2)
    assert brine.salt_g_per_l_brine == pytest.approx(in_litre, abs=0.5)


@pytest.mark.parametrize(
    "measure",
    [
        "salt_pct",
        "degrees",
        "salt_g_per_kg_water",
        "salt_g_per_l_water",
        "salt_lb_per_us_gal_water",
        "salt_lb_per_imp_gal_water",
        "salt_g_per_l_brine",
        "brine_g_per_l",
        "specific_gravity",
    ],
)
@pytest.mark.parametrize("salt", [1, 12.5, 26])
def test_every_measure_leads_back(measure, salt):
    value = getattr(brine_of_pct(salt), measure)
    assert brine_of(measure, value).salt_pct == pytest.approx(salt, abs=1e-6)


def test_one_gallon_is_not_the_other():
    brine = brine_of_pct(15.837)
    larger = brine.salt_lb_per_imp_gal_water / brine.salt_lb_per_us_gal_water
    assert larger == pytest.approx(1.20095, abs=1e-5)


@pytest.mark.parametrize("shown", [0, 5, 48.5, 77, 97])
@pytest.mark.parametrize("celsius", [4, 15.5556, 21])
def test_reading_leads_back_to_the_brine(shown, celsius):
    true = 1 + shown * 0.95
    assert true_degrees(degrees_shown(true, celsius), celsius) == pytest.approx(
        true, abs=1e-3
    )


def test_warm_brine_reads_low_and_cold_brine_high():
    assert degrees_shown(60, 30) < 60 < degrees_shown(60, 5)


def test_the_more_sugar_the_stronger_it_seems():
    found = [sugared(10, sugar).shown_salt_pct for sugar in (0, 2, 5, 10)]
    assert found == sorted(found)
    assert found[0] == pytest.approx(10, abs=0.01)


def test_a_salometer_in_brine_with_sugar_promises_nothing():
    told = strength_from_reading(60, 15, reading_error=1, has_sugar=True)
    assert told.low == 0
    assert told.is_thin
    plain = strength_from_reading(60, 15, reading_error=1, has_sugar=False)
    assert plain.low < plain.likely < plain.high


@pytest.mark.parametrize("material", [*salts(), *sugars()])
def test_spoons_make_a_cup(material):
    cup = grams(material, 1)
    assert cup.low <= cup.likely <= cup.high
    assert grams(material, 16, "tablespoon").likely == pytest.approx(cup.likely)
    assert grams(material, 48, "teaspoon").high == pytest.approx(cup.high)


def test_what_is_known_from_memory_is_thin():
    assert grams("rock-salt", 1).is_thin
    assert not grams("table-salt", 1).is_thin


def test_a_recipe_by_scoops_may_hold_half_the_salt():
    # Five of sugar to one of salt, by volume: the same words for two strengths.
    dense = salt_share_of_mix("table-salt", "brown-sugar-packed", 5)
    light = salt_share_of_mix("light-flake-kosher", "brown-sugar-packed", 5)
    # Computed from the densities (low, likely, high).
    assert (dense.low, dense.likely, dense.high) == pytest.approx(
        (19.2, 21.1, 23.5), abs=0.05
    )
    assert (light.low, light.likely, light.high) == pytest.approx(
        (10.0, 11.5, 15.5), abs=0.05
    )
    assert light.high < dense.low


@pytest.mark.parametrize("salt", [0.5, 3.5, 10, 20, 26])
def test_water_activity_leads_back(salt):
    found = water_phase_salt_of_brine_pct(water_activity_of_brine(salt))
    assert found == pytest.approx(salt, abs=1e-6)
    assert salt_pct_of_molality(molality(salt)) == pytest.approx(salt)


def test_cold_brine_has_a_higher_water_activity():
    # Computed: 0.0004 at 5 %, 0.002 at 10 %.
    assert water_activity_of_brine(10, 4) - water_activity_of_brine(
        10
    ) == pytest.approx(0.0017, abs=0.0005)


def test_other_solutes_take_the_claim_away():
    assert food_water_activity(3.5, has_other_solutes=True).is_thin
    assert food_water_activity(3.5).coverage is None


def test_nitrite_leads_back():
    cure = cure_for_nitrite_g(156, 6.25, 1000)
    assert nitrite_ppm_shared(cure, 6.25, 0, 1000) == pytest.approx(156)


@pytest.mark.parametrize(
    ("formula", "arguments"),
    [
        (brine_of, ("degrees", 101)),
        (brine_of, ("salt_pct", 40)),
        (brine_of, ("salt_g_per_l_water", -1)),
        (brine_of_pct, (float("nan"),)),
        (density_kg_per_l, (10, 101)),
        (freezing_c, (24,)),
        (saturated_pct, (-1,)),
        (salt_to_strengthen_kg, (20, 16, 12)),
        (water_to_weaken_kg, (20, 12, 16)),
        (degrees_shown, (60, 60)),
        (true_degrees, (101, 20)),
        (sugared, (20, 20)),
        (water_activity_of_brine, (27,)),
        (water_phase_salt_of_brine_pct, (0.7,)),
        (sugar_water_activity, ("sucrose", 300)),
        (grams, ("table-salt", -1)),
        (salt_share_of_mix, ("table-salt", "brown-sugar-loose", -1)),
        (brine_by_cups, ("table-salt", 1, 0)),
        (shared_water_phase_salt_pct, (40, 2, 70)),
        (dry_cure_water_phase_salt_pct, (40, 60)),
        (pickle_pct_for_pump, (5, 10)),
        (nitrite_ppm_shared, (2, 6.25, 1, 0)),
        (water_phase_salt_after_loss_pct, (2, 70, 70)),
        (salt_to_keep_pct, (3.5, 60, 40)),
    ],
)
def test_no_answer_outside_the_range(formula, arguments):
    with pytest.raises(OutOfRange):
        formula(*arguments)


def test_no_mean_is_high_enough_for_pieces_so_unlike():
    with pytest.raises(OutOfRange):
        mean_for_share(3.5, spread_frac=0.4, share=0.999)


@pytest.mark.parametrize("name", ["sea salt", ""])
def test_unknown_salt_is_not_guessed(name):
    with pytest.raises(UnknownName):
        grams(name, 1)
    with pytest.raises(UnknownName):
        grams("table-salt", 1, "scoop")
