"""Two plans side by side: nothing that differs is left out."""

import copy
import json

import pytest

from batches import planning, recording
from batches.views.plan_compare import differences
from tests import factories
from tests.batches.test_plans import ANSWERS, HEATING, OWN, letter
from tests.factories import START

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner():
    return factories.MemberFactory()


@pytest.fixture
def draft(owner):
    premises = factories.PremisesFactory(producer=owner.producer, jurisdiction="US")
    product = recording.answer_questions(
        factories.ProductFactory(producer=owner.producer),
        facts=ANSWERS,
        by=owner,
        at=START,
    )
    version = recording.start_plan(product, premises=premises, by=owner, at=START)
    edits = {
        "own": OWN,
        "who": {"heating/heating": "Ida"},
        "review": planning.BY_OTHER,
        "schedule": {"brine_sal": "60", "support_date": "2026-01-02"},
        "decisions": [{"hazard": "metal", "significant": "no", "reason": "By hand."}],
        "figures": {HEATING: {"minutes": "20"}},
        "letters": {HEATING: letter(owner).pk},
    }
    return recording.revise_plan(version, edits=edits, by=owner, at=START)


@pytest.fixture
def content(draft):
    return json.loads(planning.content_of(draft))


def places(held, place=()):
    """Yield the place of each single value."""
    if isinstance(held, dict):
        for name, value in held.items():
            yield from places(value, (*place, name))
    elif isinstance(held, list):
        for count, value in enumerate(held):
            yield from places(value, (*place, count))
    else:
        yield place


def changed(content, place, value):
    other = copy.deepcopy(content)
    inner = other
    for name in place[:-1]:
        inner = inner[name]
    inner[place[-1]] = value
    return other


def test_same_plan_differs_in_nothing_but_its_number(content):
    assert differences(content, copy.deepcopy(content)) == []
    assert differences(content, changed(content, ("number",), 9)) == []


def test_no_change_of_any_single_value_is_silent(content):
    kinds = {}
    for place in places(content):
        kinds.setdefault(tuple(n for n in place if not isinstance(n, int)), place)
    kinds.pop(("number",))
    assert len(kinds) > 200
    for place in kinds.values():
        value = "changed"
        if place[-1] in {"letter", "published"}:  # this limit has none, another has
            value = next(o[place[-1]] for o in content["limits"] if o[place[-1]])
        found = differences(content, changed(content, place, value))
        assert found, place
        assert all(one.before != one.after for one in found), place


def test_what_is_in_one_plan_only_is_not_there_in_the_other(content):
    fewer = copy.deepcopy(content)
    taken = fewer["limits"].pop()
    (found,) = differences(content, fewer)
    assert found.before.startswith(taken["words"])
    assert found.after is None
    (found,) = differences(fewer, content)
    assert found.before is None


def test_people_read_names_and_not_the_keys_of_the_program(content):
    at = content["plan"]["facts"]
    other = changed(content, ("plan", "facts", "packaging"), "air")
    (found,) = differences(content, other)
    assert at["packaging"] == "reduced-oxygen"
    assert found.what == "Packaging"
    assert "vacuum" in found.before
    other = changed(content, ("edits", "schedule", "brine_sal"), "70")
    (found,) = differences(content, other)
    assert (found.before, found.after) == ("60", "70")
    assert "Strength of the brine" in found.what


def test_letter_of_somebody_else_is_a_difference(content):
    count = next(i for i, one in enumerate(content["limits"]) if one["letter"])
    other = changed(content, ("limits", count, "letter", "author"), "A. Tarn")
    (found,) = differences(content, other)
    assert "Dr Quill Marrowby" in found.before
    assert "A. Tarn" in found.after
