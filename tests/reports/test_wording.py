"""How instants, amounts, limits and findings are said. All figures are invented."""

from datetime import UTC, datetime
from decimal import Decimal
from fractions import Fraction
from zoneinfo import ZoneInfo

import pytest

from reports import wording
from safety.judge.finding import Finding, Status
from safety.limits import get, with_interval
from safety.limits.model import (
    Band,
    Combination,
    CoolLimit,
    DwellLimit,
    ExposureLimit,
    StatedLimit,
    StayLimit,
    ValueLimit,
    WithinLimit,
)

EXPOSED = (
    "in all no more than 90 min above 50 °F (10.0 °C) up to 68 °F (20.0 °C); "
    "8 min above 68 °F (20.0 °C)"
)
DETROIT = ZoneInfo("America/Detroit")
D = Decimal


def a_value(kind="at_least", **changes):
    given = {"id": "x", "kind": kind, "quantity": "ph", "value": D("3.9"), "unit": "1"}
    return ValueLimit(**(given | changes))


def a_dwell(**changes):
    given = {
        "id": "x",
        "kind": "dwell_at_least",
        "quantity": "core-temperature",
        "value": D(212),
        "unit": "degF",
        "minutes": D(7),
        "check_every_min": D(2),
    }
    return DwellLimit(**(given | changes))


@pytest.mark.parametrize(
    ("minutes", "said"),
    [
        (0, "0 min"),
        (0.25, "15 s"),
        (7, "7 min"),
        (7.5, "7.5 min"),
        (600, "600 min"),
        (660, "11 h"),
        (665, "11 h 5 min"),
        (2880, "48 h"),
        (2940, "2 days 1 h"),
        (14400, "10 days"),
    ],
)
def test_length_of_time_is_said_as_people_say_it(minutes, said):
    assert wording.span(minutes) == said


def test_instant_is_wall_time_of_the_premises():
    at = datetime(2025, 7, 9, 2, 5, tzinfo=UTC)
    assert wording.moment(at, DETROIT) == "8 Jul 2025 22:05"


def test_date_is_said_again_only_on_another_day():
    evening = datetime(2025, 7, 9, 2, 5, tzinfo=UTC)
    night = datetime(2025, 7, 9, 5, 0, tzinfo=UTC)
    assert wording.clock(evening, DETROIT, evening) == "22:05"
    assert wording.clock(night, DETROIT, evening) == "9 Jul 2025 01:00"


def test_typed_digits_are_kept():
    assert wording.amount(D("145.0"), "degF") == "145.0 °F"
    assert wording.amount(D("3.90"), "1") == "3.90"


def test_temperature_is_said_in_both_units_and_other_amounts_in_one():
    assert wording.both(D(212), "degF") == "212 °F (100.0 °C)"
    assert wording.both(D("-1.5"), "degC") == "−1.5 °C (29.3 °F)"
    assert wording.both(D("1.5"), "percent") == "1.5 %"


def test_other_unit_is_the_printed_figure_where_there_is_one():
    assert wording.both(D(211), "degF", {"degC": D("99")}) == "211 °F (99 °C)"


def test_difference_is_not_converted_like_a_reading():
    assert wording.difference(D("1.8"), "degF") == "+1.8 °F (+1.0 °C)"
    assert wording.difference(D("-0.9"), "degF") == "−0.9 °F (−0.5 °C)"
    assert wording.difference(D("0.02"), "1") == "+0.02"
    assert wording.as_difference(D(2), "degC", "degF") == Fraction(18, 5)


@pytest.mark.parametrize(
    ("limit", "said"),
    [
        (a_value(), "pH at or above 3.9"),
        (a_value("at_most", strict=True), "pH below 3.9"),
        (a_value(strict=True), "pH above 3.9"),
        (
            a_dwell(),
            "core temperature at or above 212 °F (100.0 °C) for 7 min without a break",
        ),
        (
            a_dwell(minutes=D(0), kind="dwell_at_most"),
            "core temperature at or below 212 °F (100.0 °C), once",
        ),
        (
            StayLimit(
                id="x",
                kind="stay_at_most",
                quantity="air-temperature",
                value=D(50),
                unit="degF",
                check_every_min=D(9),
            ),
            "air temperature at or below 50 °F (10.0 °C) throughout",
        ),
        (
            StayLimit(
                id="x",
                kind="stay_at_most",
                quantity="air-temperature",
                value=D(50),
                unit="degF",
                check_every_min=D(9),
                excursion_min=D(4),
            ),
            "air temperature at or below 50 °F (10.0 °C), beyond it no longer than 4 min",
        ),
        (
            CoolLimit(
                id="x",
                kind="cool_through",
                quantity="core-temperature",
                from_value=D(122),
                to_value=D(50),
                unit="degF",
                minutes=D(33),
                also={"degC": (D(51), D(9))},
            ),
            "from 122 °F (51 °C) to 50 °F (9 °C) within 33 min",
        ),
        (
            ExposureLimit(
                id="x",
                kind="exposure_at_most",
                quantity="product-temperature",
                unit="degF",
                bands=(Band(D(50), D(68), D(90)), Band(D(68), None, D(8))),
                steps=("packing",),
                check_every_min=D(5),
            ),
            EXPOSED,
        ),
        (
            WithinLimit(
                id="x", kind="within", what="use-by", of="packing.end", days=D(3)
            ),
            "use by no later than 3 days after packing end",
        ),
        (
            StatedLimit(id="x", kind="stated", what="label-keep-cold"),
            "on record: label keep cold",
        ),
        (
            Combination(id="x", kind="any_of", limits=(a_value(), a_value("at_most"))),
            "pH at or above 3.9 or pH at or below 3.9",
        ),
        (None, wording.INSTRUMENT_LIMIT),
    ],
)
def test_every_kind_of_limit_is_said(limit, said):
    assert wording.figure(limit) == said


def seen(limit=None, **observed):
    return Finding(
        control_point="heating",
        limit=limit,
        limit_id="x",
        place=None,
        status=Status.NOT_SHOWN,
        observed=observed,
    )


@pytest.mark.parametrize(
    ("finding", "said"),
    [
        (seen(shortest_min=Fraction(39), longest_min=Fraction(48)), "39 to 48 min"),
        (seen(shortest_min=Fraction(7), longest_min=Fraction(7)), "7 min"),
        (
            seen(shortest_min=Fraction(7), longest_min=None),
            "7 min or more, without known end",
        ),
        (seen(a_value(), lowest=Fraction(4), highest=D("4.25")), "4 to 4.25"),
        (seen(a_dwell(), lowest=Fraction(1, 3), highest=Fraction(1, 3)), "0.33 °F"),
        (
            seen(used_share={"least": 0.25, "most": 0.5}),
            "25% to 50% of what is allowed",
        ),
        (
            seen(used_share={"least": 0.25, "most": None}),
            "25% to an unknown share of what is allowed",
        ),
        (seen(), ""),
    ],
)
def test_figures_of_a_finding_are_said(finding, said):
    assert wording.observed(finding) == said


@pytest.mark.parametrize(
    ("tag", "said"),
    [
        ("seen 1", "read"),
        ("seen 3", "read, 3 places"),
        ("memory", "from memory: confirm it"),
        ("own", "own figure, published by nobody"),
        ("strange", "strange"),
    ],
)
def test_basis_is_said_in_words(tag, said):
    assert wording.basis(tag) == said


def test_interval_is_said_and_only_where_there_is_one():
    assert wording.interval(a_dwell(), None) == "Readings at most 2 min apart."
    assert wording.interval(a_value(), None) == ""
    assert wording.interval(None, None) == ""
    table = Combination(id="x", kind="any_of", limits=(a_value(), a_dwell()))
    assert wording.interval(table, None) == "Readings at most 2 min apart."


def test_interval_that_no_publication_gives_is_marked_our_own():
    own = get("us-fda.hazards-guide.ch13.heating")
    assert "own figure" in wording.interval(own.limit, own)
    planned = with_interval(own, 10)
    said = "Readings at most 10 min apart (as the plan says)."
    assert wording.interval(planned.limit, planned) == said
