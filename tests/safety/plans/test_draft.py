"""The drafted plan: nothing that governs is left out, nothing is decided by silence."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safety.controls import CONTROL_POINTS, STEPS
from safety.facts import FACTS, Answer
from safety.foods import FOOD_FACTS
from safety.limits import get, select
from safety.plans import Decision, Role, draft
from safety.processes.load import load as load_processes

YES, NO, UNKNOWN = Answer.YES, Answer.NO, Answer.UNKNOWN
COHO = {
    "food": "coho-salmon", "process": "hot-smoked", "packaging": "reduced-oxygen",
    "storage": "refrigerated", "programme": "seafood-processor", "jurisdiction": "US",
    "receipt": "frozen", "eviscerated": "yes", "nitrite-added": "no",
    "handled-after-cooking": "no", "heated-in-package": "no", "metal-machines": "no",
    "glass-package": "no", "other-allergens": "no", "sulphites-or-yellow-5": "no",
}  # fmt: skip


def point(plan, step, name):
    (found,) = [p for p in plan.points if (p.step, p.control_point) == (step, name)]
    return found


def test_a_whole_description_asks_nothing():
    plan = draft(COHO)
    assert plan.questions == ()
    assert plan.analysis.undecided == ()
    assert plan.title == "Coho salmon, hot-smoked fish, reduced-oxygen, refrigerated"


def test_critical_control_points_are_numbered_in_the_order_of_the_work():
    plan = draft(COHO)
    steps = [STEPS.index(one.step) for one in plan.points]
    assert steps == sorted(steps)
    assert [one.number for one in plan.critical_points] == list(
        range(1, len(plan.critical_points) + 1)
    )
    assert all(one.number is None for one in plan.other_points)
    assert len(plan.points) == len(plan.critical_points) + len(plan.other_points)


def test_a_point_carries_the_columns_of_a_plan():
    heating = point(draft(COHO), "heating", "heating")
    assert heating.critical is YES
    assert heating.hazards == ("parasites", "botulism", "survival-of-cook")
    assert heating.monitoring
    assert heating.records == ("The recorder's print-out.",)
    assert heating.verification
    assert "go on heating and start the count again" in heating.if_not_met
    assert "repair the smoker or the recorder" in heating.put_right
    assert not heating.needs_own_limit


def test_a_brine_without_a_published_figure_needs_the_plans_own():
    brine = point(draft(COHO), "curing", "curing")
    assert brine.needs_own_limit
    assert brine.study[0].what == "least time in the brine"
    labels = point(draft(COHO), "packing", "labelling")
    assert labels.must == ("The label names the fish.",)
    assert not labels.needs_own_limit


def test_while_the_process_is_unknown_there_is_no_point_and_it_is_asked():
    plan = draft({"food": "coho-salmon"})
    assert (plan.points, plan.flow) == ((), ())
    assert "process" in [one.fact for one in plan.questions]
    assert len(plan.analysis.hazards) > 20


def test_of_nothing_at_all_a_plan_is_drafted_that_asks():
    plan = draft({})
    assert plan.title == "A product not yet described"
    assert plan.questions[0].fact == "food"


def test_the_flow_has_every_step_of_the_process_once():
    flow = draft(COHO).flow
    names = [one.step for one in flow]
    assert names == sorted(set(names), key=STEPS.index)
    assert {"receiving", "curing", "heating", "cold-holding"} <= set(names)
    (heating,) = [one for one in flow if one.step == "heating"]
    assert (heating.title, heating.points) == ("Smoke and cook", ("heating",))


def test_the_description_says_what_is_known_and_leaves_open_what_is_not():
    lines = {one.id: one for one in draft(COHO).description}
    assert lines["name"].answer == "Food: Coho salmon; Origin: wild"
    assert lines["life"].answer == ""
    assert lines["life"].question.endswith(".")


def test_a_food_that_is_not_listed_keeps_its_name():
    assert draft(COHO | {"food": "unheard-of-fish"}).title.startswith("unheard-of-fish")


def test_a_question_names_the_limits_that_wait_for_it():
    fewer = {name: value for name, value in COHO.items() if name != "nitrite-added"}
    (asked,) = [one for one in draft(fewer).questions if one.fact == "nitrite-added"]
    assert "us-fda.hazards-guide.ch13.salt" in asked.limits
    assert "too-much-nitrite" in asked.hazards


# ------------------------------------------------------------------ the owner's word


def test_a_point_that_only_the_owner_lifts_stays_and_says_so():
    said = "The fish is cooled under ice within the hour."
    plan = draft(COHO, [Decision("growth-in-cooling", NO, said)])
    cooling = point(plan, "cooling", "cooling")
    assert (cooling.critical, cooling.number) == (NO, None)
    assert f"The owner calls it insignificant: {said}" in cooling.why
    strictest = [one for one in cooling.limits if one.role is Role.STRICTEST]
    assert len(strictest) == 2


def test_a_hazard_that_the_owner_adds_is_put_through_the_tree():
    plan = draft(COHO, [Decision("metal", YES, "The knife lost a tip last year.")])
    metal = plan.analysis.hazard("metal")
    assert metal.disagrees
    assert metal.significant is YES
    # No machine that loses metal: the data know of no measure, and the plan says so.
    assert metal.uncontrolled


def test_an_answer_of_the_owner_settles_what_was_open():
    fewer = {name: value for name, value in COHO.items() if name != "glass-package"}
    before = point(draft(fewer), "packing", "packing")
    assert before.critical is UNKNOWN
    settled = draft(fewer, [Decision("glass", NO, "Vacuum bags only.")])
    assert all(
        one.critical is NO for one in settled.points if one.control_point == "packing"
    )


# ------------------------------------------------------------------ properties

NAMES = sorted(set(FACTS) - set(FOOD_FACTS) - {"food", "jurisdiction", "pellet-fed"})
DESCRIBED = st.fixed_dictionaries(
    {"process": st.sampled_from(FACTS["process"].values)},
    optional={
        **{n: st.sampled_from(FACTS[n].values) for n in NAMES if n != "process"},
        "food": st.sampled_from(
            ["coho-salmon", "lake-whitefish", "herring", "chub", "escolar", "eulachon",
             "atlantic-salmon-aquacultured", "skipjack-tuna", "unheard-of-fish"]
        ),
        "jurisdiction": st.sampled_from(
            ["US", "US-MI", "US-ME", "US-NY", "US-AK", "US-WI", "GB", "CA"]
        ),
    },
)  # fmt: skip


@given(facts=DESCRIBED)
def test_every_limit_that_governs_or_may_is_in_the_plan(facts):
    plan = draft(facts)
    printed = {one.published.limit.id for p in plan.points for one in p.limits}
    governing = {
        one.published.limit.id
        for one in select(facts)
        if one.governs is not NO and one.published.limit.control_point
    }
    assert governing <= printed


@given(facts=DESCRIBED)
def test_only_a_limit_that_governs_for_certain_sets_the_limit(facts):
    answers = {one.published.limit.id: one for one in select(facts)}
    for p in draft(facts).points:
        for one in p.limits:
            selected = answers[one.published.limit.id]
            sure = selected.applies is YES and selected.governs is YES
            if one.role is Role.STRICTEST:
                assert sure
            elif one.role is Role.OPEN:
                assert not sure
                assert one.missing
            elif one.role is Role.COVERED:
                cover = answers[one.covered_by]
                assert cover.applies is YES
                assert cover.governs is YES
                assert one.covered_by in {
                    each.published.limit.id
                    for each in p.limits
                    if each.role is Role.STRICTEST
                }
            else:
                assert selected.governs is NO


@given(facts=DESCRIBED, data=st.data())
def test_a_fact_taken_away_drops_no_point_and_lifts_no_limit(facts, data):
    gone = data.draw(
        st.sampled_from(sorted(set(facts) - {"process", "jurisdiction"} or {""}))
    )
    fewer = {name: value for name, value in facts.items() if name != gone}
    before, after = draft(facts), draft(fewer)
    places = {(p.step, p.control_point): p for p in after.points}
    for p in before.points:
        now = places[p.step, p.control_point]
        assert now.critical in {p.critical, UNKNOWN} or p.critical is NO
        printed = [one.published for one in now.limits]
        for one in p.limits:
            if one.role is not Role.COMPARISON:
                assert any(is_edition_of(one.published, other) for other in printed)


def is_edition_of(published, other):
    """Say whether two are one limit: the same, or alike in two editions of a code."""
    ids = {published.limit.id, other.limit.id}
    return len(ids) == 1 or published.same_as in ids or other.same_as in ids


@given(facts=DESCRIBED)
def test_the_plan_is_written_as_json(facts):
    plan = json.loads(json.dumps(draft(facts).as_json()))
    assert plan["format"] == "brinewright.draft-plan/1"
    for one in plan["critical_control_points"] + plan["other_control_points"]:
        assert one["control_point"] in CONTROL_POINTS
        assert one["critical"] in {"yes", "no", "undecided"}
        for limit in one["limits"]:
            assert get(limit["id"]).words == limit["words"]
            assert limit["source"]["section"]
    assert plan["not_covered"]
    assert plan["rules"]


# ------------------------------------------------------------------ adding a process

NEW = """
slug  = "smoked-twice"
title = "Fish smoked twice"
facts = { process = "hot-smoked" }
ask   = ["packaging", "storage"]

[[step]]
name  = "heating"
title = "Smoke once"

[[step.control]]
name       = "heating"
critical   = true
log        = "series"
quantities = ["core-temperature"]
prompt     = "Coldest fish"
if_not_met = ["smoke on"]
"""


def test_a_process_is_added_by_one_file_and_drafted_at_once(tmp_path):
    (tmp_path / "smoked-twice.toml").write_text(NEW, "utf-8")
    (one,) = load_processes(tmp_path).values()
    plan = draft(COHO, known_processes={"hot-smoked": one})
    heating = point(plan, "heating", "heating")
    assert heating.step_title == "Smoke once"
    assert heating.if_not_met == ("smoke on",)
    # What the file does not have, hazards and governing limits bring all the same.
    assert point(plan, "cold-holding", "cold-holding").critical is YES
    assert "Fish smoked twice".lower() in plan.title


@pytest.mark.parametrize("process", FACTS["process"].values)
def test_a_draft_stands_for_every_process(process):
    plan = draft(COHO | {"process": process, "intended-use": "ready-to-eat"})
    assert plan.critical_points
    for one in plan.critical_points:
        assert one.monitoring, (one.step, one.control_point)
        assert one.if_not_met, (one.step, one.control_point)
        assert one.why
