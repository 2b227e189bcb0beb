"""Published and derived examples, worked by hand, agree with the judge."""

import json
import math
import tomllib
from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from safety.judge import judge_batch, read_batch
from safety.limits import get
from safety.quantities import QUANTITIES

HERE = Path(__file__).parent
START = datetime.fromisoformat("2026-06-01T08:00:00-04:00")
END = START + timedelta(days=28)
KEYS = {"name", "source", "call", "working", "given", "expect", "tolerance"}
GIVEN = {
    "limit", "readings", "held", "windows", "statements", "dates", "shown_in_ice",
}  # fmt: skip
BINARY = Decimal("1e-9")  # what is lost where a figure passes through a float
FREEZING = {"degF": 32, "degC": 0}


def examples():
    for path in sorted(HERE.glob("*.toml")):
        file = tomllib.loads(path.read_text("utf-8"), parse_float=Decimal)
        for example in file["example"]:
            yield pytest.param(example, id=f"{path.stem}: {example['name']}")


def after(minutes):
    return (START + timedelta(minutes=float(minutes))).isoformat()


def spread(held):
    """Yield the readings of a value that stays the same."""
    for step, quantity, value, unit, place, start, end, every in held:
        count = math.ceil((end - start) / every)
        for number in range(count + 1):
            minute = min(start + number * every, end)
            yield minute, step, quantity, value, unit, place


def instruments(shown, unit):
    """Return one thermometer checked in ice before and after, and the other meters."""
    checks = [
        {
            "at": at.isoformat(),
            "method": "ice-point",
            "shown": {"value": shown, "unit": unit},
            "true": {"value": FREEZING[unit], "unit": unit},
        }
        for at in (START - timedelta(days=1), END - timedelta(days=1))
    ]
    return [{"id": "temperature", "measures": "temperature", "checks": checks}]


def document(given):
    rows = [*given.get("readings", ()), *spread(given.get("held", ()))]
    readings = []
    for minute, step, quantity, value, unit, place in rows:
        reading = {
            "step": step, "quantity": quantity, "place": place, "at": after(minute),
            "value": value, "unit": unit,
        }  # fmt: skip
        if QUANTITIES[quantity].instrument:
            reading["instrument"] = QUANTITIES[quantity].instrument
        readings.append(reading)
    return {
        "format": "brinewright.batch/1",
        "judged_at": END.isoformat(),
        "instruments": instruments(*given.get("shown_in_ice", (32, "degF"))),
        "windows": [
            {"step": step, "start": after(start), "end": after(end)}
            for step, start, end in given.get("windows", ())
        ],
        "readings": readings,
        "statements": [
            {"what": what, "complies": True} for what in given.get("statements", ())
        ],
        "dates": [
            {"what": what, "at": (START + timedelta(days=days)).isoformat()}
            for what, days in given.get("dates", ())
        ],
    }


def judged(given):
    """Judge the records by one published limit; return its finding and the instruments."""
    batch = read_batch(json.dumps(document(given), default=float), now=END)
    limit = get(given["limit"]).limit
    judgement = judge_batch(_with_limit(batch, limit))
    found = [f for f in judgement.findings if f.limit_id == limit.id]
    assert len(found) == 1
    trusted = judgement.control_points.get("instrument-check")
    return found[0], trusted


def _with_limit(batch, limit):
    return replace(batch, limits=(limit,))


@pytest.mark.parametrize("example", list(examples()))
def test_example(example):
    assert KEYS - {"tolerance"} <= set(example) <= KEYS
    assert set(example["given"]) <= GIVEN
    assert example["call"] == "judge"
    found, trusted = judged(example["given"])
    why = f"{example['source']}: {example['working']}; the judge says: {found.why}"
    for key, expected in example["expect"].items():
        if key == "status":
            assert found.status.value == expected, why
        elif key == "instruments":
            assert trusted.value == expected, why
        else:
            assert key in found.observed, why
            seen = Decimal(float(found.observed[key]))
            assert abs(seen - expected) <= example["tolerance"] + BINARY, why


def test_there_are_examples_of_every_publication_that_prints_a_figure():
    cited = {get(e.values[0]["given"]["limit"]).source.id for e in examples()}
    assert cited >= {
        "us-fda.hazards-guide", "us-fda.food-code-2022", "us-mi.r285-569", "us-me.ch359",
        "us-cfr.21-123", "us-cfr.21-172",
    }  # fmt: skip
