"""Control points are a closed list: the steps of the work and what is looked at beside."""

import pytest

from safety.controls import CONTROL_POINTS, STEPS, control_point
from safety.errors import UnknownName


def test_steps_are_the_control_points_that_are_steps_in_the_order_of_the_work():
    assert STEPS == (
        "receiving", "freezing", "thawing", "curing", "drying", "heating", "cooling",
        "packing", "cold-holding",
    )  # fmt: skip
    assert [point for point in CONTROL_POINTS if point not in STEPS] == [
        "exposure", "labelling", "shelf-life", "instrument-check", "record-review",
    ]  # fmt: skip


@pytest.mark.parametrize("name", CONTROL_POINTS)
def test_control_point_is_found_by_its_name(name):
    point = control_point(name)
    assert point.name == name
    assert point.is_step == (name in STEPS)
    assert point.title


def test_titles_differ():
    titles = [point.title for point in CONTROL_POINTS.values()]
    assert len(set(titles)) == len(titles)


@pytest.mark.parametrize("name", ["", "Heating", "oven", "heating "])
def test_unknown_control_point_is_refused_with_those_that_are_known(name):
    with pytest.raises(UnknownName) as caught:
        control_point(name)
    assert caught.value.kind == "control point"
    assert caught.value.allowed == tuple(CONTROL_POINTS)
    assert str(caught.value).startswith(f"There is no control point called {name!r}.")
