"""Examples of death and growth that are no single call: sums, lags, and what is not offered."""

import importlib
import math
import pkgutil
import re

import pytest

from batches.workbench.allowance import bands_of
from safety import science
from safety.errors import OutOfRange
from safety.science.allowances import Used, allowance_fraction, used
from safety.science.botulinum import source
from safety.science.lethality import (
    equivalent_min,
    least_equivalent_min,
    lethal_rate,
)
from safety.science.lethality_curve import curve_equivalent_min
from safety.science.listeria import days_until, growth_log10, rates
from tests.house.tree import ROOT
from tests.reference.growth import (
    baranyi_log10,
    generic_hours_per_doubling,
    state_at_the_start,
    three_phases_h,
    usual_sum_min,
)

F0 = {"reference_c": 121.11, "z_c": 10.0, "span_c": (60.0, 130.0)}
NEVER = float("-inf")


def temperature_of(rate):
    return F0["reference_c"] + F0["z_c"] * math.log10(rate)


@pytest.mark.parametrize("steps", [3, 8, 15])
def test_rates_that_add_up_to_2_925_in_steps_of_five_minutes(steps):
    # FAO, manual on fish canning: rates that add up to 2.925, 5 minutes apart, F0 = 14.6.
    rates = [2.925 / steps * (1 + (0.1 if i % 2 else -0.1)) for i in range(steps)]
    rates[-1] += 2.925 - sum(rates)
    food = [temperature_of(rate) for rate in rates]
    assert equivalent_min(food, [5] * steps, **F0) == pytest.approx(14.6, rel=0.005)


def test_the_heating_part_by_the_usual_sum_is_above_ours():
    # FAO, manual on fish canning: ends (0 + 0.776) / 2, with the rest 1.730; 8.6 min.
    rates = [1e-6, 0.1, 0.3, 0.4, 0.542, 0.776]
    assert sum(rates) - rates[0] / 2 - rates[-1] / 2 == pytest.approx(1.730, abs=1e-3)
    minutes = [5 * i for i in range(len(rates))]
    food = [temperature_of(rate) for rate in rates]
    usual = usual_sum_min(minutes, rates)
    assert usual == pytest.approx(8.6, rel=0.01)
    ours = curve_equivalent_min(minutes, food, **F0)
    assert least_equivalent_min(minutes, food, **F0) < ours < usual


CURVES = {
    "A": (4, 18, 32, 44, 53, 60, 63, 64, 64, 63, 55, 40, 25),
    "B": (4, 20, 36, 50, 60, 66, 70, 72, 73, 72, 60, 42, 25),
}


@pytest.mark.parametrize(
    ("curve", "reference_c", "z_c", "usual_min"),
    [
        # Worked out for this project, by the usual sum of mean rates (derived).
        ("A", 70, 7.5, 6.12440),
        ("A", 90, 7.0, 0.00731),
        ("B", 70, 7.5, 75.95651),
        ("B", 90, 7.0, 0.10961),
    ],
)
def test_the_usual_sum_comes_to_more_than_the_curve(curve, reference_c, z_c, usual_min):
    food = CURVES[curve]
    minutes = [10 * i for i in range(len(food))]
    line = {"reference_c": reference_c, "z_c": z_c, "span_c": (NEVER, 100.0)}
    usual = usual_sum_min(minutes, lethal_rate(food, **line).tolist())
    assert usual == pytest.approx(usual_min, abs=max(1e-4 * usual_min, 6e-6))
    assert curve_equivalent_min(minutes, food, **line) < usual


def test_share_of_the_printed_times_of_botulinum():
    # FDA, Appendix 4, Table A-2: 7 d, 2 d and 11 h; 72/168 + 6/48 + 2/11.
    stretches = [(72, 38.3), (6, 46.4), (2, 59.0)]
    share = allowance_fraction(stretches, bands_of("botulinum-non-proteolytic"))
    assert share == pytest.approx(0.7354, abs=5e-5)


def test_share_of_the_printed_times_of_listeria():
    # FDA, Appendix 4, Table A-2: 7 d, 7 h and 3 h; 20/168 + 3/7 + 1/3.
    stretches = [(20, 40), (3, 60), (1, 75)]
    share = allowance_fraction(stretches, bands_of("listeria-monocytogenes"))
    assert share == pytest.approx(0.8810, abs=5e-5)


def test_a_share_above_one_with_the_printed_rule_met_is_a_warning():
    # FDA, Appendix 4, Table A-2: 5 h and 2 h; 2/5 + 2/2.
    share = allowance_fraction([(2, 60), (2, 75)], bands_of("salmonella"))
    assert share == pytest.approx(1.40, abs=1e-9)
    # FDA, chapter 12: 4 h above 50 °F, of these 2 h above 70 °F, is met by the same hours.
    assert used(share, rule_is_met=True) is Used.WARNING
    assert used(share, rule_is_met=False) is Used.MISSED


@pytest.mark.parametrize(
    ("hours", "log10"),
    [
        # Baranyi and Roberts 1994, closed form; worked out in two ways (derived).
        (2, 2.140948),
        (4, 2.384817),
        (8, 3.112578),
        (12, 3.958018),
        (20, 5.689443),
        (30, 7.625076),
    ],
)
def test_growth_with_a_lag_is_as_published_and_below_ours(hours, log10):
    rate_per_h = 0.5
    with_lag = baranyi_log10(
        hours, start=2, ceiling=8, rate_per_h=rate_per_h, lag_work=1.5
    )
    assert with_lag == pytest.approx(log10, abs=1e-5)
    without = 2 + grown_log10(hours, rate_per_h / math.log(10))
    assert without > with_lag


def grown_log10(hours, rate_log10_per_h):
    """Return growth as the product counts it: without a lag, at its own reference."""
    at_c = rates().reference_c
    stretch = (hours / 24, at_c, at_c)
    return growth_log10([stretch], at_reference=rate_log10_per_h * 24)


@pytest.mark.parametrize(
    ("lag_work", "expected"),
    [
        # Relation seen in two papers on growth in food; worked out here (derived).
        (0.3198, (2.6536, 0.9759, 0.7263)),
        (0.65, (1.0923, 0.0882, 0.5220)),
        (2.26, (0.1165, -2.1498, 0.1044)),
    ],
)
def test_state_at_the_start_is_as_published(lag_work, expected):
    assert state_at_the_start(lag_work) == pytest.approx(expected, abs=1e-4)


def test_three_straight_phases_are_as_published_and_later_than_ours():
    # L. monocytogenes at 37 °C: lag 2.00 h, 0.487 log10 an hour (parameters seen 1).
    later = three_phases_h(2, lag_h=2.00, rate_log10_per_h=0.487)
    assert later == pytest.approx(6.107, abs=1e-3)
    ours_h = 24 * float(days_until(2, 5, at_reference=0.487 * 24))
    assert ours_h == pytest.approx(later - 2.00)


@pytest.mark.parametrize(
    ("fahrenheit", "hours", "within"),
    [
        # Snyder 2001, table 1; 86 °F by the fit (derived).
        (41, 15.55, 0.008),
        (50, 5.85, 0.008),
        (70, 1.69, 0.008),
        (86, 0.901, 0.008),
        (100, 0.59, 0.008),
        (115, 0.46, 0.0083),
    ],
)
def test_the_generic_curve_is_as_published(fahrenheit, hours, within):
    assert generic_hours_per_doubling(fahrenheit) == pytest.approx(hours, rel=within)
    if fahrenheit == 41:
        doublings = 7 * 24 / generic_hours_per_doubling(fahrenheit)
        assert doublings == pytest.approx(10.8, rel=0.01)  # its own limit is 10


NOT_OFFERED = (
    "baranyi",
    "three_phase",
    "generic",
    "perfringens",
    "histamine",
    "genigeorgis",
)


def test_what_may_not_be_shown_is_not_there():
    """No lag, no one curve for all bacteria, no cooling model, and no colder Listeria."""
    names = []
    for found in pkgutil.iter_modules(science.__path__):
        module = importlib.import_module(f"safety.science.{found.name}")
        names += [found.name, *vars(module)]
    assert len(names) > 100
    offered = [name for name in names for word in NOT_OFFERED if word in name.lower()]
    assert offered == []
    with pytest.raises(OutOfRange):
        days_until(2, -0.5, at_reference=0.150)


def test_no_screen_shows_a_time_from_memory():
    citation, may_be_shown = source()
    assert "from memory" in citation
    assert not may_be_shown
    users = [
        path.relative_to(ROOT).as_posix()
        for folder in ("batches", "reports", "safety/site", "safety/audit")
        for path in (ROOT / folder).rglob("*.py")
        if re.search(r"science(\.| import )botulinum", path.read_text("utf-8"))
    ]
    assert users == []
