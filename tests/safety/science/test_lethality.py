"""Lethality agrees with printed tables, counts too little rather than too much, and refuses."""

from decimal import Decimal

import numpy as np
import pytest

from safety.errors import OutOfRange
from safety.limits import table
from safety.science.lethality import (
    equivalent_min,
    least_equivalent_min,
    lethal_rate,
    log10_reduction,
    minutes_at,
)

# FDA, Fish and Fishery Products Hazards and Controls Guidance, Tables.
LISTERIA = {"reference_c": 70.0, "z_c": 7.5, "span_c": (63.0, 85.0)}
SPORES = {"reference_c": 90.0, "z_c": 7.0, "z_above_c": 10.0, "span_c": (85.0, 100.0)}
PRINTED = [
    ("us-fda.hazards-guide.table-a-3", LISTERIA, 0.004),  # to three decimals
    ("us-fda.hazards-guide.table-a-4", SPORES, 0.01),  # to two
]


@pytest.mark.parametrize(("name", "figures", "within"), PRINTED)
def test_every_printed_rate_is_the_formula_s(name, figures, within):
    rows = table(name).rows
    celsius = np.array([row["celsius"] for row in rows], float)
    printed = np.array([row["lethal_rate"] for row in rows], float)
    assert len(rows) > 10
    ratio = lethal_rate(celsius, **figures) / printed
    assert np.abs(ratio - 1).max() <= within


def test_printed_minutes_that_are_shorter_than_the_formula_s_are_known():
    # The page rounds down where it should not: 72 °C prints 1.0 (formula 1.08).
    rows = table("us-fda.hazards-guide.table-a-3").rows
    shorter = {
        int(row["celsius"])
        for row in rows
        if row["minutes"]
        < Decimal(
            str(
                round(float(minutes_at(row["celsius"], reference_min=2, **LISTERIA)), 2)
            )
        )
    }
    assert {63, 72, 83} <= shorter
    assert 70 not in shorter


@pytest.mark.parametrize("celsius", [62.99, 85.01, float("nan")])
def test_no_rate_outside_the_span(celsius):
    with pytest.raises(OutOfRange, match="63 to 85"):
        lethal_rate([70, celsius], **LISTERIA)


@pytest.mark.parametrize("z", [0, -7.5, float("inf"), float("nan")])
def test_a_z_that_is_none_is_refused(z):
    with pytest.raises(OutOfRange, match="z"):
        lethal_rate(70, **{**LISTERIA, "z_c": z})
    with pytest.raises(OutOfRange, match="z"):
        lethal_rate(95, **{**SPORES, "z_above_c": z})


def test_each_z_holds_on_its_side():
    below, at, above = lethal_rate([87, 90, 95], **SPORES)
    assert (below, at) == (pytest.approx(10 ** (-3 / 7)), 1)
    assert above == pytest.approx(10**0.5)


def test_stretches_below_the_span_count_nothing_and_above_it_no_more():
    assert equivalent_min([62.9], [1000], **LISTERIA) == 0
    top = equivalent_min([85], [1], **LISTERIA)
    assert equivalent_min([99], [1], **LISTERIA) == top == pytest.approx(100)
    assert equivalent_min([], [], **LISTERIA) == 0


def test_a_sum_is_the_sum_of_its_parts():
    parts = [equivalent_min([t], [m], **LISTERIA) for t, m in [(65, 3), (71, 1.5)]]
    assert equivalent_min([65, 71], [3, 1.5], **LISTERIA) == pytest.approx(sum(parts))


@pytest.mark.parametrize(
    ("celsius", "minutes"),
    [([70], [-1]), ([70], [float("nan")]), ([float("nan")], [1]), ([70, 71], [1]), (70, 1)],
)  # fmt: skip
def test_stretches_that_make_no_sense_are_refused(celsius, minutes):
    with pytest.raises(OutOfRange):
        equivalent_min(celsius, minutes, **LISTERIA)


def test_readings_count_at_least_by_the_colder_of_two():
    rise = least_equivalent_min([0, 10, 20], [66, 70, 74], **LISTERIA)
    assert rise == equivalent_min([66, 70], [10, 10], **LISTERIA)
    fine = np.linspace(0, 20, 2001)
    true = np.sum(lethal_rate(66 + 0.4 * fine[:-1] + 0.002, **LISTERIA)) * 0.01
    assert rise < true
    assert least_equivalent_min([0, 20], [60, 74], **LISTERIA) == 0
    assert least_equivalent_min([5], [74], **LISTERIA) == 0


@pytest.mark.parametrize("instants", [[0, 20, 10], [0, 1], [0, float("nan"), 2]])
def test_readings_out_of_order_are_refused(instants):
    with pytest.raises(OutOfRange):
        least_equivalent_min(instants, [70, 70, 70], **LISTERIA)


def test_powers_of_ten():
    reached = log10_reduction([0, 1, 2], reference_min=2, reference_log10=6)
    assert reached.tolist() == [0, 3, 6]
    with pytest.raises(OutOfRange):
        log10_reduction(-1, reference_min=2, reference_log10=6)
    with pytest.raises(OutOfRange):
        log10_reduction(1, reference_min=0, reference_log10=6)


def test_minutes_at_a_temperature_reach_the_reference():
    needed = float(minutes_at(66, reference_min=2, **LISTERIA))
    assert equivalent_min([66], [needed], **LISTERIA) == pytest.approx(2)
