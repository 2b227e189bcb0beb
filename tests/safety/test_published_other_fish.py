"""Kept records of cold-smoked, dried, pickled and raw fish are met; a part less is not."""

import json
from datetime import timedelta

import pytest

from safety.judge import judge_batch, read_batch
from tests.safety.test_published_whole_batch import START, at, instrument, typed

DAY = 24 * 60
PACKED = 10 * DAY
REVIEWED = START + timedelta(days=12)
FACTS = {
    "nitrite-added": "no", "eviscerated": "yes", "receipt": "fresh",
    "intended-use": "ready-to-eat", "pellet-fed": "no",
    "parasites-killed-by-supplier": "no",
}  # fmt: skip


def product(process, food="coho-salmon", storage="refrigerated"):
    return {
        "name": f"{food}, {process}", "food": food, "process": process,
        "packaging": "reduced-oxygen", "storage": storage,
        "programme": "seafood-processor", "facts": FACTS,
    }  # fmt: skip


def trace(step, quantity, value, start, end, place):
    return {
        "step": step, "quantity": quantity, "place": place, "unit": "degF",
        "instrument": "H1", "start": at(start), "every_s": 600,
        "values": [value] * ((end - start) // 10 + 1),
    }  # fmt: skip


def laboratory(*results):
    return [
        reading
        for quantity, value in results
        for reading in typed(
            "packing", quantity, [(PACKED + 10, value)],
            "1" if quantity in METERS else "percent",
            instrument=METERS.get(quantity),
        )
    ]  # fmt: skip


METERS = {"ph": "PH", "water-activity": "AW"}
SALTED = laboratory(("salt", 3.2), ("moisture", 62))
STRONGLY_SALTED = laboratory(("salt", 4.1), ("moisture", 62))
DRIED = laboratory(("water-activity", 0.93))


def meter(identity, measures, true):
    check = {
        "shown": {"value": true, "unit": "1"},
        "true": {"value": true, "unit": "1"},
    }
    return {
        "id": identity, "measures": measures,
        "checks": [
            check | {"at": at(minute), "method": "reference"}
            for minute in (-60, 11 * DAY)
        ],
    }  # fmt: skip


def record(which, *, readings, stated=(), traces=(), smoked=False):
    steps = [
        ("freezing", 0, 7 * DAY), ("curing", 8 * DAY, 9 * DAY),
        ("packing", PACKED, PACKED + 60), ("cold-holding", PACKED + 60, 11 * DAY),
    ]  # fmt: skip
    if smoked:
        steps.append(("heating", 9 * DAY, PACKED - 60))
    thermometer = instrument("H1")
    thermometer["checks"].append(thermometer["checks"][0] | {"at": at(11 * DAY)})
    return {
        "format": "brinewright.batch/1",
        "judged_at": (REVIEWED + timedelta(hours=2)).isoformat(),
        "product": which,
        "instruments": [
            thermometer, meter("PH", "ph", 4.0), meter("AW", "water-activity", 0.76),
        ],
        "windows": [
            {"step": step, "start": at(start), "end": at(end)}
            for step, start, end in steps
        ],
        "readings": [
            *typed("receiving", "product-temperature", [(-30, 35.0)]), *readings,
        ],
        "traces": [
            trace("freezing", "air-temperature", -6, 0, 7 * DAY, "F1"),
            trace("packing", "product-temperature", 45, PACKED, PACKED + 60, "table"),
            trace("cold-holding", "air-temperature", 36, PACKED + 60, 11 * DAY, "C1"),
            *traces,
        ],
        "statements": [{"what": what, "complies": True} for what in stated],
        "dates": [{"what": "record-review", "at": REVIEWED.isoformat()}],
    }  # fmt: skip


SMOKE = trace("heating", "air-temperature", 80, 9 * DAY, PACKED - 60, "smoker")
RECORDS = {
    "cold-smoked": record(
        product("cold-smoked"), readings=SALTED, traces=[SMOKE], smoked=True
    ),
    "dried": record(
        product("dried"), readings=DRIED, stated=["label-keep-refrigerated"]
    ),
    "pickled": record(product("pickled"), readings=STRONGLY_SALTED),
    "raw": record(
        product("raw"), readings=[], stated=["time-temperature-indicator"]
    ),
    "raw, frozen": record(
        product("raw", storage="frozen"), readings=[], stated=["label-keep-frozen"]
    ),
    "pickled mackerel": record(
        product("pickled", "atlantic-mackerel"), readings=STRONGLY_SALTED,
        stated=["scombrotoxin-control"],
        traces=[
            trace("curing", "product-temperature", 39, 8 * DAY, 9 * DAY, "tank"),
        ],
    ),
}  # fmt: skip


def judged(document):
    return judge_batch(read_batch(json.dumps(document), now=REVIEWED))


def outcome(document):
    return judged(document).outcome.value


@pytest.mark.parametrize("name", RECORDS)
def test_a_well_kept_record_is_met(name):
    judgement = judged(RECORDS[name])
    assert {
        finding.limit_id: finding.why
        for finding in judgement.findings
        if finding.status.value != "met"
    } == {}
    assert judgement.outcome.value == "met"


@pytest.mark.parametrize("name", RECORDS)
@pytest.mark.parametrize("table", ["traces", "dates", "windows"])
def test_without_a_part_of_the_record_it_is_not_met(name, table):
    assert outcome(RECORDS[name] | {table: []}) == "not shown"


@pytest.mark.parametrize("name", ["dried", "raw", "raw, frozen", "pickled mackerel"])
def test_without_what_must_be_stated_it_is_not_shown(name):
    assert outcome(RECORDS[name] | {"statements": []}) == "not shown"


@pytest.mark.parametrize("fact", [*FACTS, "food"])
@pytest.mark.parametrize("name", RECORDS)
def test_a_missing_fact_never_makes_it_better(name, fact):
    document = RECORDS[name]
    which = document["product"]
    less = (
        {key: value for key, value in which.items() if key != fact}
        if fact == "food"
        else which | {"facts": {k: v for k, v in FACTS.items() if k != fact}}
    )
    left = judged(document | {"product": less})
    assert left.outcome.value in {"met", "not shown"}
    asked = " ".join(finding.would_settle for finding in left.findings)
    if left.outcome.value == "not shown":
        assert (fact if fact != "food" else "scombrotoxin") in asked


def warmer(document, step, value):
    return document | {
        "traces": [
            one | {"values": [value] * len(one["values"])} if one["step"] == step else one
            for one in document["traces"]
        ]
    }  # fmt: skip


@pytest.mark.parametrize(
    ("name", "step", "value"),
    [
        ("cold-smoked", "heating", 90.1),  # chapter 13, limit 1B
        ("cold-smoked", "freezing", -3.9),  # chapter 5
        ("raw", "cold-holding", 38),  # chapter 13: below 38 degrees F
        ("pickled", "cold-holding", 40.1),  # chapter 13, Strategy 4
        ("pickled mackerel", "curing", 71),  # chapter 7, Table 7-2
    ],
)
def test_what_goes_wrong_is_missed(name, step, value):
    assert outcome(warmer(RECORDS[name], step, value)) == "missed"


@pytest.mark.parametrize(
    ("name", "results"),
    [
        # chapter 13, limit 1A: 3.448 percent is not 3.5
        ("cold-smoked", laboratory(("salt", 2.5), ("moisture", 70))),
        # chapter 14: below 0.97, strictly
        ("dried", laboratory(("water-activity", 0.97))),
        # Strategy 4: all three alternatives fail
        ("pickled", laboratory(
            ("salt", 3.0), ("moisture", 62), ("ph", 5.01), ("water-activity", 0.97),
        )),
    ],
)  # fmt: skip
def test_too_little_of_what_protects_is_missed(name, results):
    arrival = [r for r in RECORDS[name]["readings"] if r["step"] == "receiving"]
    assert outcome(RECORDS[name] | {"readings": [*arrival, *results]}) == "missed"
