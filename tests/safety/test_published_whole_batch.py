"""A well kept record is met by the published limits; take one part away and it is not."""

import json
from copy import deepcopy
from datetime import datetime, timedelta

import pytest

from safety.judge import judge_batch, read_batch

START = datetime.fromisoformat("2026-06-01T08:00:00-07:00")
REVIEWED = START + timedelta(days=5)
ROP = {
    "name": "Hot-smoked coho, vacuum packed", "food": "coho-salmon",
    "process": "hot-smoked", "packaging": "reduced-oxygen", "storage": "refrigerated",
    "programme": "seafood-processor",
    "facts": {"nitrite-added": "no", "eviscerated": "yes", "receipt": "frozen",
              "handled-after-cooking": "yes"},
}  # fmt: skip
RETAIL = ROP | {"programme": "retail", "packaging": "air"}


def at(minute):
    return (START + timedelta(minutes=minute)).isoformat()


def typed(step, quantity, values, unit="degF", *, instrument="H1", place="A"):
    return [
        {"step": step, "quantity": quantity, "place": place, "at": at(minute),
         "value": value, "unit": unit} | ({"instrument": instrument} if instrument else {})
        for minute, value in values
    ]  # fmt: skip


def instrument(identity):
    return {
        "id": identity, "measures": "temperature",
        "checks": [
            {"at": at(minute), "method": "ice-point",
             "shown": {"value": 32, "unit": "degF"}, "true": {"value": 32, "unit": "degF"}}
            for minute in (-60, 6000)
        ],
    }  # fmt: skip


def record(product):
    laboratory = {"unit": "percent", "instrument": None}
    heat = [(0, 40), (210, 140), (240, 148), (255, 152), (270, 153), (285, 153)]
    cool = [(300, 140), (360, 80), (390, 66), (480, 45), (540, 39)]
    return {
        "format": "brinewright.batch/1",
        "judged_at": (REVIEWED + timedelta(hours=2)).isoformat(),
        "product": product,
        "instruments": [instrument("H1"), instrument("C1")],
        "windows": [
            {"step": step, "start": at(start), "end": at(end)}
            for step, start, end in (
                ("heating", 0, 285), ("cooling", 285, 540), ("packing", 560, 610),
                ("cold-holding", 600, 1800),
            )
        ],
        "readings": [
            *typed("heating", "core-temperature", heat),
            *typed("cooling", "core-temperature", cool),
            *typed("packing", "salt", [(605, 2.8)], **laboratory),
            *typed("packing", "moisture", [(605, 62.0)], **laboratory),
        ],
        "traces": [
            {"step": "cold-holding", "quantity": "air-temperature", "place": "C1",
             "unit": "degF", "instrument": "C1", "start": at(600), "every_s": 600,
             "values": [36.5, 37.1] * 60 + [36.8]}
        ],
        "dates": [
            {"what": "record-review", "at": REVIEWED.isoformat()},
            {"what": "use-by", "at": (START + timedelta(days=6)).isoformat()},
        ],
    }  # fmt: skip


def judged(document):
    return judge_batch(read_batch(json.dumps(document), now=REVIEWED))


@pytest.mark.parametrize(
    ("product", "control_points"),
    [
        (ROP, {"curing", "heating", "cooling", "cold-holding", "exposure",
               "instrument-check", "record-review"}),
        (RETAIL, {"heating", "cooling", "cold-holding", "shelf-life",
                  "instrument-check"}),
    ],
    ids=["seafood processor", "retail"],
)  # fmt: skip
def test_a_well_kept_record_is_met(product, control_points):
    judgement = judged(record(product))
    assert {
        name: status.value for name, status in judgement.control_points.items()
    } == (dict.fromkeys(control_points, "met"))
    assert judgement.outcome.value == "met"
    assert all(
        finding.published is not None
        for finding in judgement.findings
        if finding.control_point != "instrument-check"
    )


@pytest.mark.parametrize("table", ["readings", "traces", "dates", "windows"])
def test_without_a_part_of_the_record_it_is_not_shown(table):
    document = record(ROP)
    document[table] = []
    assert judged(document).outcome.value == "not shown"


@pytest.mark.parametrize(
    "name", ["food", "process", "packaging", "storage", "programme", "facts"]
)
def test_without_a_fact_it_is_met_only_where_the_fact_decides_nothing(name):
    document = record({key: value for key, value in ROP.items() if key != name})
    judgement = judged(document)
    # A frozen arrival of fish without nitrite is judged alike, whatever the fish: but
    # whether it forms scombrotoxin must be known.
    assert judgement.outcome.value == "not shown"
    settle = " ".join(finding.would_settle for finding in judgement.findings)
    asked = {"food": "scombrotoxin", "facts": "nitrite-added"}.get(name, name)
    assert asked in settle


def too_cold(document):
    for reading in document["readings"]:
        if reading["step"] == "heating":
            reading["value"] = min(reading["value"], 144.9)


def too_slow(document):
    for reading in document["readings"]:
        if reading["step"] == "cooling" and reading["value"] == 66:
            reading["value"] = 75
        if reading["step"] == "cooling" and reading["value"] == 80:
            reading["value"] = 130


def too_fresh(document):
    for reading in document["readings"]:
        if reading["quantity"] == "salt":
            reading["value"] = 2.2


def too_warm(document):
    document["traces"][0]["values"][30] = 40.1


def too_late(document):
    document["dates"][0]["at"] = (START + timedelta(days=8)).isoformat()
    document["judged_at"] = (START + timedelta(days=9)).isoformat()


@pytest.mark.parametrize(
    ("spoil", "control_point", "expected"),
    [
        (too_cold, "heating", "missed"),
        (too_slow, "cooling", "not shown"),
        (too_fresh, "curing", "missed"),
        (too_warm, "cold-holding", "missed"),
        (too_late, "record-review", "missed"),
    ],
)
def test_what_goes_wrong_is_seen_where_it_went_wrong(spoil, control_point, expected):
    document = deepcopy(record(ROP))
    spoil(document)
    judgement = judged(document)
    assert judgement.control_points[control_point].value == expected
    assert judgement.outcome.value == expected


def test_other_rules_are_shown_beside_and_do_not_decide():
    judgement = judged(record(ROP))
    beside = {
        finding.limit_id: finding.status.value for finding in judgement.comparison
    }
    assert beside["us-fda.food-code-2022.cooling-total"] == "met"
    assert not any(finding.governs for finding in judgement.comparison)
