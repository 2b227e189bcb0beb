"""Foods from their table; a cell is a value and how it is known, and nothing is guessed.

``species.csv`` has one row per fish. A cell such as ``yes memory`` holds a value of a
fact and its basis; ``sources.toml`` says where the cells were read.
"""

import csv
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import replace
from decimal import Decimal, InvalidOperation
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable

from safety.errors import FoodFileError, InputError, UnknownName
from safety.facts import fact
from safety.foods.model import BASES, DERIVED, UNCONFIRMED, Food, FoodSource

TABLE = "species.csv"
SOURCES = "sources.toml"

# Columns that hold a fact; its name is the column's with hyphens.
FACT_COLUMNS = (
    "parasites", "natural_toxin", "scombrotoxin", "environmental_chemicals",
    "aquaculture_drugs", "nitrite_permitted",
)  # fmt: skip
FOOD_FACTS = ("origin", *(column.replace("_", "-") for column in FACT_COLUMNS))
_SHARES = ("moisture_percent", "fat_percent")
COLUMNS = (
    "slug", "also", "market_name", "latin_name", "origin", *FACT_COLUMNS, *_SHARES,
    "sources", "notes",
)  # fmt: skip
_SOURCE_KEYS = ("publisher", "title", "edition", "section", "note")
# A fish caught in the wild was not raised on pellets.
_WILD, _FEED = "wild", "pellet-fed"
_COMPOSITION = "composition"
_REMARK = "#"

# Values that lift a hazard: from an unconfirmed cell they are unknown, not false.
_LIFTING = ("no", "none")


@cache
def foods() -> dict[str, Food]:
    """Return the product's own foods by slug and by every other name, read once."""
    return load(files("safety.foods").joinpath("data"))


def load(folder: Traversable) -> dict[str, Food]:
    """Return the foods of the table in ``folder``, by every slug that names them.

    Raises
    ------
    FoodFileError
        If the table or its sources are wrong in any way; nothing is skipped.
    """
    sources = _sources(folder.joinpath(SOURCES))
    found: dict[str, Food] = {}
    for row in _rows(folder.joinpath(TABLE)):
        food = _Row(row, sources).food()
        for slug in (food.slug, *food.also):
            if slug in found:
                raise FoodFileError(
                    TABLE, f"food '{slug}'", "stands twice.", "Give each name once."
                )
            found[slug] = food
    return found


def _sources(path: Traversable) -> dict[str, FoodSource]:
    try:
        document = tomllib.loads(path.read_text("utf-8"))
    except (OSError, tomllib.TOMLDecodeError) as error:
        raise FoodFileError(
            SOURCES, "the file", f"cannot be read: {error}.", "Correct that line."
        ) from error
    found = {}
    for key, table in document.items():
        texts = {name: table.get(name) for name in _SOURCE_KEYS}
        empty = [name for name, text in texts.items() if not text]
        if empty or set(table) != set(_SOURCE_KEYS):
            raise FoodFileError(
                SOURCES,
                f"source '{key}'",
                "is not complete or has an unknown key.",
                f"It has exactly {', '.join(_SOURCE_KEYS)}.",
            )
        found[key] = FoodSource(key=key, **{name: str(texts[name]) for name in texts})
    return found


def _rows(path: Traversable) -> Iterator[dict[str, str]]:
    text = path.read_text("utf-8")
    lines = [line for line in text.splitlines() if not line.startswith(_REMARK)]
    reader = csv.DictReader(lines, strict=True)
    if tuple(reader.fieldnames or ()) != COLUMNS:
        raise FoodFileError(
            TABLE,
            "the first line",
            f"has the columns {', '.join(reader.fieldnames or ())}.",
            f"They are {', '.join(COLUMNS)}.",
        )
    for row in reader:
        if None in row or None in row.values():
            raise FoodFileError(
                TABLE,
                f"food '{row['slug']}'",
                f"has not {len(COLUMNS)} cells.",
                "Put a text that holds a comma between quotation marks.",
            )
        yield row


class _Row:
    """One row of the table and its refusals."""

    def __init__(self, row: Mapping[str, str], sources: Mapping[str, FoodSource]):
        self.row = row
        self.sources = sources

    def refuse(self, problem: str, remedy: str) -> FoodFileError:
        return FoodFileError(TABLE, f"food '{self.row['slug']}'", problem, remedy)

    def food(self) -> Food:
        for column in ("slug", "market_name", "latin_name", "origin", "sources"):
            if not self.row[column].strip():
                raise self.refuse(f"has an empty {column}.", "Every food has one.")
        for slug in (self.row["slug"], *self.row["also"].split()):
            self._check("food", slug)
        self._check("origin", self.row["origin"])
        facts = {"origin": self.row["origin"]}
        basis = {}
        for column in FACT_COLUMNS:
            name = column.replace("_", "-")
            value, basis[name] = self._cell(column)
            self._check(name, value)
            if not (basis[name] == UNCONFIRMED and value in _LIFTING):
                facts[name] = value
        if facts["origin"] == _WILD:
            facts[_FEED], basis[_FEED] = "no", DERIVED
        shares = {column: self._share(column, basis) for column in _SHARES}
        return Food(
            slug=self.row["slug"],
            also=tuple(self.row["also"].split()),
            market_name=self.row["market_name"],
            latin_name=self.row["latin_name"],
            origin=self.row["origin"],
            facts=facts,
            basis=basis,
            sources=tuple(self._source(key) for key in self.row["sources"].split()),
            notes=self.row["notes"],
            **shares,
        )

    def _check(self, name: str, value: str) -> None:
        try:
            fact(name).check(value)
        except (UnknownName, InputError) as error:
            raise self.refuse(str(error), "Use a value of the fact.") from error

    def _cell(self, column: str) -> tuple[str, str]:
        value, _, basis = self.row[column].partition(" ")
        if not value or basis not in BASES:
            raise self.refuse(
                f"has {column} = {self.row[column]!r}.",
                f"Write a value and how it is known: {', '.join(BASES)}.",
            )
        return value, basis

    def _share(self, column: str, basis: dict[str, str]) -> Decimal | None:
        if not self.row[column]:
            return None
        value, how = self._cell(column)
        basis[column.removesuffix("_percent")] = how
        try:
            share = Decimal(value)
        except InvalidOperation:
            share = Decimal(-1)
        if not 0 <= share <= 100:  # noqa: PLR2004 - a share of the whole
            raise self.refuse(f"has {column} = {value!r}.", "Write 0 to 100.")
        return share

    def _source(self, key: str) -> FoodSource:
        shared, _, number = key.rpartition("-")
        if shared == _COMPOSITION and _COMPOSITION in self.sources:
            common = self.sources[_COMPOSITION]
            return replace(common, key=key, section=f"{common.section}: {number}")
        if key not in self.sources:
            raise self.refuse(
                f"names the source {key!r}, which {SOURCES} does not give.",
                f"Use {', '.join(self.sources)}.",
            )
        return self.sources[key]
