"""What may never turn a finding into met: more doubt, less record, a worse course.

Taking away a reading or a check can hide what went wrong, and no rule can see that; here
stands what holds nevertheless.
"""

import copy
import json
from datetime import datetime, timedelta

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from safety.judge import judge_batch, read_batch
from tests.reference.generate import KINDS, batch_docs
from tests.safety.judge.documents import NOW, check, document, limit, reading, window

RANK = {"missed": 0, "not shown": 1, "met": 2}
HOTTER_HELPS = ("at_least", "dwell_at_least", "stay_at_least")
HOTTER_HURTS = ("at_most", "dwell_at_most", "stay_at_most")
EXAMPLES = settings(max_examples=150, deadline=None)


def plainly(whole):
    return json.loads(json.dumps(whole, default=float))


def judge(whole):
    return judge_batch(read_batch(json.dumps(whole), now=NOW))


def statuses(whole):
    """Return the status of every finding by a limit."""
    return {
        (finding.limit_id, finding.place): finding.status.value
        for finding in judge(whole).findings
        if finding.limit_id != "instrument-check"
    }


def assert_nothing_becomes_met(before, after):
    """Hold that no finding, and no outcome, is met that was not."""
    was, is_now = statuses(before), statuses(after)
    for series, status in is_now.items():
        if status == "met" and series in was:
            assert was[series] in {"met", "does not apply"}
    if judge(after).outcome.value == "met":
        assert judge(before).outcome.value == "met"


def warmer(whole, degrees):
    changed = copy.deepcopy(whole)
    for entry in changed.get("readings", []):
        entry["value"] += degrees
    for entry in changed.get("traces", []):
        entry["values"] = [value + degrees for value in entry["values"]]
    return changed


def has_samples(whole):
    """Say whether a value is a ratio, which does not rise with both of its parts."""
    return any(entry["quantity"] == "moisture" for entry in whole.get("readings", []))


@pytest.mark.parametrize("kind", [*HOTTER_HELPS, *HOTTER_HURTS])
def test_higher_readings_move_every_finding_one_way(kind):
    direction = 1 if kind in HOTTER_HELPS else -1

    @EXAMPLES
    @given(batch_docs(kind), st.sampled_from((0.5, 1, 3, 40)))
    def holds(drawn, degrees):
        whole = plainly(drawn)
        assume(not has_samples(whole))
        before, after = statuses(whole), statuses(warmer(whole, degrees))
        for series, status in before.items():
            assert (RANK[after[series]] - RANK[status]) * direction >= 0

    holds()


@EXAMPLES
@given(batch_docs("exposure_at_most"), st.sampled_from((0.5, 1, 3, 40)))
def test_higher_readings_never_shorten_the_time_above(drawn, degrees):
    whole = plainly(drawn)
    for band in whole["limits"][0]["bands"]:
        band["up_to"] = None
    before, after = statuses(whole), statuses(warmer(whole, degrees))
    for series, status in before.items():
        assert RANK[after[series]] <= RANK[status]


@EXAMPLES
@given(batch_docs())
def test_reading_without_its_instrument_is_never_met(drawn):
    whole = plainly(drawn)
    named = [
        entry
        for part in ("readings", "traces")
        for entry in whole.get(part, [])
        if "instrument" in entry
    ]
    assume(named)
    for entry in named:
        del entry["instrument"]
    assert judge(whole).outcome.value != "met"
    statuses_of_checks = {
        each.status.value
        for each in judge(whole).findings
        if each.limit_id == "instrument-check"
    }
    assert statuses_of_checks == {"not shown"}


@EXAMPLES
@given(batch_docs(), st.sampled_from((-1, -0.5, 0.5, 1)))
def test_one_more_error_found_at_every_check_meets_nothing(drawn, error):
    whole = plainly(drawn)
    checks = [
        each for one in whole.get("instruments", []) for each in one.get("checks", [])
    ]
    assume(checks)
    doubtful = copy.deepcopy(whole)
    for one in doubtful["instruments"]:
        more = copy.deepcopy(one.get("checks", []))
        for each in more:
            each["shown"]["value"] = each["true"]["value"] + error
            each["shown"]["unit"] = each["true"]["unit"]
        one["checks"] = one.get("checks", []) + more
    assert_nothing_becomes_met(whole, doubtful)


def exact_checks(instrument):
    """List the checks that found no error."""
    return [
        each for each in instrument.get("checks", []) if each["shown"] == each["true"]
    ]


@EXAMPLES
@given(batch_docs())
def test_dropping_a_check_that_found_no_error_meets_nothing(drawn):
    whole = plainly(drawn)
    assume(any(exact_checks(one) for one in whole.get("instruments", [])))
    for i, one in enumerate(whole["instruments"]):
        for each in exact_checks(one):
            less = copy.deepcopy(whole)
            less["instruments"][i]["checks"].remove(each)
            assert_nothing_becomes_met(whole, less)


@EXAMPLES
@given(batch_docs())
def test_dropping_all_checks_is_never_met(drawn):
    whole = plainly(drawn)
    assume(any("instrument" in entry for entry in whole.get("readings", [])))
    for one in whole["instruments"]:
        one["checks"] = []
    assert judge(whole).outcome.value != "met"


@EXAMPLES
@given(batch_docs(), st.sampled_from((1, 60, 60 * 24 * 40)))
def test_judging_later_meets_nothing(drawn, minutes):
    whole = plainly(drawn)
    judged_at = datetime.fromisoformat(whole["judged_at"]) + timedelta(minutes=minutes)
    later = whole | {"judged_at": judged_at.isoformat()}
    assert_nothing_becomes_met(whole, later)


@EXAMPLES
@given(batch_docs())
def test_dropping_what_is_stated_or_dated_meets_nothing(drawn):
    whole = plainly(drawn)
    for part in ("statements", "dates"):
        for i in range(len(whole.get(part, []))):
            less = copy.deepcopy(whole)
            del less[part][i]
            assert_nothing_becomes_met(whole, less)


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_on_record_is_never_met(kind):
    @settings(max_examples=30, deadline=None)
    @given(batch_docs(kind))
    def holds(drawn):
        whole = plainly(drawn)
        empty = {"format": whole["format"], "limits": whole["limits"]}
        assert judge(empty).outcome.value == "not shown"

    holds()


@pytest.mark.parametrize("kind", ["stay_at_most", "stay_at_least"])
def test_holding_without_a_start_and_an_end_is_never_met(kind):
    @EXAMPLES
    @given(batch_docs(kind))
    def holds(drawn):
        whole = plainly(drawn)
        whole["windows"] = []
        assert "met" not in statuses(whole).values()

    holds()


@EXAMPLES
@given(batch_docs("exposure_at_most"))
def test_exposure_of_readings_without_a_window_is_never_met(drawn):
    whole = plainly(drawn)
    asked = whole["limits"][0]
    entries = (*whole.get("readings", []), *whole.get("traces", []))
    assume(
        any(
            entry["step"] in asked["steps"] and entry["quantity"] == asked["quantity"]
            for entry in entries
        )
    )
    whole["windows"] = []
    assert "met" not in statuses(whole).values()


minutes = st.lists(st.integers(0, 36), min_size=1, max_size=7, unique=True)


@st.composite
def smoking(draw):
    """Draw readings near 145 degF by an exact thermometer, and a limit on them."""
    at_minutes = [5 * number for number in draw(minutes)]
    values = draw(
        st.lists(
            st.sampled_from((143, 144.9, 145, 145, 146, 150)),
            min_size=len(at_minutes),
            max_size=len(at_minutes),
        )
    )
    kind = draw(st.sampled_from(HOTTER_HELPS))
    more = {"minutes": draw(st.sampled_from((0, 10, 30)))}
    if not kind.startswith("dwell"):
        more = {}
    if kind.startswith("stay"):
        more = {"excursion_min": draw(st.sampled_from((0, 10, 30)))}
    if kind != "at_least":
        more["check_every_min"] = draw(st.sampled_from((10, 30, 200)))
    pairs = zip(at_minutes, values, strict=True)
    return document(
        windows=[window(0, draw(st.sampled_from((180, 200))))],
        readings=[reading(minute, value) for minute, value in pairs],
        limits=[limit(kind, **more)],
    )


@EXAMPLES
@given(smoking())
def test_dropping_a_reading_that_complies_meets_nothing(whole):
    for i, entry in enumerate(whole["readings"]):
        if entry["value"] >= 145:
            less = copy.deepcopy(whole)
            del less["readings"][i]
            assert_nothing_becomes_met(whole, less)


@EXAMPLES
@given(smoking(), st.sampled_from((1, 5)))
def test_asking_for_more_frequent_readings_meets_nothing(whole, every):
    assume("check_every_min" in whole["limits"][0])
    stricter = copy.deepcopy(whole)
    stricter["limits"][0]["check_every_min"] = every
    assert_nothing_becomes_met(whole, stricter)


@EXAMPLES
@given(smoking(), st.integers(0, 40))
def test_reading_entered_later_changes_no_status(whole, hours):
    late = copy.deepcopy(whole)
    for entry in late["readings"]:
        entry["entered_at"] = f"2026-05-04T0{hours % 10}:00:00-07:00"
    assert statuses(late) == statuses(whole)


@EXAMPLES
@given(smoking())
def test_strict_is_never_easier(whole):
    stricter = copy.deepcopy(whole)
    stricter["limits"][0]["strict"] = True
    assert_nothing_becomes_met(whole, stricter)


@EXAMPLES
@given(smoking())
def test_failed_check_after_the_readings_is_never_met(whole):
    whole["instruments"][0]["checks"][1] = check(24 * 60, 34.5)
    judgement = judge(whole)
    assert judgement.outcome.value == "missed"
    assert judgement.control_points["instrument-check"].value == "missed"


@EXAMPLES
@given(batch_docs(), batch_docs())
def test_one_more_limit_meets_nothing(drawn, other):
    whole = plainly(drawn)
    more = copy.deepcopy(whole)
    taken = plainly(other)["limits"]
    more["limits"] += [renamed(each) for each in taken]
    if judge(more).outcome.value == "met":
        assert judge(whole).outcome.value in {"met", "not shown"}
        own = set(statuses(whole).values())
        assert own <= {"met", "does not apply"}


def renamed(one):
    changed = dict(one, id=f"further-{one['id']}")
    if "limits" in one:
        changed["limits"] = [renamed(each) for each in one["limits"]]
    return changed
