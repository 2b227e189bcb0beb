"""Cautions ride along with a finding and say what to look at; never a status."""

import json

import pytest

from safety.judge import judge_batch
from tests.safety.judge.documents import (
    at,
    check,
    cooled,
    document,
    exposed,
    finding,
    instruments,
    limit,
    read,
    reading,
    sample,
    trace,
)


def cautions(**parts):
    return finding(**parts).cautions


def test_thin_margin_is_met_by_less_than_the_tolerance():
    value = [limit("at_least")]
    assert cautions(limits=value, readings=[reading(60, 147)] * 2) == ()
    assert cautions(limits=value, readings=[reading(60, 146.9)] * 2) == ("thin margin",)
    pair = [reading(60, 146.9), reading(75, 150)]
    assert cautions(limits=value, readings=pair) == ("thin margin",)
    hold = [reading(minute, 146.9) for minute in (60, 75, 90)]
    assert cautions(readings=hold) == ("thin margin",)
    below = [limit("dwell_at_most", value=150)]
    assert cautions(limits=below, readings=[*hold[:2], reading(90, 149)]) == (
        "thin margin",
    )
    stay = [limit("stay_at_most", value=148, check_every_min=200)]
    assert cautions(limits=stay) == ("thin margin",)
    zero = [limit(minutes=0)]
    assert cautions(limits=zero, readings=[reading(60, 145), reading(70, 145)]) == (
        "thin margin",
    )
    assert cooled((60, 147), (150, 69), (400, 60)).cautions == (
        "thin margin",
        "outside window",
    )
    assert cooled((60, 147), (150, 68)).cautions == ()
    assert cooled((60, 147), (179, 69), (180, 68)).cautions == ()
    assert cooled((60, 147), (179, 69), (181, 68)).cautions == ("thin margin",)


def test_thin_margin_is_of_the_instruments_own_tolerance():
    tight = instruments(check(0), check(1440), tolerance={"value": 0.5, "unit": "degF"})
    value = [limit("at_least")]
    assert (
        cautions(limits=value, readings=[reading(60, 145.5)] * 2, instruments=tight)
        == ()
    )


def test_single_reading():
    assert cautions(limits=[limit("at_least")], readings=[reading(60, 150)]) == (
        "single reading",
    )


def test_late_entry_is_more_than_half_an_hour_after():
    def late(minutes):
        return [reading(60, 150, entered_at=at(60 + minutes)), reading(75, 150)]

    value = [limit("at_least")]
    assert cautions(limits=value, readings=late(30)) == ()
    assert cautions(limits=value, readings=late(30.001)) == ("late entry",)
    assert "late entry" in exposed(*late(31)).cautions
    assert "late entry" not in exposed(*late(30)).cautions


def test_late_entry_of_a_sample_is_late_for_its_salt():
    asked = {
        "id": "core",
        "control_point": "packing",
        "kind": "at_least",
        "quantity": "water-phase-salt",
        "value": 3.5,
        "unit": "percent",
    }
    pair = [
        sample(9, "salt", 3),
        sample(9, "moisture", 60, entered_at=at(60)),
    ]
    later = [sample(99, "salt", 3), sample(99, "moisture", 60)]
    assert finding(place=None, limits=[asked], readings=pair + later).cautions == (
        "late entry",
    )
    assert finding(place=None, limits=[asked], readings=later * 2).cautions == (
        "single reading",
    )


@pytest.mark.parametrize(
    ("minutes", "values", "alike"),
    [
        ((0, 1, 2, 3, 5), (150,) * 5, True),
        ((0, 1, 2, 3, 4), (150,) * 5, False),
        ((0, 1, 2, 3), (150,) * 4, False),
        ((0, 1, 3, 4, 5), (150, 150, 150, 150, 151), False),
        ((0, 1, 2, 3, 4, 9), (150, 150, 150, 150, 150, 151), False),
        ((0, 1, 2, 3, 5, 9), (150, 150, 150, 150, 150, 151), True),
        ((0, 1, 2, 3, 5), (150, 150, 150, 150, "150.0"), False),
    ],
)
def test_identical_readings(minutes, values, alike):
    rows = [reading(m, v) for m, v in zip(minutes, values, strict=True)]
    whole = document(limits=[limit("at_least")], readings=rows)
    text = json.dumps(whole).replace('"150.0"', "150.0")
    found = judge_batch(read(text)).findings[0]
    assert ("identical readings" in found.cautions) == alike


def test_identical_readings_of_a_logger_are_no_wonder():
    logged = trace([150] * 9, step="heating") | {"start": at(0), "every_s": 60}
    parts = {"readings": [], "limits": [limit("at_least")]}
    assert cautions(traces=[logged], **parts) == ()


def test_gap():
    held = [reading(minute, 150) for minute in (60, 75, 90, 110)]
    assert cautions(readings=held) == ("gap",)
    stay = [limit("stay_at_most", value=160)]
    assert cautions(limits=stay, readings=held) == ("gap",)
    assert "gap" in exposed(reading(0, 50), reading(31, 50), reading(60, 50)).cautions


def test_outside_window():
    rows = [reading(60, 150), reading(75, 150), reading(200, 150)]
    assert cautions(limits=[limit("at_least")], readings=rows) == ("outside window",)
    assert "outside window" in exposed(*rows).cautions
    assert "outside window" in exposed(rows[2]).cautions


def test_used_share_above_one_is_a_caution():
    found = exposed(reading(0, 90), reading(30, 50), reading(60, 90))
    assert found.status.value == "met"
    assert found.cautions == ("used share above 1",)
    assert exposed(reading(0, 50), reading(30, 50), reading(60, 50)).cautions == ()
