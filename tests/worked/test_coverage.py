"""Every worked example that was gathered is a case, or says exactly why it is none."""

import ast
import tomllib
from pathlib import Path

import pytest

from tests.house.tree import ROOT, parsed

HERE = Path(__file__).parent

# How many worked examples were gathered from publications, numbered from 1: on smoked,
# dried and pickled fish, and on shops, home kitchens, labels and records.
GATHERED = {
    "fish": range(1, 54),
    "shop": range(1, 65),
}
REASON_WORDS = 8  # own figure: a shorter reason says nothing


def covered(kind):
    return tomllib.loads((HERE / "coverage" / f"{kind}.toml").read_text("utf-8"))


def entries():
    for kind in GATHERED:
        for number, entry in covered(kind).items():
            yield pytest.param(entry, id=f"{kind} {number}")


@pytest.fixture(scope="module")
def known():
    """Return every case there is: examples by file and name, tests by path and name."""
    found = {
        f"{path.stem}: {example['name']}"
        for path in HERE.glob("*.toml")
        for example in tomllib.loads(path.read_text("utf-8"))["example"]
    }
    for path in (ROOT / "tests").rglob("test_*.py"):
        where = path.relative_to(ROOT).as_posix()
        found |= {
            f"{where}::{node.name}"
            for node in ast.walk(parsed(path))
            if isinstance(node, ast.FunctionDef) and node.name.startswith("test_")
        }
    return found


@pytest.mark.parametrize("kind", GATHERED)
def test_no_number_is_left_out(kind):
    assert [int(number) for number in covered(kind)] == list(GATHERED[kind])


@pytest.mark.parametrize("entry", list(entries()))
def test_worked_example_is_a_case_or_says_why_not(entry, known):
    assert entry["of"].strip()
    if "no_case" in entry:
        assert set(entry) == {"of", "no_case", "until"}
        assert len(entry["no_case"].split()) >= REASON_WORDS
        assert not (ROOT / entry["until"]).exists(), "it can be a case now: add it"
        return
    assert set(entry) == {"of", "cases"}
    assert entry["cases"]
    assert [case for case in entry["cases"] if case not in known] == []


def test_names_of_examples_are_their_own():
    for path in HERE.glob("*.toml"):
        names = [
            example["name"]
            for example in tomllib.loads(path.read_text("utf-8"))["example"]
        ]
        assert len(set(names)) == len(names), path.stem
