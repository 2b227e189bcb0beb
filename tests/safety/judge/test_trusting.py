"""The finding about the instruments: checks before and after every reading."""

import pytest

from tests.safety.judge.documents import (
    check,
    finding,
    instruments,
    judged,
    reading,
    sample,
)

UNSETTLED = {"missed", "not shown"}


MONTH = 31 * 24 * 60


@pytest.mark.parametrize(
    ("checks", "status", "why", "cautions"),
    [
        (
            [check(0), check(1440)],
            "met",
            "The last check of P1 before every reading was accepted, and so was the next.",
            (),
        ),
        (
            [check(0)],
            "met",
            (
                "The last check of P1 before every reading was accepted; the next one is "
                "still to come."
            ),
            ("awaiting next check",),
        ),
        (
            [check(0), check(1440, 34.1)],
            "missed",
            (
                "The first check of P1 after some of these readings was not accepted: it may "
                "have been off while they were taken."
            ),
            (),
        ),
        (
            [check(0, 29.9), check(1440)],
            "missed",
            "The last check of P1 before some readings was not accepted.",
            (),
        ),
        (
            [check(1440)],
            "not shown",
            "No check of P1 before some of these readings is on record.",
            (),
        ),
        (
            [check(-MONTH), check(1440)],
            "not shown",
            "The last check of P1 was more than 30 days before some readings.",
            (),
        ),
    ],
)
def test_sentences_of_instruments(checks, status, why, cautions):
    found = finding("instrument-check", "P1", instruments=instruments(*checks))
    assert (found.status.value, found.why, found.cautions) == (status, why, cautions)
    assert bool(found.would_settle) == (status in UNSETTLED)


def test_readings_without_an_instrument_are_one_finding_without_a_place():
    found = judged(
        readings=[reading(60, 147), reading(61, 147, instrument=None)]
    ).findings
    checked = [each for each in found if each.limit_id == "instrument-check"]
    assert [(each.place, each.status.value) for each in checked] == [
        ("P1", "met"),
        (None, "not shown"),
    ]
    assert checked[1].why == (
        "Some readings name no instrument, so no check can vouch for them."
    )


def test_laboratory_results_need_no_instrument():
    asked = {
        "id": "core",
        "control_point": "packing",
        "kind": "at_least",
        "quantity": "water-phase-salt",
        "value": 3.5,
        "unit": "percent",
    }
    found = judged(limits=[asked], readings=[sample(9, "water-phase-salt", 3.5)])
    assert [each.limit_id for each in found.findings] == ["core"]
    assert found.outcome.value == "met"
