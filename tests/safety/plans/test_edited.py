"""A drafted plan edited: what is tightened, what needs a letter, that nothing is lost."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safety.errors import Refused
from safety.limits import get
from safety.limits.model import CoolLimit, DwellLimit
from safety.plans import Role, draft
from safety.plans.edited import editable, edited_limits, figure
from safety.plans.planned import PlanLimit

HEATING = "us-fda.hazards-guide.ch13.heating"
COOLING = "us-fda.hazards-guide.ch12.cooling-first"
EXPOSURE = "us-fda.hazards-guide.ch12.exposure-cooked"
FACTS = {
    "food": "coho-salmon",
    "process": "hot-smoked",
    "packaging": "reduced-oxygen",
    "storage": "refrigerated",
    "programme": "seafood-processor",
    "nitrite-added": "no",
    "eviscerated": "yes",
    "handled-after-cooking": "yes",
    "receipt": "frozen",
}
PLAN = draft(FACTS)
OWN = {
    "id": "own.thickest",
    "control_point": "curing",
    "kind": "at_most",
    "quantity": "thickness",
    "value": "32.50",
    "unit": "mm",
    "words": "As our study says.",
}


def by_id(figures=None, own=(), plan=PLAN):
    found = edited_limits(plan, figures or {}, own)
    return {each.limit.id: each for each in found}


def test_plan_starts_with_the_strictest_published_limits():
    found = by_id()
    strictest = {
        each.published.limit.id
        for point in PLAN.points
        for each in point.limits
        if each.role is Role.STRICTEST
    }
    assert found.keys() == strictest
    assert all(each.is_kept and not each.is_edited for each in found.values())
    assert all(each.limit == each.published.limit for each in found.values())


def test_figure_as_printed_is_no_edit():
    assert not by_id({HEATING: {"value": "145.0"}})[HEATING].is_edited


@given(st.integers(1000, 2000), st.integers(1, 90))
def test_hold_is_kept_only_where_hotter_and_longer(tenths, minutes):
    value = Decimal(tenths) / 10
    edited = by_id({HEATING: {"value": str(value), "minutes": str(minutes)}})[HEATING]
    published = get(HEATING).limit
    assert isinstance(published, DwellLimit)
    expected = value >= published.value and minutes >= published.minutes
    assert edited.is_kept == expected
    assert edited.limit.value == value
    if value != published.value:
        assert not edited.limit.also, "the figure in the other unit is another figure"


@given(st.integers(1, 240))
def test_cooling_is_kept_only_where_quicker(minutes):
    edited = by_id({COOLING: {"minutes": str(minutes)}})[COOLING]
    assert edited.is_kept == (minutes <= get(COOLING).limit.minutes)


@pytest.mark.parametrize(
    ("end", "is_kept", "celsius"), [("60", True, "15.5"), ("75", False, "23.8")]
)
def test_colder_end_of_cooling_is_stricter_in_both_units(end, is_kept, celsius):
    edited = by_id({COOLING: {"to": end}})[COOLING]
    assert edited.is_kept == is_kept
    printed = get(COOLING).limit.also["degC"][0]
    assert edited.limit.also == {"degC": (printed, Decimal(celsius))}


def test_other_start_of_cooling_needs_a_letter_either_way():
    for start in ("130", "140"):
        assert not by_id({COOLING: {"from": start}})[COOLING].is_kept


def test_interval_is_held_by_its_ceiling_alone():
    edited = by_id({HEATING: {"check_every_min": "30"}})[HEATING]
    assert edited.is_edited
    assert edited.is_kept
    for wrong in ("0", "31"):
        with pytest.raises(Refused):
            by_id({HEATING: {"check_every_min": wrong}})


@pytest.mark.parametrize(
    ("figures", "pointer"),
    [
        (
            {HEATING: {"value": "warm"}},
            "/limits/us-fda.hazards-guide.ch13.heating/value",
        ),
        (
            {HEATING: {"value": "NaN"}},
            "/limits/us-fda.hazards-guide.ch13.heating/value",
        ),
        ({HEATING: {"days": "3"}}, "/limits/us-fda.hazards-guide.ch13.heating/days"),
        (
            {EXPOSURE: {"value": "2"}},
            "/limits/us-fda.hazards-guide.ch12.exposure-cooked/value",
        ),
        ({COOLING: {"to": "140"}}, "/limits/us-fda.hazards-guide.ch12.cooling-first"),
        ({"no.such": {}}, "/limits/no.such"),
    ],
)
def test_figure_that_cannot_stand_is_refused_where_it_is(figures, pointer):
    with pytest.raises(Refused) as refusal:
        by_id(figures)
    assert refusal.value.pointer == pointer


def test_own_limit_is_exact_and_has_no_publication():
    own = by_id(own=[OWN])["own.thickest"]
    assert str(own.limit.value) == "32.50"
    assert own.published is None
    assert own.words == "As our study says."


@pytest.mark.parametrize(
    "changes",
    [
        {"id": "thickest"},
        {"unit": "degF"},
        {"value": "thick"},
        {"colour": "1"},
        {"kind": "any_of", "limits": []},
    ],
)
def test_own_limit_that_is_unclear_is_refused(changes):
    with pytest.raises(Refused) as refusal:
        by_id(own=[OWN | changes])
    assert refusal.value.pointer.startswith("/own/0")


def test_covered_limit_comes_back_when_the_covering_one_is_loosened():
    published = get(HEATING)
    looser = replace(
        published, limit=replace(published.limit, id="x.covered", minutes=Decimal(25))
    )
    point = next(p for p in PLAN.points if p.control_point == "heating")
    covered = PlanLimit(published=looser, role=Role.COVERED, why="", covered_by=HEATING)
    plan = replace(
        PLAN,
        points=tuple(
            replace(p, limits=(*p.limits, covered)) if p is point else p
            for p in PLAN.points
        ),
    )
    assert "x.covered" not in by_id(plan=plan)
    assert "x.covered" not in by_id({HEATING: {"minutes": "26"}}, plan=plan)
    assert "x.covered" in by_id({HEATING: {"minutes": "20"}}, plan=plan)


def test_figures_that_may_be_set_are_those_of_the_kind():
    assert editable(get(HEATING).limit) == ("value", "minutes", "check_every_min")
    assert editable(get(EXPOSURE).limit) == ()
    cooling = get(COOLING).limit
    assert isinstance(cooling, CoolLimit)
    assert figure(cooling, "from") == cooling.from_value
    with pytest.raises(Refused):
        figure(cooling, "value")
