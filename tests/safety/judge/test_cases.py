"""Every example batch file is judged as its expectation says, and every bad one refused."""

import json
import math
from datetime import UTC, datetime
from pathlib import Path

import pytest

from safety.errors import Refused
from safety.judge import judge_batch, read_batch

CASES = Path(__file__).parents[2] / "cases"
SUFFIX = ".expect.json"
NOW = datetime(2026, 6, 1, tzinfo=UTC)

NAMES = sorted(path.name.removesuffix(SUFFIX) for path in CASES.glob(f"*{SUFFIX}"))
MALFORMED = {
    "01-no-offset": "/readings/0/at",
    "06-unknown-step": "/readings/0/step",
    "11-infinite-trace": "/traces/0/values/1",
    "16-not-json": "",
    "21-null-in-trace": "/traces/0/values/1",
    "26-limit-without-minutes": "/limits/0/minutes",
}


def judged(name):
    data = (CASES / f"{name}.json").read_bytes()
    return judge_batch(read_batch(data, now=NOW)).as_json()


def assert_holds(found, expected):
    """Hold what is found against what is expected; keys not named are left out."""
    if isinstance(expected, dict):
        assert expected.keys() <= found.keys()
        for key, value in expected.items():
            assert_holds(found[key], value)
    elif isinstance(expected, int | float) and not isinstance(expected, bool):
        assert math.isclose(found, expected, rel_tol=1e-9, abs_tol=1e-9)
    else:
        assert found == expected


def test_every_example_has_its_expectation():
    documents = {path.stem for path in CASES.glob("*.json")}
    assert {name for name in documents if not name.endswith(".expect")} == set(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_case_is_judged_as_expected(name):
    found = judged(name)
    expected = json.loads((CASES / f"{name}{SUFFIX}").read_text("utf-8"))
    assert found["outcome"] == expected["outcome"]
    assert found["control_points"] == expected["control_points"]
    for wanted in expected.get("findings", []):
        matching = [
            each
            for each in found["findings"]
            if (each["limit"], each["place"]) == (wanted["limit"], wanted["place"])
        ]
        assert len(matching) == 1
        assert_holds(matching[0], wanted)


@pytest.mark.parametrize("name", NAMES)
def test_case_has_one_finding_per_limit_and_series(name):
    expected = json.loads((CASES / f"{name}{SUFFIX}").read_text("utf-8"))
    named = {(each["limit"], each["place"]) for each in expected.get("findings", [])}
    found = [(each["limit"], each["place"]) for each in judged(name)["findings"]]
    assert len(found) == len(set(found))
    assert named <= set(found)


def test_every_malformed_file_has_its_place():
    assert {path.stem for path in (CASES / "malformed").iterdir()} == set(MALFORMED)


@pytest.mark.parametrize("name", MALFORMED)
def test_malformed_file_is_refused_where_it_is_wrong(name):
    with pytest.raises(Refused) as caught:
        read_batch((CASES / "malformed" / f"{name}.json").read_bytes(), now=NOW)
    assert caught.value.pointer == MALFORMED[name]
