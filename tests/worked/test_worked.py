"""Published and derived examples, worked by hand, agree with judge, tables and figures."""

import importlib
import json
import math
import tomllib
from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from safety.errors import OutOfRange
from safety.judge import judge_batch, read_batch
from safety.limits import consider, figure, get, table
from safety.quantities import QUANTITIES

HERE = Path(__file__).parent
START = datetime.fromisoformat("2026-06-01T08:00:00-04:00")
END = START + timedelta(days=28)
KEYS = {"name", "source", "call", "working", "given", "expect", "tolerance"}
GIVEN = {
    "judge": {
        "limit", "readings", "held", "windows", "statements", "denied", "dates",
        "shown_in_ice",
    },
    "applies": {"limit", "facts"},
    "figure": {"figure"},
    "table": {"table", "at"},
    "formula": {"function", "arguments"},
}  # fmt: skip
BINARY = Decimal("1e-9")  # what is lost where a figure passes through a float
FREEZING = {"degF": 32, "degC": 0}
METERS = {"ph": 4, "water-activity": 0.76}  # and what their checks are made with


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
    meters = [
        {
            "id": kind,
            "measures": kind,
            "checks": [
                check
                | {
                    "method": "reference",
                    "shown": {"value": true, "unit": "1"},
                    "true": {"value": true, "unit": "1"},
                }
                for check in checks
            ],
        }
        for kind, true in METERS.items()
    ]
    return [{"id": "temperature", "measures": "temperature", "checks": checks}, *meters]


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
            {"what": what, "complies": what not in given.get("denied", ())}
            for what in (*given.get("statements", ()), *given.get("denied", ()))
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


def of_call(*calls):
    every = [param for param in examples() if param.values[0]["call"] in calls]
    return pytest.mark.parametrize("example", every)


@pytest.mark.parametrize("example", list(examples()))
def test_example_is_whole(example):
    assert KEYS - {"tolerance"} <= set(example) <= KEYS
    assert example["call"] in GIVEN
    assert set(example["given"]) <= GIVEN[example["call"]]
    assert example["expect"]


@of_call("judge")
def test_example(example):
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


@of_call("table")
def test_example_of_a_table(example):
    given = example["given"]
    row = table(given["table"]).look_up(given["at"])
    if example["expect"] == {"answer": "unknown"}:
        assert row is None
        return
    assert row is not None, example["working"]
    assert {name: plain(row[name]) for name in example["expect"]} == example["expect"]


def plain(cell):
    return cell if isinstance(cell, Decimal | None) else str(cell)


@of_call("figure")
def test_example_of_a_figure(example):
    found = figure(example["given"]["figure"])
    for key, expected in example["expect"].items():
        assert getattr(found, key) == expected, example["working"]


@of_call("applies")
def test_example_of_what_applies(example):
    given = example["given"]
    answers = {one.published.limit.id: one for one in consider(given["facts"])}
    found = answers[given["limit"]]
    seen = {"applies": found.applies.value, "governs": found.governs.value}
    assert {key: seen[key] for key in example["expect"]} == example["expect"], found.why


@of_call("formula")
def test_example_of_a_formula(example):
    given = example["given"]
    module, name = given["function"].split(":")
    kind = Decimal if module == "safety.units" else float
    arguments = {key: known(value, kind) for key, value in given["arguments"].items()}
    formula = getattr(importlib.import_module(module), name)
    if example["expect"] == {"answer": "none"}:
        with pytest.raises(OutOfRange):
            formula(**arguments)
        return
    seen = Decimal(float(formula(**arguments)))
    off = abs(seen - example["expect"]["value"])
    assert off <= example.get("tolerance", 0) + BINARY, (example["working"], seen)


def known(value, kind):
    """Return an argument: a number, a list of them, or what the guidance prints."""
    if isinstance(value, list):
        return [known(one, kind) for one in value]
    if isinstance(value, str):
        return value
    if isinstance(value, dict):
        printed = figure(value["figure"]) if "figure" in value else None
        if printed and "unit" in value:
            return kind({printed.unit: printed.value, **printed.also}[value["unit"]])
        if printed:
            return kind(printed.value)
        return kind(table(value["table"]).look_up(value["at"])[value["column"]])
    return value if isinstance(value, int) else kind(value)


def test_there_are_examples_of_every_publication_that_prints_a_figure():
    cited = {
        cited_in(param.values[0]["given"])
        for param in examples()
        if param.values[0]["call"] != "formula"
    }
    assert cited >= {
        "us-fda.hazards-guide", "us-fda.food-code-2022", "us-fda.food-code-2017",
        "us-fda.food-code-2013", "us-mi.r285-569", "us-me.ch359", "us-cfr.21-123",
        "us-cfr.21-172", "us-fda.cpg-540-500", "us-fda.cpg-540-525", "eu.853-2004",
        "eu.2073-2005", "gb.fsa-vacuum-packing", "gb.temperature-control",
        "ca.cfia-smoked-fish", "us-ny.part-271", "us-usda.aib-539", "us-cfr.21-150",
        "us-fda.cpg-585-750", "us-cfr.7-52", "us-cfr.21-101", "us-fdc.403",
        "us-cfr.21-1-s", "us-cfr.21-7", "us-pa.limited-food",
    }  # fmt: skip


def cited_in(given):
    if "limit" in given:
        return get(given["limit"]).source.id
    found = table(given["table"]) if "table" in given else figure(given["figure"])
    return found.source.id
