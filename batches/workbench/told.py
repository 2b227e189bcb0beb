"""The calculators as calculators.toml tells them: what is asked, in which range, and why."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

FILE = Path(__file__).with_name("calculators.toml")
NUMBER, CHOICE, NUMBERS, CURVE = "number", "choice", "numbers", "curve"


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One of the choices of an input."""

    value: str
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """What a calculator asks: its words, its units, and the range that makes sense.

    ``low`` and ``high`` are in the first unit.
    """

    name: str
    label: str
    kind: str = NUMBER
    units: tuple[str, ...] = ()
    low: float = 0.0
    high: float = 0.0
    start: str = ""
    help: str = ""
    optional: bool = False
    fewest: int = 0
    most: int = 0
    options: tuple[Option, ...] = ()

    @property
    def unit(self) -> str:
        """Return the unit in which the range stands, and in which it is worked out."""
        return self.units[0] if self.units else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Calculator:
    """One calculator in words."""

    slug: str
    title: str
    lead: str
    formula: str
    range: str
    decides: str
    inputs: tuple[Input, ...]


def calculators() -> tuple[Calculator, ...]:
    """Return every calculator, in the order of the workbench."""
    return tuple(_told().values())


def calculator(slug: str) -> Calculator | None:
    """Return one calculator, None where there is none of that name."""
    return _told().get(slug)


@cache
def _told() -> Mapping[str, Calculator]:
    told = tomllib.loads(FILE.read_text("utf-8"))
    return {entry["slug"]: _calculator(entry) for entry in told["calculator"]}


def _calculator(entry: dict[str, Any]) -> Calculator:
    asked = tuple(_input(one) for one in entry["input"])
    words = {key: value for key, value in entry.items() if key != "input"}
    return Calculator(**words, inputs=asked)


def _input(entry: dict[str, Any]) -> Input:
    options = tuple(Option(**one) for one in entry.get("options", ()))
    units = tuple(entry.get("units", ()))
    return Input(**entry | {"options": options, "units": units})
