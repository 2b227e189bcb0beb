"""The plain judge agrees with every example batch file."""

import json
import math
import os
from decimal import Decimal
from pathlib import Path

import pytest

from tests.reference.plain import judge

HERE = Path(__file__)


def cases_folder():
    """Return the folder of examples: the one named, the shared one, else the copy kept here."""
    named = os.environ.get("BRINEWRIGHT_CASES")
    if named:
        return Path(named)
    shared = HERE.parents[3] / "shared" / "cases"
    return shared if shared.is_dir() else HERE.parents[1] / "cases"


def case_names():
    """List the examples that have an expected judgement."""
    suffix = ".expect.json"
    return sorted(
        path.name.removesuffix(suffix) for path in cases_folder().glob("*" + suffix)
    )


def load(path):
    """Read a JSON file with exact numbers."""
    return json.loads(path.read_text(encoding="utf-8"), parse_float=Decimal)


def assert_same(found, expected):
    """Compare what is expected; numbers as numbers, keys that are not named left out."""
    if isinstance(expected, dict):
        for key, value in expected.items():
            assert key in found, key
            assert_same(found[key], value)
    elif isinstance(expected, int | Decimal) and not isinstance(expected, bool):
        assert found is not None
        assert math.isclose(found, expected, rel_tol=1e-9, abs_tol=1e-9), (
            found,
            expected,
        )
    else:
        assert found == expected


def test_there_are_cases():
    assert case_names()


@pytest.mark.parametrize("name", case_names())
def test_case_is_judged_as_expected(name):
    result = judge(load(cases_folder() / f"{name}.json"))
    expected = load(cases_folder() / f"{name}.expect.json")
    assert result["outcome"] == expected["outcome"]
    assert result["control_points"] == expected["control_points"]
    for wanted in expected.get("findings", []):
        matching = [
            finding
            for finding in result["findings"]
            if finding["limit"] == wanted["limit"]
            and finding["place"] == wanted["place"]
        ]
        assert len(matching) == 1, wanted
        assert_same(matching[0], wanted)
