"""A food: its names, what is known of it as facts, and how each of them is known."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

SEEN = "seen"
MEMORY = "memory"
UNCONFIRMED = "unconfirmed"
DERIVED = "derived"
BASES = (SEEN, MEMORY, UNCONFIRMED)


@dataclass(frozen=True, slots=True, kw_only=True)
class FoodSource:
    """Where cells of the food table were read."""

    key: str
    publisher: str
    title: str
    edition: str
    section: str
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Food:
    """One kind of fish by its market name.

    ``facts`` are those that may be relied on; ``basis`` says how each cell is known
    (``seen``, ``memory``, ``unconfirmed``; ``derived`` from its origin), also for cells that are no fact because
    an unconfirmed "no" is unknown. Moisture and fat are of the raw flesh, as typical.
    """

    slug: str
    also: tuple[str, ...]
    market_name: str
    latin_name: str
    origin: str
    facts: Mapping[str, str]
    basis: Mapping[str, str]
    moisture_percent: Decimal | None = None
    fat_percent: Decimal | None = None
    sources: tuple[FoodSource, ...] = field(default=())
    notes: str = ""
