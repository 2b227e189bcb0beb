"""Lethality of a curve: never more than the hottest reading allows, never less than the coldest."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from safety.errors import OutOfRange, UnknownName
from safety.limits import figure, table
from safety.science.lethality import equivalent_min, least_equivalent_min
from safety.science.lethality_curve import curve_equivalent_min, curve_lethality
from safety.science.references import equal_minutes, reference, references

CORE = st.floats(0, 110)
CURVE = st.lists(CORE, min_size=2, max_size=12)
IDS = [one.id for one in references()]


@given(food=CURVE, name=st.sampled_from(IDS), step=st.floats(0.1, 60))
def test_the_curve_lies_between_its_colder_and_its_hotter_readings(food, name, step):
    line = reference(name).line
    minutes = step * np.arange(len(food))
    least = least_equivalent_min(minutes, food, **line)
    most = equivalent_min(np.maximum(food[:-1], food[1:]), np.diff(minutes), **line)
    likely = curve_equivalent_min(minutes, food, **line)
    slack = 1e-9 + 1e-6 * most
    assert least - slack <= likely <= most + slack


@given(food=CURVE, name=st.sampled_from(IDS))
def test_the_curve_is_the_limit_of_ever_closer_readings(food, name):
    line = reference(name).line
    minutes = 10.0 * np.arange(len(food))
    fine = np.linspace(0, minutes[-1], 20_001)
    between = np.interp(fine, minutes, food)
    close = least_equivalent_min(fine, between, **line)
    likely = curve_equivalent_min(minutes, food, **line)
    assert likely == pytest.approx(close, rel=0.02, abs=0.3)


@given(food=CURVE, at=st.floats(0.01, 0.99))
def test_a_reading_on_the_curve_changes_nothing(food, at):
    line = reference("listeria-70").line
    minutes = [10.0 * i for i in range(len(food))]
    whole = curve_equivalent_min(minutes, food, **line)
    extra = food[0] + at * (food[1] - food[0])
    split = curve_equivalent_min(
        [0, 10 * at, *minutes[1:]], [food[0], extra, *food[1:]], **line
    )
    assert split == pytest.approx(whole, rel=1e-6, abs=1e-6)


@given(food=CURVE, error=st.floats(0, 5))
def test_a_thermometer_that_may_read_high_counts_less(food, error):
    assume(max(food) > 55)
    minutes = [10.0 * i for i in range(len(food))]
    process = reference("listeria-70")
    plain = curve_lethality(minutes, food, process)
    guarded = curve_lethality(minutes, food, process, error_c=error)
    assert guarded.least_min <= plain.least_min + 1e-9
    assert guarded.likely_min <= plain.likely_min + 1e-6
    assert plain.share_of_target == pytest.approx(plain.least_min / 2.0)


def test_nothing_is_counted_below_the_floor_and_no_more_above_the_end():
    process = reference("listeria-70")
    assert curve_lethality([0, 600], [54.9, 54.9], process).likely_min == 0
    hot = curve_lethality([0, 1], [95, 95], process)
    assert hot.likely_min == pytest.approx(10 ** ((85 - 70) / 7.5))
    assert hot.least_min == pytest.approx(hot.likely_min)


def test_nothing_is_counted_in_a_gap():
    process = reference("listeria-70")
    minutes, food = [0, 2, 62, 64], [70, 70, 70, 70]
    gap = curve_lethality(minutes, food, process, longest_gap_min=30)
    assert (gap.least_min, gap.likely_min) == pytest.approx((4, 4))
    assert curve_lethality(minutes, food, process).least_min == pytest.approx(64)


@pytest.mark.parametrize(
    ("minutes", "food", "error"),
    [
        ([0, 1], [70], 0), ([1, 0], [70, 70], 0), ([0, 1], [70, float("nan")], 0),
        ([0, 1], [70, 70], -0.5),
    ],
)  # fmt: skip
def test_what_is_no_curve_is_refused(minutes, food, error):
    with pytest.raises(OutOfRange):
        curve_lethality(minutes, food, reference("listeria-70"), error_c=error)


def test_the_processes_have_the_figures_of_the_printed_tables():
    listeria, spores = reference("listeria-70"), reference("spores-90")
    z = figure("us-fda.hazards-guide.table-a-3.z")
    at = figure("us-fda.hazards-guide.table-a-3.reference")
    assert listeria.z_c == float(z.also["delta-degC"])
    assert listeria.reference_c == float(at.also["degC"])
    row = table("us-fda.hazards-guide.ch13.pasteurisation").look_up({
        "product": "any-other"
    })
    assert (spores.reference_c, spores.minutes, spores.z_c, spores.z_above_c) == (
        float(row["celsius"]), float(row["minutes"]), float(row["z_celsius"]),
        float(row["z_above_celsius"]),
    )  # fmt: skip


def test_the_process_that_asks_for_more_is_the_one_of_the_fda():
    below = np.arange(80, 90)
    assert (
        equal_minutes("spores-90", below) > equal_minutes("spores-90-gb", below)
    ).all()
    # Fernandez and Peck 1997 (seen 1): no growth after 230 min at 80 °C, 36 at 85 °C.
    assert equal_minutes("spores-90", 80) > 230 > equal_minutes("spores-90-gb", 80)


def test_every_printed_row_is_near_the_formula():
    for name, process in (
        ("us-fda.hazards-guide.table-a-4", "spores-90"),
        ("gb.fsa-vacuum-packing.spores", "spores-90-gb"),
    ):
        rows = table(name).rows
        printed = np.array([float(row["minutes"]) for row in rows])
        celsius = [float(row["celsius"]) for row in rows]
        assert len(rows) > 10
        ratio = equal_minutes(process, celsius) / printed
        assert np.abs(ratio - 1).max() <= 0.035


@pytest.mark.parametrize("celsius", [54.99, 85.01])
def test_no_equal_minutes_outside_the_span(celsius):
    with pytest.raises(OutOfRange):
        equal_minutes("listeria-70", celsius)


def test_no_process_of_that_name():
    with pytest.raises(UnknownName, match="listeria-70"):
        reference("listeria")
