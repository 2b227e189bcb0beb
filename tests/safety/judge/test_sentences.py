"""Numbers, durations, instants and limits in the words of the people who read them."""

from decimal import Decimal
from fractions import Fraction

import pytest

from safety.judge.gather import Gathered
from safety.judge.sentences import (
    Clock,
    amount,
    amount_beside,
    asked_min,
    minutes,
    minutes_of,
    plain,
    side,
    span,
    state,
    us_of_minutes,
)
from safety.limits.model import Limit
from safety.limits.parse import parse_limit
from tests.safety.judge.documents import (
    START,
    document,
    good,
    judged,
    limit,
    read,
    reading,
    window,
)

US_PER_MIN = 60 * 10**6
START_US = int(START.timestamp()) * 10**6


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (30, "30"),
        (Decimal("30.0"), "30"),
        (Fraction(1, 3), "0.33"),
        (Fraction(1, 2), "0.5"),
        (Fraction(-565, 9), "-62.78"),
        (10**20, "1" + "0" * 20),
        (Fraction(-1, 1000), "0"),
    ],
)
def test_plain(value, words):
    assert plain(value) == words


@pytest.mark.parametrize(
    ("value", "unit", "words"),
    [
        (Decimal("3.50"), "percent", "3.50 %"),
        (Fraction(565, 9), "degC", "62.78 °C"),
        (Decimal("0.85"), "1", "0.85"),
        (145, "degF", "145 °F"),
    ],
)
def test_amount(value, unit, words):
    assert amount(value, unit) == words


def test_minutes_are_exact_both_ways():
    assert minutes_of(1) == Fraction(1, US_PER_MIN)
    assert us_of_minutes(Decimal("0.1")) == 6 * 10**6
    assert minutes_of(us_of_minutes(Decimal("0.3"))) == Fraction(3, 10)


@pytest.mark.parametrize(
    ("shortest", "longest", "words"),
    [
        (30, 30, "30 min"),
        (0, 30, "between 0 and 30 min"),
        (30, None, "at least 30 min"),
    ],
)
def test_span(shortest, longest, words):
    longest_us = None if longest is None else longest * US_PER_MIN
    assert span(shortest * US_PER_MIN, longest_us) == words


def test_duration_without_bound():
    assert minutes(None) == "an unknown time"
    assert minutes(90 * US_PER_MIN) == "90 min"


@pytest.mark.parametrize(
    ("asked", "words"), [("30", "30 min"), ("0.25", "15 s"), ("0", "0 min")]
)
def test_what_a_limit_asks_in_minutes_or_seconds(asked, words):
    assert asked_min(Decimal(asked)) == words


@pytest.mark.parametrize(
    ("start", "end", "words"),
    [
        (0, 120, "10:00 to 12:00"),
        (0.5, 120, "10:00:30 to 12:00"),
        (0, 24 * 60, "10:00 to 3 May 10:00"),
        (24 * 60, 25 * 60, "3 May 10:00 to 11:00"),
    ],
)
def test_clock_names_the_day_where_it_is_another(start, end, words):
    clock = Clock(Gathered(read(document(windows=[window(0, 60)]))))
    instants = (START_US + int(minute * US_PER_MIN) for minute in (start, end))
    assert clock.between(*instants) == words


def test_clock_of_a_batch_without_windows_counts_from_the_first_reading():
    clock = Clock(Gathered(read(document(windows=[]))))
    assert clock.say(START_US + 60 * US_PER_MIN) == "11:00"
    nothing = Clock(Gathered(read(document(windows=[], readings=[]))))
    assert nothing.say(START_US) == "2 May 10:00"


@pytest.mark.parametrize(
    ("kind", "strict", "words"),
    [
        ("at_least", False, "at or above"),
        ("stay_at_least", True, "above"),
        ("at_most", False, "at or below"),
        ("dwell_at_most", True, "below"),
    ],
)
def test_side(kind, strict, words):
    assert side(kind, strict=strict) == words


def test_every_kind_of_limit_is_said_in_words():
    assert [state(parse_limit(each)) for each in decimal(good()["limits"])] == [
        "Core temperature at or above 145 °F",
        "Core temperature above 63 °C for 15 min without a break",
        "Core temperature always at or below 200 °F, but for 5 min at a time",
        "Core temperature from 135 °F to 70 °F in 120 min",
        "240 min above 40 °F up to 70 °F and 150 min above 70 °F",
        "use-by within 14 days of the start of packing",
        "Water phase salt at or above 3.5 % or (frozen on record)",
    ]


def decimal(part):
    """Return a document with its numbers as the readers of files return them."""
    if isinstance(part, dict):
        return {key: decimal(item) for key, item in part.items()}
    if isinstance(part, list):
        return [decimal(item) for item in part]
    return Decimal(str(part)) if isinstance(part, float) else part


def test_limit_of_no_known_kind_is_called_by_its_id():
    assert state(Limit(id="x", kind="x")) == "x"


@pytest.mark.parametrize(
    ("value", "figure", "words"),
    [
        ("144.996", "145", "144.996 °F"),
        ("144.99", "145", "144.99 °F"),
        ("145", "145", "145 °F"),
        ("-0.004", "0", "-0.004 °F"),
        ("144.123456", "145", "144.12 °F"),
        ("144.9999999999999999999999999", "145", "144.9999999999999999999999999 °F"),
        ("1e-100", "0", "0 °F"),
    ],
)
def test_amount_beside_a_figure_tells_them_apart(value, figure, words):
    exact = Fraction(Decimal(value))
    assert amount_beside(exact, Decimal(figure), "degF") == words


def test_amount_beside_a_figure_in_another_unit_tells_them_apart():
    assert amount_beside(Fraction(565, 9), Decimal("62.78"), "degC") == "62.778 °C"
    assert amount_beside(Fraction(85, 100), Decimal("0.9"), "1") == "0.85"


def test_reading_that_misses_a_limit_by_little_never_reads_as_the_limit():
    asked = [limit("at_least"), limit("stay_at_least", id="stay")]
    judgement = judged(limits=asked, readings=[reading(60, 144.996)])
    by_value, by_stay, _ = judgement.findings
    assert "was 144.996 °F at 11:00" in by_value.why
    assert "from 11:00 (144.996 °F)" in by_stay.why
