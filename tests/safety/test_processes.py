"""A process records what its limits ask for, and asks for the facts that choose them."""

import pytest

from safety.controls import STEPS
from safety.errors import UnknownName
from safety.facts import FACTS, Answer
from safety.foods import FOOD_FACTS
from safety.limits import all_published, select
from safety.limits.model import (
    Combination,
    CoolLimit,
    ExposureLimit,
    StatedLimit,
    WithinLimit,
)
from safety.plans import draft
from safety.processes import all_processes, get
from safety.processes.load import load

PROCESSES = all_processes()
PLACES = sorted({one.source.jurisdiction for one in all_published()} - {"any"})

every_process = pytest.mark.parametrize(
    "process", PROCESSES, ids=[process.slug for process in PROCESSES]
)


def plain(limit, step=None):
    """Yield the plain limits inside, each with the step it is judged in."""
    here = limit.step or step
    if here is None and limit.control_point in STEPS:
        here = limit.control_point
    if isinstance(limit, Combination):
        for member in limit.limits:
            yield from plain(member, here)
    else:
        yield limit, here


def governing(process):
    """Return every published limit that may govern the process, in any place."""
    found = {}
    for place in PLACES:
        for one in select({**process.facts, "jurisdiction": place}):
            if one.governs is not Answer.NO:
                found[one.published.limit.id] = one
    return found.values()


def asked(process):
    for one in governing(process):
        yield from plain(one.published.limit)


def test_there_is_a_process_for_every_value_of_the_fact():
    assert {process.slug for process in PROCESSES} == set(FACTS["process"].values)
    assert all(process.facts == {"process": process.slug} for process in PROCESSES)


@every_process
def test_steps_stand_in_the_order_of_the_work(process):
    names = [step.name for step in process.steps]
    assert names == sorted(names, key=STEPS.index)
    assert {"receiving", "packing", "cold-holding"} <= set(names)


@every_process
def test_every_reading_that_a_governing_limit_asks_for_can_be_recorded(process):
    taken = {
        (step.name, quantity)
        for step, control in process.controls()
        for quantity in control.quantities
    }
    steps = {step.name for step in process.steps}
    wanted = set()
    for limit, step in asked(process):
        if isinstance(limit, CoolLimit):
            wanted |= {(each, limit.quantity) for each in limit.steps}
        elif isinstance(limit, ExposureLimit):
            # Steps that the process does not have cannot last; the others can.
            wanted |= {(each, limit.quantity) for each in limit.steps if each in steps}
        elif not isinstance(limit, StatedLimit | WithinLimit):
            wanted.add((step, limit.quantity))
    assert len(wanted) >= 5
    assert wanted <= taken


@every_process
def test_everything_that_must_be_stated_or_dated_has_its_place(process):
    stated = {what for _, control in process.controls() for what in control.states}
    dated = {what for _, control in process.controls() for what in control.dates}
    wanted = [limit for limit, _ in asked(process)]
    assert {one.what for one in wanted if isinstance(one, StatedLimit)} == stated
    assert {one.what for one in wanted if isinstance(one, WithinLimit)} == dated


@every_process
def test_every_governing_limit_has_its_control(process):
    controls = {(step.name, control.name) for step, control in process.controls()}
    for one in governing(process):
        limit = one.published.limit
        name = limit.control_point
        step = limit.step or (name if name in STEPS else None)
        assert any(
            name == control and step in {None, of} for of, control in controls
        ), limit.id


SITUATIONS = [
    {"packaging": packaging, "storage": storage, "programme": programme, "food": food}
    for packaging in FACTS["packaging"].values
    for storage in FACTS["storage"].values
    for programme in ("seafood-processor", "retail")
    for food in ("coho-salmon", "atlantic-salmon-aquacultured", "atlantic-mackerel")
]


@every_process
def test_what_chooses_limits_is_asked_or_known(process):
    chosen_by = {
        name for one in governing(process) for name in one.published.applies_when
    }
    assert chosen_by - set(process.facts) - set(FOOD_FACTS) <= set(process.ask)
    assert set(process.ask) <= set(FACTS)


@every_process
def test_whatever_a_draft_still_asks_the_process_asks(process):
    asked_for = {
        question.fact
        for situation in SITUATIONS
        for question in draft({**process.facts, **situation}).questions
    }
    assert len(asked_for) >= 5
    assert asked_for - {None} <= set(process.ask)


@every_process
def test_a_process_prints_no_figure_of_its_own(process):
    for _, control in process.controls():
        for words in (
            control.prompt,
            control.note,
            *control.if_not_met,
            *control.put_right,
            *(factor.what for factor in control.study),
        ):
            assert not any(letter.isdigit() for letter in words), words


@every_process
def test_what_can_be_critical_is_watched(process):
    for step, control in process.controls():
        if control.critical and (step.name, control.name) not in WATCHED_BY_THE_HAZARD:
            assert control.monitoring, (step.name, control.name)
        for row in control.monitoring:
            assert row.source.section


# Parasites, metal, glass and seals are watched as the hazard says; salted fish that is dried, by its dryness.
WATCHED_BY_THE_HAZARD = {
    ("freezing", "freezing"),
    ("packing", "packing"),
    ("curing", "curing"),
    ("packing", "curing"),
}


def test_a_process_that_is_not_described_is_refused():
    with pytest.raises(UnknownName, match=r"no process called 'canned'.*hot-smoked"):
        get("canned")


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


def test_a_process_is_added_by_one_file(tmp_path):
    (tmp_path / "smoked-twice.toml").write_text(NEW, "utf-8")
    found = load(tmp_path)
    assert set(found) == {"smoked-twice"}
    assert [control.name for _, control in found["smoked-twice"].controls()] == [
        "heating"
    ]
