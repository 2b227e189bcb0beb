"""Which limits a product is judged by, and that a missing fact never lifts one."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safety.facts import FACTS, Answer
from safety.limits import consider, questions, select, with_food
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


@pytest.mark.parametrize("process", ["cold-smoked", "dried", "pickled", "raw"])
def test_a_process_without_limits_is_not_half_judged(process):
    assert not governing(ROP | {"process": process})


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
    if name == "jurisdiction":  # without one the country's rules govern, by definition
        return
    without = {fact: value for fact, value in facts.items() if fact != name}
    assert set(governing(facts)) <= set(governing(without))


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
