"""Growth and clocks: against published rows, additive, and refused outside their range."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from batches.workbench.allowance import bands_of
from safety.errors import OutOfRange
from safety.limits import table
from safety.science.allowances import Band, Used, allowance_fraction, used
from safety.science.botulinum import earliest_toxin_d, toxin_fraction
from safety.science.listeria import (
    days_until,
    growth_log10,
    growth_rate_log10_per_d,
    highest_start_cfu_per_g,
    rate_at_reference,
    rates,
)

COLD = st.floats(0, 30)
BACTERIA = sorted({str(row["bacteria"]) for row in table(
    "us-fda.hazards-guide.table-a-2"
).rows})  # fmt: skip


@given(temperature=COLD, days=st.floats(0.1, 100), parts=st.integers(2, 9))
def test_growth_adds_up_over_parts_of_a_stretch(temperature, days, parts):
    whole = growth_log10([(days, temperature, 30 - temperature)], at_reference=0.15)
    step = (30 - 2 * temperature) / parts
    pieces = [
        (days / parts, temperature + i * step, temperature + (i + 1) * step)
        for i in range(parts)
    ]
    assert growth_log10(pieces, at_reference=0.15) == pytest.approx(whole, rel=1e-9)


@given(temperature=COLD, log10=st.floats(0.1, 8))
def test_days_until_are_the_days_in_which_it_grows_so_much(temperature, log10):
    days = float(days_until(log10, temperature, at_reference=0.249))
    grown = growth_log10([(days, temperature, temperature)], at_reference=0.249)
    assert grown == pytest.approx(log10)
    back = rate_at_reference(log10, days, temperature)
    assert back == pytest.approx(0.249)


@given(cold=COLD, warm=COLD)
def test_warmer_is_never_slower(cold, warm):
    low, high = sorted((cold, warm))
    slow, fast = growth_rate_log10_per_d([low, high], at_reference=0.15)
    assert slow <= fast


def test_the_high_rate_is_in_days_shorter_than_the_mean():
    known = rates()
    assert known.least < known.mean < known.high < known.highest
    assert days_until(2, 4, at_reference=known.high) < days_until(
        2, 4, at_reference=known.mean
    )


@pytest.mark.parametrize(
    ("function", "arguments"),
    [
        (growth_rate_log10_per_d, {"temperature_c": -0.1, "at_reference": 0.15}),
        (growth_rate_log10_per_d, {"temperature_c": 30.1, "at_reference": 0.15}),
        (growth_rate_log10_per_d, {"temperature_c": 5, "at_reference": 0}),
        (growth_log10, {"stretches": [(-1, 4, 4)], "at_reference": 0.15}),
        (growth_log10, {"stretches": [(1, 4, 31)], "at_reference": 0.15}),
        (days_until, {"log10": 0, "temperature_c": 4, "at_reference": 0.15}),
        (days_until, {"log10": 13, "temperature_c": 4, "at_reference": 0.15}),
        (rate_at_reference, {"log10": 1, "days": 0, "temperature_c": 4}),
        (highest_start_cfu_per_g, {"growth": -1, "level_cfu_per_g": 100}),
        (earliest_toxin_d, {"temperature_c": 2.99}),
        (earliest_toxin_d, {"temperature_c": 30.01}),
        (toxin_fraction, {"stretches": [(1, 31)]}),
        (toxin_fraction, {"stretches": [(-1, 5)]}),
        (used, {"fraction": -0.1, "rule_is_met": True}),
        (allowance_fraction, {"stretches": [(-1, 5)], "bands": [Band(4, 5)]}),
        (allowance_fraction, {"stretches": [(1, 5)], "bands": []}),
        (allowance_fraction, {"stretches": [], "bands": [Band(5, 1), Band(4, 1)]}),
        (allowance_fraction, {"stretches": [(1, 5)], "bands": [Band(4, 0)]}),
    ],
)
def test_outside_its_range_there_is_no_answer(function, arguments):
    with pytest.raises(OutOfRange):
        function(**arguments)


# Earliest toxin observed, days, seen or from memory; the curve must come before each.
OBSERVED = [
    (30, 0.5), (12, 3), (8, 6), (4, 15), (3, 35), (4, 21), (5, 14), (10, 5),
]  # fmt: skip


@pytest.mark.parametrize(("celsius", "days"), OBSERVED)
def test_the_curve_comes_before_every_observation(celsius, days):
    # Garcia and Genigeorgis 1987; Graham and others 1997; Kautter 1964 (abstracts, seen).
    assert earliest_toxin_d(celsius) < days


def test_colder_than_three_degrees_adds_nothing_to_the_share():
    assert toxin_fraction([(10_000, 2.99)]) == 0
    assert toxin_fraction([(24, 3.0)]) > 0


@pytest.mark.parametrize("bacteria", BACTERIA)
def test_one_printed_time_in_one_band_is_a_share_of_one(bacteria):
    for number, band in enumerate(bands_of(bacteria)):
        food = band.above if band.includes else band.above + 0.01
        share = allowance_fraction([(band.hours, food)], bands_of(bacteria))
        assert share == pytest.approx(1), number


@pytest.mark.parametrize("bacteria", BACTERIA)
def test_below_the_first_band_nothing_is_used(bacteria):
    first = bands_of(bacteria)[0]
    assert allowance_fraction([(999, first.above - 0.01)], bands_of(bacteria)) == 0


@pytest.mark.parametrize(
    ("fahrenheit", "hours"),
    # FDA, Appendix 4, Table A-2, Listeria: 7 d to 41 °F, 1 d to 50, 7 h to 70, 3 h to 86.
    [
        (41, 168),
        (41.5, 24),
        (50, 24),
        (50.5, 7),
        (70, 7),
        (70.5, 3),
        (86, 3),
        (86.1, 1),
    ],
)
def test_what_lies_between_two_bands_belongs_to_the_warmer(fahrenheit, hours):
    bands = bands_of("listeria-monocytogenes")
    assert allowance_fraction([(hours, fahrenheit)], bands) == pytest.approx(1)


def test_what_a_share_says():
    assert used(0.5, rule_is_met=True) is Used.LITTLE
    assert used(0.51, rule_is_met=True) is Used.MUCH
    assert used(1.0, rule_is_met=True) is Used.MUCH
    assert used(1.01, rule_is_met=True) is Used.WARNING
    assert used(0.0, rule_is_met=False) is Used.MISSED
