"""The top of the tree is fixed; what is new goes into a package."""

from tests.house.tree import ROOT

TOP = {
    "DEVELOPERS.md",
    "LICENSE",
    "README.md",
    "batches",
    "manage.py",
    "pyproject.toml",
    "reports",
    "requirements-test.txt",
    "requirements.txt",
    "safety",
    "templates",
    "tests",
}
MADE_BY_RUNNING = {"__pycache__", "var"}


def test_top_level_holds_what_was_decided_and_nothing_else():
    seen = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert seen - MADE_BY_RUNNING == TOP
