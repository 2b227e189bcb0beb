"""Which limits a product is judged by, and that a missing fact never lifts one."""

from datetime import date

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from safety.facts import FACTS, Answer
from safety.limits import consider, get, questions, select, table, with_food
from safety.limits.load import dates_hold
from safety.limits.model import Limit, Published

GUIDE = "us-fda.hazards-guide"
CODE = "us-fda.food-code-2022"
ROP = {
    "food": "coho-salmon", "process": "hot-smoked", "packaging": "reduced-oxygen",
    "storage": "refrigerated", "programme": "seafood-processor", "nitrite-added": "no",
    "eviscerated": "yes", "handled-after-cooking": "no", "receipt": "frozen",
}  # fmt: skip
CLOSED = {name: fact.values for name, fact in FACTS.items() if fact.values}
OPEN = {
    "food": ("coho-salmon", "bluefish", "chub", "unheard-of-fish"),
    "jurisdiction": ("US", "US-MI", "US-ME", "US-NY", "CA"),
}
ANY_FACTS = st.fixed_dictionaries(
    {}, optional={n: st.sampled_from(v) for n, v in (CLOSED | OPEN).items()}
)


def governing(facts):
    return {
        one.published.limit.id: one
        for one in select(facts)
        if one.governs is not Answer.NO
    }


def settled(facts):
    found = governing(facts)
    assert all(one.applies is Answer.YES for one in found.values())
    assert all(one.governs is Answer.YES for one in found.values())
    return set(found)


def test_refrigerated_fish_without_oxygen_of_a_seafood_processor():
    assert settled(ROP) == {
        f"{GUIDE}.ch13.heating", f"{GUIDE}.ch12.cooling-first",
        f"{GUIDE}.ch12.cooling-second", f"{GUIDE}.ch13.salt",
        f"{GUIDE}.ch13.cold-store", "us-cfr.21-123.record-review",
    }  # fmt: skip


def test_sliced_after_cooking_the_time_at_the_table_counts():
    found = settled(ROP | {"handled-after-cooking": "yes"})
    assert f"{GUIDE}.ch12.exposure-cooked" in found


def test_nitrite_in_salmon_opens_the_second_alternative_and_sets_a_ceiling():
    found = settled(ROP | {"nitrite-added": "yes"})
    assert {f"{GUIDE}.ch13.salt-with-nitrite", "us-cfr.21-172.nitrite-most"} <= found
    assert f"{GUIDE}.ch13.salt" not in found


def test_nitrite_in_a_fish_that_may_not_hold_it_opens_nothing():
    found = settled(ROP | {"nitrite-added": "yes", "food": "rainbow-trout"})
    assert f"{GUIDE}.ch13.salt-nitrite-not-permitted" in found
    assert "us-cfr.21-172.nitrite-not-listed" in found
    assert f"{GUIDE}.ch13.salt-with-nitrite" not in found


def test_nitrite_in_chub_comes_on_top_of_the_salt():
    found = settled(ROP | {"nitrite-added": "yes", "food": "chub"})
    assert {"us-cfr.21-172.chub-salt", "us-cfr.21-172.chub-nitrite-least"} <= found


def test_there_is_always_a_limit_for_the_salt_without_oxygen():
    for nitrite in ("yes", "no"):
        for permitted in CLOSED["nitrite-permitted"]:
            facts = ROP | {"nitrite-added": nitrite, "nitrite-permitted": permitted}
            del facts["food"]
            salt = {i for i in governing(facts) if i.startswith(f"{GUIDE}.ch13.salt")}
            assert len(salt) == 1


def test_in_air_the_table_of_listeria_governs_and_no_federal_salt():
    found = settled(ROP | {"packaging": "air"})
    assert f"{GUIDE}.ch16.heating" in found
    assert f"{GUIDE}.ch13.heating" not in found
    assert not any("salt" in identity for identity in found)


def test_fish_kept_at_room_temperature_needs_more_than_cold_fish():
    assert f"{GUIDE}.ch13.shelf-stable" in settled(ROP | {"storage": "ambient"})
    in_air = ROP | {"storage": "ambient", "packaging": "air"}
    assert f"{GUIDE}.ch14.shelf-stable" in settled(in_air)


def test_frozen_fish_without_oxygen_needs_its_label():
    found = settled(ROP | {"storage": "frozen"})
    assert f"{GUIDE}.ch13.frozen-label" in found
    assert f"{GUIDE}.ch13.cold-store" not in found


def test_fish_that_forms_scombrotoxin_is_cold_on_arrival():
    fresh = ROP | {"food": "bluefish", "receipt": "fresh"}
    found = settled(fresh)
    assert {f"{GUIDE}.ch7.receiving", f"{GUIDE}.ch7.scombrotoxin-control"} <= found


def test_the_food_code_governs_the_retail_programme():
    found = settled(ROP | {"programme": "retail", "packaging": "air"})
    assert found == {
        f"{CODE}.cooking", f"{CODE}.cooling-first", f"{CODE}.cooling-total",
        f"{CODE}.cold-holding", f"{CODE}.date-marking",
    }  # fmt: skip


def test_retail_without_oxygen_needs_a_variance_or_a_freezer():
    retail = ROP | {"programme": "retail"}
    assert f"{CODE}.reduced-oxygen" in settled(retail)
    frozen = settled(retail | {"storage": "frozen"})
    assert f"{CODE}.reduced-oxygen-frozen" in frozen


@pytest.mark.parametrize(
    ("state", "prefix"),
    [("US-MI", "us-mi."), ("US-ME", "us-me."), ("US-NY", "us-ny.")],
)
def test_a_state_adds_its_rules_to_those_of_the_country(state, prefix):
    country = settled(ROP)
    with_state = settled(ROP | {"jurisdiction": state})
    assert country < with_state
    assert all(identity.startswith(prefix) for identity in with_state - country)


def test_rules_of_other_places_and_programmes_are_shown_as_comparison():
    shown = {
        one.published.limit.id: one for one in select(ROP) if one.governs is Answer.NO
    }
    assert {"us-mi.r285-569.cold-store", f"{CODE}.cooling-total"} <= set(shown)
    assert "governs in US-MI" in shown["us-mi.r285-569.cold-store"].why
    assert "programme retail" in shown[f"{CODE}.cooling-total"].why


@pytest.mark.parametrize("jurisdiction", ["CA", "GB-SCT"])
def test_elsewhere_nothing_governs(jurisdiction):
    assert not governing(ROP | {"jurisdiction": jurisdiction})


@pytest.mark.parametrize("programme", ["home", "meat-inspected"])
def test_under_other_programmes_nothing_governs(programme):
    assert not governing(ROP | {"programme": programme})


COLD = ROP | {
    "process": "cold-smoked", "intended-use": "ready-to-eat", "parasites": "yes",
    "pellet-fed": "no", "parasites-killed-by-supplier": "no",
}  # fmt: skip
KEPT_COLD = {f"{GUIDE}.ch13.cold-store", f"{GUIDE}.ch12.exposure-raw"}
REVIEWED = {"us-cfr.21-123.record-review-packing"}


@pytest.mark.parametrize(
    ("facts", "expected"),
    [
        (COLD, {
            f"{GUIDE}.ch5.freezing", f"{GUIDE}.ch13.salt", f"{GUIDE}.ch13.cold-smoking",
            *KEPT_COLD, "us-cfr.21-123.record-review",
        }),
        (COLD | {"pellet-fed": "yes", "food": "coho-salmon-aquacultured"}, {
            f"{GUIDE}.ch5.grower-statement", f"{GUIDE}.ch13.salt",
            f"{GUIDE}.ch13.cold-smoking", *KEPT_COLD, "us-cfr.21-123.record-review",
        }),
        (COLD | {"process": "pickled", "parasites-killed-by-supplier": "yes"}, {
            f"{GUIDE}.ch5.supplier-statement", f"{GUIDE}.ch13.pickled", *KEPT_COLD,
            *REVIEWED,
        }),
        (COLD | {"process": "pickled", "storage": "ambient", "packaging": "air"}, {
            f"{GUIDE}.ch5.freezing", f"{GUIDE}.ch13.shelf-stable-in-air", *REVIEWED,
        }),
        (COLD | {"process": "dried"}, {
            f"{GUIDE}.ch5.freezing", f"{GUIDE}.ch14.partly-dried", f"{GUIDE}.ch14.label",
            *KEPT_COLD, *REVIEWED,
        }),
        (COLD | {"process": "dried", "storage": "ambient"}, {
            f"{GUIDE}.ch5.freezing", f"{GUIDE}.ch14.shelf-stable-dried", *REVIEWED,
        }),
        (COLD | {"process": "raw", "intended-use": "cooked-by-consumer"}, {
            f"{GUIDE}.ch13.raw-cold-store", f"{GUIDE}.ch13.raw-indicator",
            f"{GUIDE}.ch13.cold-store", *REVIEWED,
        }),
        (COLD | {"process": "raw", "intended-use": "cooked-by-consumer",
                 "storage": "frozen"},
         {f"{GUIDE}.ch13.frozen-label-only", *REVIEWED}),
        (COLD | {"process": "raw", "food": "bluefish", "receipt": "fresh",
                 "parasites": "no", "packaging": "air"}, {
            f"{GUIDE}.ch7.receiving", f"{GUIDE}.ch7.scombrotoxin-control",
            f"{GUIDE}.ch7.exposure-fresh", *KEPT_COLD, *REVIEWED,
        }),
    ],
    ids=[
        "cold-smoked", "cold-smoked, farmed", "pickled", "pickled, in air, ambient",
        "partly dried", "dried", "raw, to be cooked", "raw, frozen", "raw bluefish",
    ],
)  # fmt: skip
def test_the_other_processes_have_their_own_limits(facts, expected):
    assert settled(facts) == expected


@pytest.mark.parametrize("process", CLOSED["process"])
@pytest.mark.parametrize("storage", CLOSED["storage"])
@pytest.mark.parametrize("packaging", CLOSED["packaging"])
@pytest.mark.parametrize("programme", ["seafood-processor", "retail"])
def test_no_fish_is_judged_by_its_paperwork_alone(
    process, storage, packaging, programme
):
    # Nothing is printed for fish frozen in air and cooked by whoever buys it.
    lenient = programme == "seafood-processor" and (packaging, storage) == (
        "air", "frozen",
    )  # fmt: skip
    facts = COLD | {
        "process": process, "storage": storage, "packaging": packaging,
        "programme": programme, "parasites-killed-by-supplier": "yes",
        "intended-use": "cooked-by-consumer", "needs-cold-for-safety": "yes",
    }  # fmt: skip
    found = governing(facts).values()
    points = {one.published.limit.control_point for one in found}
    if found and not (lenient and process != "hot-smoked"):
        assert points - {"record-review"}, "nothing but its paperwork"


RETAIL = {
    "process": "raw", "packaging": "air", "storage": "refrigerated",
    "programme": "retail", "receipt": "fresh", "intended-use": "ready-to-eat",
    "parasite-freezing-exempt": "no", "parasites-killed-by-supplier": "no",
}  # fmt: skip
SASHIMI = {"receiving", "parasite-freezing", "cold-holding", "date-marking-raw"}


def test_fish_sold_raw_to_be_eaten_raw_in_a_shop():
    assert settled(RETAIL) == {f"{CODE}.{name}" for name in SASHIMI}
    tuna = settled(RETAIL | {"parasite-freezing-exempt": "yes", "pellet-fed": "no"})
    assert f"{CODE}.parasite-freezing" not in tuna
    farmed = settled(RETAIL | {"parasite-freezing-exempt": "yes", "pellet-fed": "yes"})
    assert f"{CODE}.parasite-grower-statement" in farmed


@pytest.mark.parametrize("process", CLOSED["process"])
def test_fish_kept_warm_in_a_shop_must_need_no_cold(process):
    warm = RETAIL | {
        "process": process, "storage": "ambient", "parasites-killed-by-supplier": "yes",
        "nitrite-added": "no",
    }  # fmt: skip
    assert f"{CODE}.room-temperature" in settled(warm)
    assert f"{CODE}.room-temperature" not in settled(warm | {"storage": "frozen"})


# 1-201.10(B), Table B: what the limit lets pass is what the table calls non-TCS.
@given(st.decimals("0.80", "1", places=3), st.decimals("3", "7", places=2))
def test_the_limit_for_warm_fish_says_what_the_table_says(water_activity, ph):
    row = table(f"{CODE}.interaction-b").look_up({
        "water_activity": water_activity,
        "ph": ph,
    })
    dry, sour, *both = get(f"{CODE}.room-temperature").limit.limits
    passes = (
        water_activity < dry.value
        or ph < sour.value
        or any(
            water_activity <= pair.limits[0].value and ph <= pair.limits[1].value
            for pair in both
        )
    )
    assert (row["answer"] == "non-TCS") == passes


def test_the_edition_in_force_is_chosen_by_the_premises():
    older = f"{CODE.removesuffix('2022')}2017"
    assert settled(RETAIL | {"food-code": "2022"}) == settled(RETAIL)
    assert settled(RETAIL | {"food-code": "2017"}) == {
        f"{older}.{name}" for name in SASHIMI
    }
    shown = {one.published.limit.id: one for one in consider(RETAIL)}
    assert shown[f"{older}.cold-holding"].applies is Answer.NO
    assert "says the same as" in shown[f"{older}.cold-holding"].why
    told = {
        one.published.limit.id: one for one in consider(RETAIL | {"food-code": "2017"})
    }
    assert told[f"{CODE}.cold-holding"].applies is Answer.NO
    assert "food-code is 2017" in told[f"{CODE}.cold-holding"].why


def test_the_editions_that_differ_would_be_asked_for():
    # Everything that governs says the same in both, so nobody is asked today.
    asked = questions({n: v for n, v in RETAIL.items() if n != "receipt"})
    assert "receipt" in asked
    assert "food-code" not in asked


def test_without_a_programme_it_is_open_which_limits_govern():
    found = governing({n: v for n, v in ROP.items() if n != "programme"})
    assert {f"{GUIDE}.ch13.heating", f"{CODE}.cooking"} <= set(found)
    for one in found.values():
        assert one.governs is Answer.UNKNOWN
        assert one.missing == ("programme",)


def test_a_missing_fact_is_named_and_asked_for():
    without = {n: v for n, v in ROP.items() if n != "packaging"}
    heating = governing(without)[f"{GUIDE}.ch13.heating"]
    assert heating.applies is Answer.UNKNOWN
    assert heating.missing == ("packaging",)
    assert "packaging" in heating.why
    assert "packaging" in questions(without)
    assert questions(ROP) == ()


@pytest.mark.parametrize("missing", sorted(ROP))
def test_leaving_one_fact_out_drops_no_limit(missing):
    without = {name: value for name, value in ROP.items() if name != missing}
    assert set(governing(ROP)) <= set(governing(without))


@given(ANY_FACTS, st.sampled_from(sorted(CLOSED | OPEN)))
def test_leaving_any_fact_out_drops_no_limit(facts, name):
    assume(name != "jurisdiction")  # without one the country's rules govern
    assume(facts.keys() <= with_food(facts).keys())  # nothing contradicts the food
    without = {fact: value for fact, value in facts.items() if fact != name}
    assert in_words(governing(facts)) <= in_words(governing(without))


def in_words(found):
    """Return what is judged, whichever edition of a code says it."""
    return {
        one.published.same_as if one.published.source.id.endswith("2017") else identity
        for identity, one in found.items()
    }


@given(ANY_FACTS)
def test_what_is_missing_is_exactly_what_would_settle_it(facts):
    for one in consider(facts):
        is_open = Answer.UNKNOWN in (one.applies, one.governs)
        if one.applies is not Answer.NO:
            assert bool(one.missing) == is_open
        assert one.why.endswith(".")


def test_a_food_brings_its_facts():
    assert with_food({"food": "coho-salmon"})["nitrite-permitted"] == "up-to-200"
    assert with_food({"food": "unheard-of-fish"}) == {"food": "unheard-of-fish"}


def test_where_food_and_record_differ_neither_is_believed():
    facts = ROP | {"food": "bluefish", "scombrotoxin": "no"}
    assert "scombrotoxin" not in with_food(facts)
    assert "scombrotoxin" in questions(facts)


def test_the_limits_that_govern_come_first():
    answers = [one.governs for one in select(ROP | {"jurisdiction": "US-MI"})]
    assert answers == sorted(answers, key=lambda answer: answer is Answer.NO)


def test_a_figure_is_in_force_from_its_first_day_to_the_day_before_its_last():
    source = select(ROP)[0].published.source
    published = Published(
        limit=Limit(id="x", kind="stated"), source=source, words="", reason="",
        basis="own", checked=date(2026, 1, 1), since=date(2026, 3, 1),
        until=date(2026, 6, 1),
    )  # fmt: skip
    days = [date(2026, 2, 28), date(2026, 3, 1), date(2026, 5, 31), date(2026, 6, 1)]
    assert [dates_hold(published, day) for day in days] == [False, True, True, False]
    assert dates_hold(published, None)
    assert select(ROP, on=date(2026, 11, 25)) == select(ROP)
