"""Without limits of its own a batch is judged by the published ones its facts select."""

from dataclasses import replace

import pytest

from safety.controls import CONTROL_POINTS
from safety.errors import Refused
from safety.foods import facts_of
from safety.judge import judge_batch
from safety.judge.plan import Planned
from safety.limits import all_published, consider, interval_of, select
from safety.limits.parse import parse_limit
from tests.safety.judge.documents import (
    GONE,
    at,
    document,
    judged,
    read,
    reading,
    trace,
    window,
)

FACTS = {
    "food": "coho-salmon",
    "process": "hot-smoked",
    "packaging": "reduced-oxygen",
    "storage": "refrigerated",
    "programme": "seafood-processor",
}
FURTHER = {
    "nitrite-added": "no",
    "eviscerated": "yes",
    "handled-after-cooking": "no",
    "receipt": "frozen",
}
HEATING = "us-fda.hazards-guide.ch13.heating"
COLD_STORE = "us-fda.hazards-guide.ch13.cold-store"
STATE_HEATING = "us-me.ch359.heating"


def product(*without, **more):
    facts = {name: value for name, value in FACTS.items() if name not in without}
    further = {name: value for name, value in FURTHER.items() if name not in without}
    return facts | {"facts": further} | more


def judge(given, **parts):
    return judged(limits=GONE, product=given, **parts)


def by_limit(findings):
    return {finding.limit_id: finding for finding in findings}


def test_facts_select_the_limits():
    selected = select(FACTS | FURTHER)
    judgement = judge(product())
    governing = {s.published.limit.id for s in selected if s.governs.value == "yes"}
    compared = {s.published.limit.id for s in selected if s.governs.value == "no"}
    found = set(by_limit(judgement.findings)) - {"instrument-check"}
    assert found == governing
    assert set(by_limit(judgement.comparison)) == compared
    assert governing
    assert compared


def test_findings_stand_in_the_order_of_the_work():
    order = list(CONTROL_POINTS)
    *by_limits, instrument = judge(product()).findings
    found = [order.index(each.control_point) for each in by_limits]
    assert found == sorted(found)
    assert instrument.limit_id == "instrument-check"


def test_every_finding_of_a_published_limit_cites_it():
    judgement = judge(product())
    for each in (*judgement.findings, *judgement.comparison):
        if each.limit_id != "instrument-check":
            assert each.published.limit.id == each.limit_id
            source = each.as_json()["source"]
            assert all(source.values())
    by_own_limit = document()
    assert judge_batch(read(by_own_limit)).as_json()["findings"][0]["source"] is None


@pytest.mark.parametrize("name", [*FACTS, *FURTHER])
def test_unknown_fact_drops_no_limit_that_governed_and_meets_none(name):
    whole = judge(product())
    less = judge(product(name))
    assert set(by_limit(whole.findings)) <= set(by_limit(less.findings))
    assert less.outcome.value != "met"


@pytest.mark.parametrize("name", ["process", "packaging", "programme", "nitrite-added"])
def test_unknown_fact_leaves_a_question_open(name):
    known = by_limit(judge(product()).findings)
    open_now = by_limit(judge(product(name)).findings)
    asked = [
        each
        for each in open_now.values()
        if each.would_settle.startswith("The product's ")
    ]
    assert asked
    for each in asked:
        assert each.status.value == "not shown"
        assert each.place is None
        assert name in each.would_settle
        assert each.governs
        assert "is open until it is said" in each.why
    assert len(open_now) >= len(known)


def test_contradicting_fact_drops_a_limit():
    with_nitrite = product()
    with_nitrite["facts"] = with_nitrite["facts"] | {"nitrite-added": "yes"}
    assert "us-fda.hazards-guide.ch13.salt" in by_limit(judge(product()).findings)
    assert "us-fda.hazards-guide.ch13.salt" not in by_limit(
        judge(with_nitrite).findings
    )


def test_fact_that_contradicts_the_food_is_unknown():
    name, fact = "coho-salmon", "scombrotoxin"
    value = facts_of(name)[fact]
    other = next(
        each.applies_when[fact]
        for each in all_published()
        if fact in each.applies_when and value not in each.applies_when[fact]
    )[0]
    facts = FACTS | FURTHER | {"food": name, "nitrite-added": "yes", fact: other}
    asked = {
        missing
        for selected in select(facts)
        if selected.governs.value != "no"
        for missing in selected.missing
    }
    assert fact in asked
    further = {key: part for key, part in facts.items() if key not in FACTS}
    judgement = judge({key: facts[key] for key in FACTS} | {"facts": further})
    assert judgement.outcome.value == "not shown"
    assert any(fact in each.would_settle for each in judgement.findings)


@pytest.mark.parametrize(
    "given",
    [
        product(programme="home"),
        product(programme="meat-inspected"),
        product(jurisdiction="XX"),
    ],
)
def test_product_that_nothing_governs_is_not_shown(given):
    judgement = judge(given)
    assert judgement.outcome.value == "not shown"
    assert judgement.control_points["record-review"].value == "not shown"
    nothing = by_limit(judgement.findings)["no-governing-limit"]
    assert nothing.status.value == "not shown"
    assert nothing.why == "No published limit that we know governs this product."
    assert nothing.would_settle.startswith("The product's food, process,")
    assert nothing.as_json()["source"] is None


def test_without_any_fact_nothing_is_met():
    for given in ({}, {"programme": "seafood-processor"}, {"process": "hot-smoked"}):
        judgement = judge(given)
        assert judgement.outcome.value == "not shown"
        statuses = {each.status.value for each in judgement.findings}
        assert statuses == {"met", "not shown"}  # the instrument alone is met
        assert len(judgement.findings) > 2


def test_limits_that_do_not_apply_leave_nothing_that_governs(monkeypatch):
    chosen = [
        selected
        for selected in consider(FACTS | FURTHER)
        if selected.published.limit.kind == "cool_through"
        and selected.governs.value == "yes"
    ]
    monkeypatch.setattr("safety.judge.judging.select", lambda _, **kwargs: chosen)
    judgement = judge(product(), windows=[], readings=[reading(9, 38, step="cooling")])
    statuses = [each.status.value for each in judgement.findings]
    assert statuses.count("does not apply") == len(chosen) > 0
    assert judgement.outcome.value == "not shown"
    assert "no-governing-limit" in by_limit(judgement.findings)


def test_comparison_is_never_in_the_outcome():
    hot = [reading(minute, 150) for minute in (60, 75, 90)]
    cool = [reading(90, 130), reading(100, 130)]
    without_state = judge(product(), readings=hot)
    assert by_limit(without_state.comparison)[STATE_HEATING].status.value == "met"
    for readings in (hot, cool):
        judgement = judge(product(), readings=readings)
        assert all(each.governs for each in judgement.findings)
        assert not any(each.governs for each in judgement.comparison)
        for point, status in judgement.control_points.items():
            own = [
                each.status.value
                for each in judgement.findings
                if each.control_point == point
            ]
            assert status.value in own
        governed = {each.control_point for each in judgement.findings}
        assert set(judgement.control_points) == governed
    assert "comparison" in without_state.as_json()
    assert "comparison" not in judged().as_json()


def test_rule_of_a_state_governs_only_there():
    assert STATE_HEATING in by_limit(judge(product()).comparison)
    there = judge(product(jurisdiction="US-ME"))
    assert STATE_HEATING in by_limit(there.findings)


def test_question_of_a_limit_that_only_compares_stays_in_the_comparison():
    judgement = judge(product("receipt"))
    asked = [
        each
        for each in judgement.comparison
        if each.would_settle.startswith("The product's receipt")
    ]
    assert asked
    assert all(each.status.value == "not shown" for each in asked)


def test_typed_readings_where_a_recorder_is_asked_are_a_caution():
    caution = "typed where a recorder is asked"
    typed = by_limit(judge(product()).findings)[HEATING]
    assert typed.published.continuous_recorder
    assert caution in typed.cautions
    logged = trace([147] * 20, step="heating") | {"start": at(0), "every_s": 600}
    by_logger = judge(product(), readings=[], traces=[logged])
    assert caution not in by_limit(by_logger.findings)[HEATING].cautions
    state = by_limit(judge(product()).comparison)[STATE_HEATING]
    assert caution not in state.cautions


def test_typed_readings_are_seen_through_alternatives():
    caution = "typed where a recorder is asked"
    smoked_in_air = product(packaging="air")
    table = "us-fda.hazards-guide.ch16.heating"
    found = by_limit(judge(smoked_in_air).findings)[table]
    assert found.limit.kind == "any_of"
    assert caution in found.cautions


def cold_store(every_min):
    """Log a cold store for a day, or type it so many minutes apart."""
    minutes = range(0, 1441, every_min)
    return {
        "windows": [window(0, 1440, "cold-holding")],
        "readings": [
            reading(minute, 35, step="cold-holding", quantity="air-temperature")
            for minute in minutes
        ],
    }


@pytest.mark.parametrize(
    ("every_min", "intervals", "status"),
    [
        (60, {}, "met"),
        (61, {}, "not shown"),
        (720, {"cold-holding": 720}, "met"),
        (720, {"cold-holding": 719}, "not shown"),
        (60, {"cold-holding": 30}, "not shown"),
        (720, {"heating": 30}, "not shown"),
    ],
)
def test_interval_of_the_plan_stands_in_for_our_own(every_min, intervals, status):
    whole = document(limits=GONE, product=product(), **cold_store(every_min))
    judgement = judge_batch(read(whole), intervals=intervals)
    found = by_limit(judgement.findings)[COLD_STORE]
    assert found.status.value == status


def test_interval_of_the_plan_may_reach_the_ceiling_and_no_further():
    batch = read(document(limits=GONE, product=product()))
    ceiling = int(
        interval_of(by_limit(judge(product()).findings)[HEATING].published).ceiling_min
    )
    judge_batch(batch, intervals={"heating": ceiling})
    for wrong in (ceiling + 1, 0, -5):
        with pytest.raises(Refused):
            judge_batch(batch, intervals={"heating": wrong})


def test_interval_of_the_plan_leaves_limits_given_with_the_batch_alone():
    batch = read(document(readings=[reading(m, 147) for m in (60, 80, 100)]))
    for intervals in (None, {}, {"heating": 30}, {"heating": 99_999}):
        found = judge_batch(batch, intervals=intervals).findings[0]
        assert found.status.value == "not shown"


def test_interval_of_a_control_point_without_one_changes_nothing():
    batch = read(document(limits=GONE, product=product()))
    assert judge_batch(batch, intervals={"labelling": 5}) == judge_batch(batch)


def test_what_was_stated_is_not_typed_where_a_recorder_is_asked():
    label = parse_limit({
        "id": "label", "control_point": "labelling", "kind": "stated", "what": "frozen",
    })  # fmt: skip
    heating = by_limit(judge(product()).findings)[HEATING].published
    planned = Planned(limit=label, published=replace(heating, limit=label))
    batch = read(document(limits=GONE, product=product()))
    found = judge_batch(batch, plan=[planned]).findings[0]
    assert found.limit_id == "label"
    assert found.cautions == ()
