"""Warnings shown where the work can hurt someone, from warnings.toml."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from safety.facts import Answer, holds

FILE = Path(__file__).resolve().parents[1] / "warnings.toml"


@dataclass(frozen=True, slots=True, kw_only=True)
class Warn:
    """A warning with its source and the facts that call for it."""

    id: str
    when: Mapping[str, tuple[str, ...]]
    places: tuple[str, ...]
    head: str
    words: str
    publisher: str
    title: str
    section: str
    edition: str
    basis: str


def _read() -> tuple[Warn, ...]:
    entries = tomllib.loads(FILE.read_text("utf-8"))["warning"]
    return tuple(
        Warn(
            **entry
            | {
                "when": {name: tuple(of) for name, of in entry["when"].items()},
                "places": tuple(entry["places"]),
            }
        )
        for entry in entries
    )


WARNINGS = _read()


def warnings_for(facts: Mapping[str, str], place: str) -> list[Warn]:
    """Return the warnings of a place that no known fact rules out."""
    return [
        warning
        for warning in WARNINGS
        if place in warning.places and holds(warning.when, facts)[0] is not Answer.NO
    ]
