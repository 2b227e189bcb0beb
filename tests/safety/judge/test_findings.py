"""A finding explains itself: a sentence why, one that would settle it, and cautions."""

import json
import random
import re

import pytest

from safety.judge import judge_batch
from tests.reference.generate import KINDS, random_doc
from tests.safety.judge.documents import (
    COOL,
    at,
    cooled,
    exposed,
    finding,
    limit,
    read,
    reading,
    window,
)

DRAWS = 60
SENTENCE = re.compile(r"(pH|[A-Z“\d-]).*\.", re.DOTALL)
UNSETTLED = {"missed", "not shown"}


def drawn(kind):
    for seed in range(DRAWS):
        whole = random_doc(random.Random(seed), kind)
        yield from judge_batch(read(json.dumps(whole, default=float))).findings


@pytest.mark.parametrize("kind", KINDS)
def test_every_finding_says_why_and_what_would_settle_it(kind):
    for each in drawn(kind):
        assert SENTENCE.fullmatch(each.why)
        if each.status.value in UNSETTLED:
            assert SENTENCE.fullmatch(each.would_settle)
        else:
            assert each.would_settle == ""
        assert len(set(each.cautions)) == len(each.cautions)


WITH_A_VALUE = [
    kind
    for kind in KINDS
    if kind.split("_")[0] in {"at", "dwell", "stay", "cool", "exposure"}
]


@pytest.mark.parametrize("kind", WITH_A_VALUE)
def test_why_names_the_limit_with_its_unit_unless_nothing_was_read_there(kind):
    for each in drawn(kind):
        if each.limit is None or each.why.startswith(("No reading of", "All readings")):
            continue
        printed = {
            getattr(each.limit, name, None) for name in ("value", "to_value")
        } | {band.above for band in getattr(each.limit, "bands", ())}
        assert any(str(number) in each.why for number in printed - {None})
        mark = {"degF": "°F", "degC": "°C", "percent": "%", "1": ""}
        unit = each.limit.unit
        assert mark.get(unit, unit) in each.why


EXPLAINED = [
    (
        {"limits": [limit("at_least")], "readings": [reading(60, 147)]},
        "Core temperature was 147 °F; the limit is at or above 145 °F.",
        "",
    ),
    (
        {"limits": [limit("at_most", value=150)], "readings": [reading(60, 150.5)]},
        (
            "Core temperature was 150.5 °F at 11:00, outside the limit of at or below "
            "150 °F, whatever the instrument may be off."
        ),
        "Nothing more can be measured; decide what to do with the lot.",
    ),
    (
        {
            "limits": [limit("at_least")],
            "readings": [reading(60, 146, instrument=None)],
        },
        (
            "Core temperature lies between 144 °F and 148 °F, allowing for the instrument; "
            "the limit of at or above 145 °F lies inside that."
        ),
        (
            "A reading farther from the limit, or an accepted check of the instrument "
            "before and after it."
        ),
    ),
    (
        {"readings": [reading(60, 147), reading(75, 147), reading(87, 147)]},
        (
            "Core temperature was at or above 145 °F for between 27 and 185 min without a "
            "break; the limit is 30 min."
        ),
        (
            "A reading at or above 145 °F 3 min after the last one, with no more than 15 "
            "min between readings, would have shown it."
        ),
    ),
    (
        {"readings": [reading(60, 147), reading(75, 140)]},
        (
            "Core temperature was at or above 145 °F for between 0 and 110 min without a "
            "break; the limit is 30 min."
        ),
        (
            "Readings at or above 145 °F over 30 min, with no more than 15 min between "
            "readings, would have shown it."
        ),
    ),
    (
        {"readings": [reading(minute, 140) for minute in range(0, 186, 5)]},
        (
            "No reading shows core temperature at or above 145 °F; the limit is 30 min of "
            "it without a break."
        ),
        (
            "Nothing more can be measured in this step; reprocess or decide what to do with "
            "the lot."
        ),
    ),
    (
        {"readings": [], "limits": [limit(strict=True)]},
        "No reading of core temperature in “Heat” is on record.",
        "Core temperature read in “Heat”, with its instant and instrument.",
    ),
    (
        {"readings": [reading(200, 147)]},
        "All readings of core temperature lie outside the time of “Heat”.",
        "A reading inside the time of “Heat”, or the right start and end of it.",
    ),
    (
        {"limits": [limit("stay_at_least", value=140, excursion_min=5)]}
        | {"readings": [reading(0, 147), reading(10, 139), reading(20, 147)]},
        (
            "Core temperature may have been beyond the limit for up to 20 min; the limit is "
            "at or above 140 °F, but for 5 min at a time."
        ),
        "Readings no more than 15 min apart from the start of the step to its end.",
    ),
    (
        {"limits": [limit("stay_at_most", value=140)]}
        | {"readings": [reading(0, 139), reading(10, 141), reading(25, 142)]},
        (
            "Core temperature was beyond the limit from 10:10 (141 °F) for at least 15 min; "
            "the limit is at or below 140 °F."
        ),
        "Nothing more can be measured; decide what to do with the lot.",
    ),
    (
        {"limits": [limit("stay_at_most", value=150, strict=True)]},
        (
            "Core temperature was below 150 °F at every reading, but there are stretches "
            "longer than 15 min without one."
        ),
        "Readings no more than 15 min apart from the start of the step to its end.",
    ),
    (
        {
            "limits": [limit("stay_at_most", value=148, check_every_min=200)],
            "readings": [reading(60, 147, instrument=None)],
        },
        (
            "Core temperature may have been beyond the limit for up to 185 min; the limit is "
            "at or below 148 °F."
        ),
        (
            "Readings closer together around the excursion, or an accepted check of the "
            "instrument before and after it."
        ),
    ),
    (
        {"limits": [limit("stay_at_most", value=150, check_every_min=200)]},
        "Core temperature stayed at or below 150 °F at every reading.",
        "",
    ),
]


@pytest.mark.parametrize(("parts", "why", "would_settle"), EXPLAINED)
def test_sentences(parts, why, would_settle):
    found = finding(place="A" if parts.get("readings") != [] else None, **parts)
    assert found.why == why
    assert found.would_settle == would_settle


@pytest.mark.parametrize(
    ("readings", "status", "why", "would_settle"),
    [
        (
            [(60, 147), (150, 69)],
            "met",
            (
                "135 °F to 70 °F took between 0 and 90 min (11:00 to 12:30 at the longest); "
                "the limit is 120 min."
            ),
            "",
        ),
        (
            [(60, 147), (61, 134), (181, 71), (182, 70)],
            "missed",
            (
                "135 °F to 70 °F took between 120 and 122 min (11:00 to 13:02 at the "
                "longest); the limit is 120 min."
            ),
            (
                "Nothing more can be measured in this stage; reprocess or decide what to do "
                "with the lot."
            ),
        ),
        (
            [(60, 147), (100, 100)],
            "not shown",
            (
                "No reading shows 70 °F reached; 135 °F to 70 °F has taken at least 0 min; "
                "the limit is 120 min."
            ),
            "A reading at or below 70 °F within 120 min of 135 °F.",
        ),
        (
            [(60, 147), (200, 69)],
            "not shown",
            (
                "135 °F to 70 °F took between 0 and 140 min (11:00 to 13:20 at the longest); "
                "the limit is 120 min."
            ),
            "Readings closer together while passing 135 °F and 70 °F.",
        ),
    ],
)
def test_sentences_of_cooling(readings, status, why, would_settle):
    found = cooled(*readings)
    assert (found.status.value, found.why, found.would_settle) == (
        status,
        why,
        would_settle,
    )


def test_cooling_whose_start_nobody_knows_says_so():
    found = finding(
        limits=[COOL],
        windows=[],
        readings=[reading(9, 80, step="cooling"), reading(20, 60, step="cooling")],
    )
    assert found.status.value == "not shown"
    assert found.why == (
        "When cooling through 135 °F to 70 °F began is not on record; the limit is "
        "120 min."
    )


def test_what_was_never_warm_has_nothing_to_cool_from():
    found = finding(
        limits=[COOL], windows=[], readings=[reading(9, 60, step="cooling")]
    )
    assert found.status.value == "does not apply"
    assert found.would_settle == ""
    assert found.why == (
        "Core temperature was at or below 70 °F throughout and nothing was heated: there "
        "is nothing to cool from."
    )


def test_cooling_with_all_readings_outside_says_so():
    found = finding(
        limits=[COOL],
        windows=[window(60, 100, "cooling")],
        readings=[reading(9, 60, step="cooling")],
    )
    assert found.cautions == ("outside window",)
    assert found.why == (
        "All readings of core temperature lie outside the time of “Heat” or “Cool”."
    )


@pytest.mark.parametrize(
    ("values", "status", "why"),
    [
        (
            (50, 50, 50),
            "met",
            (
                "The food was above 40 °F up to 70 °F for 60 min of 60 min; above 70 °F for "
                "0 min of 60 min."
            ),
        ),
        (
            (50, 90, 50),
            "met",
            (
                "The food was above 40 °F up to 70 °F for 0 to 60 min of 60 min; above 70 °F "
                "for 0 to 60 min of 60 min."
            ),
        ),
    ],
)
def test_sentences_of_exposure(values, status, why):
    times = (0, 30, 60)
    found = exposed(*[reading(m, v) for m, v in zip(times, values, strict=True)])
    assert (found.status.value, found.why) == (status, why)


def test_exposure_missed_and_without_bound():
    missed = exposed(
        *[reading(minute, 50) for minute in (0, 30, 60, 90)], windows=[window(0, 90)]
    )
    assert missed.status.value == "missed"
    assert missed.would_settle.startswith("Nothing more can be measured")
    unbound = exposed(reading(0, 50), reading(10, 50), windows=[])
    assert unbound.status.value == "not shown"
    assert unbound.observed["used_share"]["most"] is None
    assert (
        "above 40 °F up to 70 °F for 10 min or any time more of 60 min" in unbound.why
    )
    assert unbound.would_settle == (
        "Product temperatures no more than 30 min apart from the start to the end of "
        "every step that counts."
    )


DATED = {
    "id": "core",
    "control_point": "shelf-life",
    "kind": "within",
    "what": "use-by",
    "of": "heating.end",
    "days": 1,
}


@pytest.mark.parametrize(
    ("minutes", "status", "why", "would_settle"),
    [
        (
            24 * 60,
            "met",
            (
                "Use by (2026-05-03) is 1 day after the end of heating (2026-05-02); the "
                "limit is 1 day."
            ),
            "",
        ),
        (
            3 * 24 * 60,
            "missed",
            (
                "Use by (2026-05-05) is 3 days after the end of heating (2026-05-02); the "
                "limit is 1 day."
            ),
            "A date that keeps the limit, if one is due.",
        ),
        (
            -24 * 60,
            "not shown",
            "Use by (2026-05-01) lies before the end of heating (2026-05-02).",
            "The right date of whichever of the two is wrong.",
        ),
        (
            None,
            "not shown",
            "The record has no date for use by.",
            "The date of use by.",
        ),
    ],
)
def test_sentences_of_dates(minutes, status, why, would_settle):
    dates = [] if minutes is None else [{"what": "use-by", "at": at(minutes)}]
    found = finding(place=None, limits=[DATED], dates=dates)
    assert (found.status.value, found.why, found.would_settle) == (
        status,
        why,
        would_settle,
    )


def test_date_asked_for_is_a_date_and_not_the_end_of_a_step():
    asked = DATED | {"what": "heating.end", "of": "heating.start"}
    found = finding(place=None, limits=[asked])
    assert found.status.value == "not shown"
    assert found.why == "The record has no date for the end of heating."


def test_date_may_be_compared_with_another_date_and_both_may_be_missing():
    asked = DATED | {"of": "packed"}
    both = [{"what": "use-by", "at": at(0)}, {"what": "packed", "at": at(0)}]
    assert finding(place=None, limits=[asked], dates=both).status.value == "met"
    found = finding(place=None, limits=[asked], dates=[])
    assert found.why == "The record has no date for use by and packed."
    gone = finding(place=None, limits=[DATED], dates=both, windows=[])
    assert gone.why == "The record has no date for the end of heating."


@pytest.mark.parametrize(
    ("complies", "status", "why", "would_settle"),
    [
        (True, "met", "“net weight” is on record and complies.", ""),
        (
            False,
            "missed",
            "“net weight” is on record and does not comply.",
            "A statement that it has been put right, if that is possible.",
        ),
        (
            None,
            "not shown",
            "Nothing on record says whether “net weight” complies.",
            "A statement about “net weight”.",
        ),
    ],
)
def test_sentences_of_statements(complies, status, why, would_settle):
    asked = {"id": "core", "control_point": "labelling", "kind": "stated"}
    said = [] if complies is None else [{"what": "net-weight", "complies": complies}]
    found = finding(
        place=None, limits=[asked | {"what": "net-weight"}], statements=said
    )
    assert (found.status.value, found.why, found.would_settle) == (
        status,
        why,
        would_settle,
    )


def test_instants_of_another_day_are_said_with_their_day():
    found = finding(
        limits=[limit("at_least")],
        windows=[window(0, 2000)],
        readings=[reading(0, 150), reading(1500, 140)],
    )
    assert "was 140 °F at 3 May 11:00," in found.why
    second = finding(
        limits=[limit("at_least")], windows=[], readings=[reading(0.5, 140)]
    )
    assert "was 140 °F at 10:00:30," in second.why
