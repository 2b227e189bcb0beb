"""The hazard analysis: every hazard, three-valued, with the owner's word beside ours."""

import json
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safety.errors import InputError, UnknownName
from safety.facts import FACTS, Answer
from safety.foods import FOOD_FACTS, all_foods, facts_of
from safety.plans import Decision, analyse
from safety.plans.analysed import DecidedBy
from safety.plans.known import KINDS, Outcome
from safety.plans.load import BRANCHES, library, load

YES, NO, UNKNOWN = Answer.YES, Answer.NO, Answer.UNKNOWN
IDS = [hazard.id for hazard in library().hazards]
COHO = {
    "food": "coho-salmon", "process": "hot-smoked", "packaging": "reduced-oxygen",
    "storage": "refrigerated", "programme": "seafood-processor", "jurisdiction": "US",
}  # fmt: skip


def hazard(identity, facts, *decisions):
    return analyse(facts, decisions).hazard(identity)


# ------------------------------------------------------------------ the data


def test_every_chapter_of_the_guide_with_a_hazard_is_there():
    chapters = {
        number
        for one in library().hazards
        for number in re.findall(r"Chapter (\d+)", one.source.section)
    }
    assert chapters >= {str(number) for number in range(4, 22)} - {"8"}
    assert {one.kind for one in library().hazards} == set(KINDS)


def test_every_hazard_says_whence_and_how_it_is_known():
    for one in library().hazards:
        assert one.source.section
        for rule in (*one.potential, *one.significant):
            assert rule.basis
            assert rule.why.endswith(".")


def test_a_control_that_is_no_good_practice_says_why_no_later_step_does_it():
    for one in library().hazards:
        for control in one.controls:
            if control.outcome is Outcome.CRITICAL:
                assert control.because.get("q3"), (one.id, control.step)


def test_no_figure_hides_in_the_words_of_a_hazard():
    said = re.compile(r"\d+\s*(?:°|%|ppm|percent|hours|minutes|deg)")
    for one in library().hazards:
        texts = [rule.why for rule in (*one.potential, *one.significant)]
        texts += [text for c in one.controls for text in (c.measure, c.must)]
        for text in texts:
            assert not said.search(text), text


def test_the_tree_has_its_four_questions_and_its_source():
    assert tuple(branch.id for branch in library().branches) == BRANCHES
    assert "CXC 1-1969" in library().tree_source


# ------------------------------------------------------------------ three values


@pytest.mark.parametrize("facts", [{}, COHO, {"food": "unheard-of-fish"}], ids=str)
def test_no_hazard_is_ever_left_out(facts):
    assert [one.id for one in analyse(facts).hazards] == IDS


def test_of_a_product_nobody_described_nothing_is_lifted():
    open_analysis = analyse({})
    assert all(one.potential is not NO for one in open_analysis.hazards)
    lifted = [one.id for one in open_analysis.hazards if one.significant is NO]
    # What the guide gives no control for, and good practice holds in every house.
    assert lifted == ["smoke-compounds", "house-chemicals"]
    assert open_analysis.questions[0].fact == "food"


def test_a_missing_fact_is_asked_with_its_question():
    (asked,) = [q for q in analyse(COHO).questions if q.fact == "eviscerated"]
    assert asked.words == FACTS["eviscerated"].question
    assert asked.values == ("yes", "no")
    assert "botulism-guts" in asked.hazards


def test_the_food_is_asked_before_what_it_would_bring():
    names = [q.fact for q in analyse({"process": "raw"}).questions]
    assert "food" in names
    assert not set(names) & set(FOOD_FACTS)


def test_what_the_table_could_not_say_is_asked_of_the_owner():
    facts = COHO | {"food": "eulachon"}
    one = hazard("environmental-chemicals", facts)
    assert (one.potential, one.missing) == (UNKNOWN, ("environmental-chemicals",))
    told = facts | {"environmental-chemicals": "no"}
    assert hazard("environmental-chemicals", told).significant is NO


def test_what_only_a_person_can_decide_is_asked_as_a_decision():
    facts = COHO | {"food": "swordfish"}
    (asked,) = [q for q in analyse(facts).questions if q.hazards == ("methylmercury",)]
    assert asked.fact is None
    assert asked.words.endswith("?")


def test_a_food_that_contradicts_what_is_said_of_it_leaves_it_open():
    one = hazard("scombrotoxin", COHO | {"scombrotoxin": "yes"})
    assert one.significant is UNKNOWN


def test_how_the_cell_of_the_food_is_known_shows_in_the_basis():
    assert hazard("parasites", COHO | {"process": "raw"}).basis.startswith("seen 1")
    assert hazard("scombrotoxin", COHO).basis == "seen 1; the food: memory"
    assert hazard("scombrotoxin", COHO | {"food": "escolar"}).basis == "seen 1"
    assert hazard("natural-toxins", COHO).basis == "seen 1; the food: seen"


def test_an_unknown_fact_or_value_is_refused():
    with pytest.raises(UnknownName, match="no fact called 'colour'"):
        analyse({"colour": "red"})
    with pytest.raises(UnknownName, match="no value of packaging called 'vacuum'"):
        analyse({"packaging": "vacuum"})


# ------------------------------------------------------------------ the tree


def test_the_tree_ends_at_a_critical_point_after_four_questions():
    (measure,) = hazard("survival-of-cook", COHO).measures
    assert [one.answer for one in measure.tree] == [NO, YES, NO, YES]
    assert measure.critical is YES
    assert all(one.why and one.words.endswith("?") for one in measure.tree)


def test_good_practice_ends_the_tree_at_its_first_question():
    one = hazard("listeria-from-the-house", COHO)
    assert one.significant is YES
    assert [answer.answer for answer in one.tree] == [YES]
    assert one.first.critical is NO


def test_an_open_measure_leaves_the_second_question_open():
    one = hazard("growth-in-handling", COHO)
    assert [answer.answer for answer in one.tree] == [NO, UNKNOWN]
    assert one.first.critical is UNKNOWN


def test_a_hazard_that_does_not_matter_is_not_put_through_the_tree():
    assert hazard("smoke-compounds", COHO).tree == ()


def test_a_hazard_that_no_step_controls_is_shown_as_such():
    raw = COHO | {"process": "raw", "storage": "ambient", "food": "cod"}
    one = hazard("botulism", raw)
    assert one.significant is YES
    assert one.uncontrolled
    assert not hazard("botulism", COHO).uncontrolled


# ------------------------------------------------------------------ the owner's word


def test_the_owner_answers_what_is_open():
    before = hazard("metal", COHO)
    assert (before.significant, before.decided_by) == (UNKNOWN, DecidedBy.NOBODY)
    one = hazard("metal", COHO, Decision("metal", NO, "Hand knives only."))
    assert (one.significant, one.ours) == (NO, UNKNOWN)
    assert (one.decided_by, one.owner_reason) == (DecidedBy.OWNER, "Hand knives only.")
    assert not one.disagrees
    asked = analyse(COHO, [Decision("metal", NO, "Hand knives only.")]).questions
    assert "metal-machines" not in [q.fact for q in asked]


def test_the_owner_disagrees_and_both_answers_stay():
    one = hazard("growth-in-cooling", COHO, Decision("growth-in-cooling", NO, "Cold."))
    assert (one.significant, one.ours, one.disagrees) == (NO, YES, True)
    assert one.why.startswith("Nothing but quick cooling")
    assert one.owner_reason == "Cold."
    written = one.as_json()
    assert (written["significant"], written["by_guidance"]) == ("no", "yes")
    assert written["owner_reason"] == "Cold."


def test_an_owner_who_agrees_does_not_disagree():
    one = hazard("botulism", COHO, Decision("botulism", YES, "Of course."))
    assert not one.disagrees


@pytest.mark.parametrize(
    ("decisions", "says"),
    [
        ([Decision("botulism", NO, "  ")], "says yes or no, and why"),
        ([Decision("botulism", UNKNOWN, "Well.")], "says yes or no, and why"),
        ([Decision("botulism", NO, "A"), Decision("botulism", YES, "B")], "twice"),
    ],
    ids=["without a reason", "undecided", "twice"],
)
def test_a_decision_that_decides_nothing_is_refused(decisions, says):
    with pytest.raises(InputError, match=says):
        analyse(COHO, decisions)


def test_a_decision_about_a_hazard_that_does_not_exist_is_refused():
    with pytest.raises(UnknownName, match="no hazard called 'ghosts'"):
        analyse(COHO, [Decision("ghosts", NO, "None seen.")])


# ------------------------------------------------------------------ properties

OWN = sorted(set(FACTS) - set(FOOD_FACTS) - {"food", "jurisdiction", "pellet-fed"})
VALUES = {name: st.sampled_from(FACTS[name].values) for name in OWN}
WHOLE = st.fixed_dictionaries(
    {},
    optional={
        **VALUES,
        "food": st.sampled_from([one.slug for one in all_foods()] + ["unheard-of"]),
        "jurisdiction": st.sampled_from(["US", "US-MI", "US-ME", "US-NY", "GB"]),
    },
)
BROUGHT = st.fixed_dictionaries(
    {}, optional={name: st.sampled_from(FACTS[name].values) for name in FOOD_FACTS}
)


@st.composite
def described(draw):
    """Draw facts that do not contradict what the food itself says."""
    facts = draw(WHOLE)
    known = facts_of(facts.get("food", ""))
    own = {name: value for name, value in draw(BROUGHT).items() if name not in known}
    return {**facts, **own}


@given(facts=described(), data=st.data())
def test_a_fact_taken_away_removes_no_hazard_and_lifts_no_doubt(facts, data):
    before = analyse(facts)
    gone = data.draw(st.sampled_from(sorted(facts) or ["food"]))
    fewer = {name: value for name, value in facts.items() if name != gone}
    after = analyse(fewer)
    assert [one.id for one in after.hazards] == [one.id for one in before.hazards]
    for old, new in zip(before.hazards, after.hazards, strict=True):
        assert new.potential in {old.potential, UNKNOWN}
        assert new.significant in {old.significant, UNKNOWN}
        were = {(m.step, m.control_point, m.words): m.critical for m in old.measures}
        are = {(m.step, m.control_point, m.words): m.critical for m in new.measures}
        assert set(were) <= set(are)
        assert all(are[key] in {were[key], UNKNOWN} for key in were)


@given(facts=described())
def test_what_is_open_is_asked_and_what_is_asked_is_open(facts):
    analysis = analyse(facts)
    asked = {identity for q in analysis.questions for identity in q.hazards}
    assert {one.id for one in analysis.undecided} <= asked
    for question in analysis.questions:
        assert (
            question.fact is None
            or question.fact not in facts
            or (question.fact == "food")
        )


@given(facts=described())
def test_the_analysis_is_written_as_json(facts):
    analysis = analyse(facts)
    again = json.loads(json.dumps(analysis.as_json()))
    assert again["format"] == "brinewright.hazard-analysis/1"
    assert [one["id"] for one in again["hazards"]] == IDS
    for one in again["hazards"]:
        assert one["significant"] in {"yes", "no", "undecided"}
        assert one["why"]
        assert one["source"]["section"]


# ------------------------------------------------------------------ adding a hazard

NEW = """
[[hazard]]
id          = "draught"
title       = "A draught"
kind        = "physical"
publication = "us-fda.hazards-guide"
section     = "Chapter 99"
basis       = "own"
potential   = [{ answer = "yes", why = "There is a window." }]
significant = [{ answer = "yes", why = "It is cold." }]

[[hazard.control]]
step          = "packing"
control_point = "packing"
outcome       = "prerequisite"
measure       = "Shut the window."
"""


def test_a_hazard_is_added_by_one_entry(tmp_path):
    (tmp_path / "new.toml").write_text(NEW, "utf-8")
    (one,) = analyse(COHO, source=load(tmp_path)).hazards
    assert (one.id, one.significant, one.measure) == (
        "draught",
        YES,
        "Shut the window.",
    )
