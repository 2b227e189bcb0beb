"""Where the printed guidance contradicts or misprints itself, and what we read there.

Each test is one trap; its citation is the comment above it.
"""

from decimal import Decimal
from fractions import Fraction

import pytest

from safety.errors import UnknownName
from safety.limits import all_published, figure, figures, get, table
from safety.limits.model import Combination
from safety.units import convert

GUIDE = "us-fda.hazards-guide"
GRAMS_IN_LB = Decimal("453.59237")


def plain(limit):
    if isinstance(limit, Combination):
        for member in limit.limits:
            yield from plain(member)
    else:
        yield limit


# FDA guide, chapter 12, Strategy 3: one sentence prints the second stage as 135 to 40 °F
# in 4 more hours; Table 12-4 and three worked examples print 70 to 40.
def test_trap_1_the_second_stage_of_cooling_begins_at_70():
    first = get(f"{GUIDE}.ch12.cooling-first").limit
    second = get(f"{GUIDE}.ch12.cooling-second").limit
    assert (first.from_value, first.to_value, first.minutes) == (135, 70, 120)
    assert (second.from_value, second.to_value, second.minutes) == (70, 40, 240)
    assert "135 to 40" in get(f"{GUIDE}.ch12.cooling-second").note


# FDA guide, appendix 4, Table A-3: the row labelled 145 °F is computed at 63.0 °C, which
# is 145.4 °F; 145.0 °F is 62.78 °C.
def test_trap_2_the_listeria_table_is_looked_up_in_celsius_only():
    listeria = table(f"{GUIDE}.table-a-3")
    assert listeria.keys == ("celsius",)
    with pytest.raises(UnknownName):
        listeria.look_up({"fahrenheit": 145})
    exactly_145 = Decimal(float(convert(Decimal(145), "degF", "degC")))
    assert listeria.look_up({"celsius": exactly_145}) is None
    assert convert(Decimal("145.4"), "degF", "degC") == 63
    assert listeria.look_up({"celsius": 63})["minutes"] == 17
    for line in get(f"{GUIDE}.ch16.heating").limit.limits[1:]:
        assert (line.unit, line.also) == ("degC", {})


# Table A-3: minutes are rounded unevenly, so a printed value is never taken for the formula.
@pytest.mark.parametrize(
    ("celsius", "printed", "formula"),
    [(72, "1.0", 1.08), (83, "0.03", 0.037), (63, "17.0", 17.15), (64, "12.7", 12.62)],
)
def test_trap_3_printed_minutes_are_kept_as_printed(celsius, printed, formula):
    found = table(f"{GUIDE}.table-a-3").look_up({"celsius": celsius})["minutes"]
    assert found == Decimal(printed)
    assert 2 * 10 ** ((70 - celsius) / 7.5) == pytest.approx(formula, rel=0.01)
    assert float(found) != pytest.approx(formula, rel=0.004)


# FDA guide, chapter 14, Strategy 1: the third option prints "0.85 or above".
def test_trap_4_dry_means_at_or_below_085():
    for name in ("ch14.shelf-stable", "ch14.shelf-stable-dried"):
        limit = get(f"{GUIDE}.{name}").limit
        assert (limit.kind, limit.value, limit.strict) == (
            "at_most", Decimal("0.85"), False,
        )  # fmt: skip
        assert "wrong way round" in get(f"{GUIDE}.{name}").note


# FDA guide, chapter 13: "0.97 or below" in the overview, "below 0.97" in the limits;
# "below 0.85" for fish with guts, "0.85 or below" for food kept at room temperature.
def test_trap_5_edges_of_water_activity_are_read_strictly():
    def found(name):
        return {
            (limit.value, limit.strict)
            for limit in plain(get(f"{GUIDE}.{name}").limit)
            if getattr(limit, "quantity", "") == "water-activity"
        }

    assert found("ch13.pickled") == found("ch14.partly-dried")
    assert found("ch13.pickled") == {(Decimal("0.97"), True)}
    assert found("ch13.not-gutted") == {(Decimal("0.85"), True)}
    assert found("ch13.shelf-stable") == {(Decimal("0.85"), False)}


# FDA guide, chapter 13 and Table 13-2: below 38 °F in the text, "maximum 38 °F" in a table.
def test_trap_6_raw_fish_without_oxygen_stays_below_38():
    limit = get(f"{GUIDE}.ch13.raw-cold-store").limit
    assert (limit.value, limit.strict) == (38, True)
    assert limit.also == {"degC": Decimal("3.3")}


# FDA guide, Table A-2: whole-degree bands leave gaps (43-44, 50-51, 70-71 °F).
@pytest.mark.parametrize(
    ("bacteria", "fahrenheit", "hotter"),
    [
        ("bacillus-cereus", "43.5", "1 d"),
        ("listeria-monocytogenes", "50.1", "7 h"),
        ("salmonella", "70.9", "2 h"),
        ("vibrio-cholerae", "80.01", "1 h"),
    ],
)
def test_trap_7_a_gap_between_bands_belongs_to_the_hotter_one(
    bacteria, fahrenheit, hotter
):
    bands = table(f"{GUIDE}.table-a-2")
    at = {"bacteria": bacteria, "fahrenheit": Decimal(fahrenheit)}
    assert str(bands.look_up(at)["at_most"]) == hotter


# Table A-2 prints only 50 °F in the cold cell of two rows; E. coli begins at 6.6 °C there
# and at 6.5 °C in Table A-1.
def test_trap_7_cold_cells_are_kept_as_printed():
    bands = table(f"{GUIDE}.table-a-2")
    for bacteria in ("staphylococcus-aureus", "vibrio-cholerae"):
        assert bands.look_up({"bacteria": bacteria, "fahrenheit": 49}) is None
        assert bands.look_up({"bacteria": bacteria, "fahrenheit": 50}) is not None
    cold = bands.look_up({"bacteria": "escherichia-coli", "fahrenheit": 45})
    assert cold["celsius"].low == Decimal("6.6")
    growth = table(f"{GUIDE}.table-a-1").look_up({"bacteria": "escherichia-coli"})
    assert growth["least_celsius"] == Decimal("6.5")


# FDA guide, chapter 13: "a representative sample", of which no number is printed.
def test_trap_8_no_number_of_salt_samples_is_invented():
    counts = [
        one
        for one in figures()
        if one.source.id == GUIDE
        and one.control_point == "curing"
        and one.unit in {"samples", "containers"}
    ]
    assert counts == []
    verification = figure(f"{GUIDE}.ch13.salt-verification")
    assert (verification.value, verification.unit) == (3, "months")
    assert "nowhere said" in verification.note


# The 2.5 percent for fish in air stands in the model code and in Maine; Michigan wants 3.0;
# the FDA guide has no figure for fish packed in air.
def test_trap_9_the_salt_of_fish_in_air_is_a_state_figure():
    in_air = {
        published.limit.id: limit.value
        for published in all_published()
        if "air" in published.applies_when.get("packaging", ())
        and set(published.applies_when.get("storage", ())) != {"ambient"}
        for limit in plain(published.limit)
        if getattr(limit, "quantity", "") == "water-phase-salt"
    }
    assert in_air == {
        "us-me.ch359.salt-air": Decimal("2.5"),
        "us-mi.r285-569.salt": Decimal("3.0"),
    }
    assert figure("afdo.smoked-fish.salt-air").value == Decimal("2.5")


# Brine sheets: 60 degrees are 1.882 lb to the imperial and 1.570 lb to the US gallon.
def test_trap_10_a_gallon_is_not_a_gallon():
    grams = table("gb.brine-table.strength").look_up({"degrees": 60})
    per_litre = grams["per_litre_water"]
    for name, litres in (
        ("per-imperial-gallon", "4.54609"), ("per-us-gallon", "3.785411784"),
    ):  # fmt: skip
        pounds = figure(f"gb.brine-table.{name}").value
        assert float(pounds * GRAMS_IN_LB / Decimal(litres)) == pytest.approx(
            float(per_litre), rel=0.003
        )


# FDA Table A-4 and the British table of 2006 agree from 90 °C up, and not below.
def test_trap_11_two_tables_for_spores_differ_below_90():
    fda, british = table(f"{GUIDE}.table-a-4"), table("gb.fsa-vacuum-packing.spores")
    minutes = [
        (fda.look_up({"celsius": c})["minutes"], british.look_up({"celsius": c})["minutes"])
        for c in range(85, 101)
    ]  # fmt: skip
    assert minutes[0] == (Decimal("51.8"), 36)
    assert all(here > there for here, there in minutes[:5])
    assert all(here == there for here, there in minutes[5:])


# Dried salted cod of the nutrient tables (item 15018) comes to 52 percent of salt in its
# water; water holds 26.4.
def test_trap_12_more_salt_than_water_holds_is_known_for_what_it_is():
    cod = Fraction(100) * Fraction("17.863") / (Fraction("17.863") + Fraction("16.14"))
    assert cod > 52
    assert figure("brinewright.own.saturation").value < cod
    # and there the water activity is an alternative that needs no salt figure
    whats = {limit.quantity for limit in get(f"{GUIDE}.ch13.shelf-stable").limit.limits}
    assert "water-activity" in whats


# FDA guide, chapter 13, says that Bacillus cereus grows to 18 percent; Table A-1 says 10.
def test_two_figures_for_one_bacterium_stand_side_by_side():
    printed = table(f"{GUIDE}.table-a-1").look_up({"bacteria": "bacillus-cereus"})
    assert printed["most_salt"] == 10
    assert figure(f"{GUIDE}.ch13.bacillus-salt").value == 18


# Chapter 7 still prints 50 ppm of histamine, the compliance policy guide of 2024 has 35.
def test_old_and_new_level_of_histamine_are_both_kept():
    assert figure(f"{GUIDE}.ch7.histamine-action").value == 50
    assert figure("us-fda.cpg-540-525.decomposed").value == 35


# Food Code pairs are nominal: 145 °F is 62.78 °C and 63 °C is 145.4 °F.
def test_both_figures_of_a_nominal_pair_are_kept():
    cooking = get("us-fda.food-code-2022.cooking").limit
    assert (cooking.value, cooking.also) == (145, {"degC": 63})
    assert convert(cooking.value, "degF", "degC") != 63


# 3-401.11(A)(2): 15 seconds at 155 °F until 2013, 17 since 2017.
def test_minced_fish_is_cooked_two_seconds_longer_since_2017():
    older = get("us-fda.food-code-2013.cooking-minced").limit.limits[0]
    newer = get("us-fda.food-code-2017.cooking-minced").limit.limits[0]
    assert older.minutes * 60 == 15
    assert round(newer.minutes * 60, 3) == 17
