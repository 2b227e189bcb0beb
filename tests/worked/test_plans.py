"""Products described by hand: their hazards, control points and limits come out so."""

import tomllib
from pathlib import Path

import pytest

from safety.facts import Answer
from safety.plans import Role, draft

HERE = Path(__file__).parent / "plans"
KEYS = {
    "name", "source", "working", "facts", "significant", "undecided", "uncontrolled",
    "critical", "may_be_critical", "asks", "limits", "open_limits",
}  # fmt: skip
PROCESSES = {"hot-smoked", "cold-smoked", "dried", "pickled", "raw"}


def descriptions():
    for path in sorted(HERE.glob("*.toml")):
        for plan in tomllib.loads(path.read_text("utf-8")).get("plan", ()):
            yield pytest.param(plan, id=plan["name"])


def with_role(plan, role):
    found = {}
    for point in plan.points:
        ids = [one.published.limit.id for one in point.limits if one.role is role]
        if ids:
            found[f"{point.step}/{point.control_point}"] = sorted(ids)
    return found


def in_order(table):
    return {place: sorted(ids) for place, ids in table.items()}


@pytest.mark.parametrize("given", list(descriptions()))
def test_description(given):
    assert set(given) <= KEYS
    assert given["source"]
    assert given["working"]
    plan = draft(given["facts"])
    hazards = plan.analysis.hazards
    why = f"{given['source']}: {given['working']}"

    def answered(answer):
        return sorted(one.id for one in hazards if one.significant is answer)

    def points(answer):
        return [
            f"{one.step}/{one.control_point}"
            for one in plan.points
            if one.critical is answer
        ]

    assert answered(Answer.YES) == sorted(given["significant"]), why
    assert answered(Answer.UNKNOWN) == sorted(given.get("undecided", [])), why
    assert [one.id for one in hazards if one.uncontrolled] == given.get(
        "uncontrolled", []
    ), why
    assert points(Answer.YES) == given["critical"], why
    assert points(Answer.UNKNOWN) == given.get("may_be_critical", []), why
    assert [one.fact for one in plan.questions if one.fact] == given.get("asks", []), (
        why
    )
    assert with_role(plan, Role.STRICTEST) == in_order(given["limits"]), why
    assert with_role(plan, Role.OPEN) == in_order(given.get("open_limits", {})), why


def test_there_are_forty_descriptions_of_every_kind():
    plans = [one.values[0] for one in descriptions()]
    assert len(plans) >= 40
    assert len({one["name"] for one in plans}) == len(plans)
    facts = [one["facts"] for one in plans]
    assert {each.get("process") for each in facts} == PROCESSES
    assert {each.get("packaging") for each in facts} >= {"air", "reduced-oxygen"}
    assert {each.get("storage") for each in facts} >= {
        "refrigerated", "frozen", "ambient",
    }  # fmt: skip
    assert {each.get("programme") for each in facts} >= {"seafood-processor", "retail"}
    assert len({each.get("jurisdiction") for each in facts}) >= 6
    assert len({each["food"] for each in facts}) >= 20
