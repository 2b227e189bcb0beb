"""A process records what its limits ask for, and asks for the facts that choose them."""

import pytest

from safety.controls import STEPS
from safety.errors import UnknownName
from safety.facts import FACTS, Answer
from safety.limits import get as get_limit
from safety.limits import select
from safety.limits.model import (
    Combination,
    CoolLimit,
    ExposureLimit,
    StatedLimit,
    WithinLimit,
)
from safety.processes import all_processes, get

HOT = get("hot-smoked")


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


def asked():
    """Yield every plain limit that may govern a hot-smoked fish, in any state."""
    for place in ("US", "US-MI", "US-ME", "US-NY"):
        for one in select({**HOT.facts, "jurisdiction": place}):
            if one.governs is not Answer.NO:
                yield from plain(one.published.limit)


def test_steps_stand_in_the_order_of_the_work():
    names = [step.name for step in HOT.steps]
    assert names == sorted(names, key=STEPS.index)
    assert {"heating", "cooling", "packing", "cold-holding"} <= set(names)


def test_every_reading_that_a_governing_limit_asks_for_can_be_recorded():
    taken = {
        (step.name, quantity)
        for step, control in HOT.controls()
        for quantity in control.quantities
    }
    wanted = set()
    for limit, step in asked():
        if isinstance(limit, CoolLimit | ExposureLimit):
            wanted |= {(each, limit.quantity) for each in limit.steps}
        elif not isinstance(limit, StatedLimit | WithinLimit):
            wanted.add((step, limit.quantity))
    assert len(wanted) > 10
    assert wanted <= taken


def test_everything_that_must_be_stated_or_dated_has_its_place():
    stated = {what for _, control in HOT.controls() for what in control.states}
    dated = {what for _, control in HOT.controls() for what in control.dates}
    wanted = [limit for limit, _ in asked()]
    assert {one.what for one in wanted if isinstance(one, StatedLimit)} == stated
    assert {one.what for one in wanted if isinstance(one, WithinLimit)} == dated


def test_what_chooses_its_limits_is_asked_or_known():
    chosen_by = {
        name
        for one in select(HOT.facts)
        if one.governs is not Answer.NO
        for name in one.published.applies_when
    }
    brought_by_food = {"scombrotoxin", "nitrite-permitted"}
    assert chosen_by - set(HOT.facts) - brought_by_food <= set(HOT.ask)
    assert set(HOT.ask) <= set(FACTS)


def test_a_process_prints_no_figure_of_its_own():
    for _, control in HOT.controls():
        for words in (control.prompt, control.note, *control.if_not_met):
            assert not any(letter.isdigit() for letter in words), words


def test_monitoring_names_a_limit_that_exists():
    told = [control.monitoring for _, control in HOT.controls() if control.monitoring]
    assert len(told) >= 4
    for monitoring in told:
        assert get_limit(monitoring.source).source.section


def test_a_process_that_is_not_described_is_refused():
    assert HOT in all_processes()
    with pytest.raises(UnknownName, match=r"no process called 'canned'.*hot-smoked"):
        get("canned")
