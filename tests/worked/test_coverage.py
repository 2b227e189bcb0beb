"""Every worked example that was gathered is a case."""

import ast
import tomllib
from pathlib import Path

import pytest

from tests.house.tree import ROOT, parsed

HERE = Path(__file__).parent

# How many worked examples were gathered from publications, numbered from 1: on smoked,
# dried and pickled fish, on shops, home kitchens, labels and records, on death, growth and
# clocks, on heat, boiling and ice, and on brine, cures, salt and water.
GATHERED = {
    "fish": range(1, 54),
    "heat": range(50, 64),
    "kinetics": range(1, 100),
    "salt": range(1, 50),
    "shop": range(1, 65),
}


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
def test_worked_example_is_a_case(entry, known):
    assert entry["of"].strip()
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
