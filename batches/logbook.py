"""The kinds of record beside the batches, and the conditions of cleanliness, from logbook.toml."""

import tomllib
from dataclasses import dataclass
from pathlib import Path

FILE = Path(__file__).with_name("logbook.toml")


@dataclass(frozen=True, slots=True, kw_only=True)
class Condition:
    """One condition of cleanliness: what to look at, and on which rounds where nobody set it.

    ``month`` is what the round once a month looks at; the same where it is empty.
    """

    id: str
    title: str
    look: str
    moments: tuple[str, ...]
    section: str
    basis: str
    often: str
    month: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of record, in words, with the rule that asks for it."""

    slug: str
    title: str
    one: str
    lead: str
    why: str
    section: str
    basis: str
    cited: str


def _read() -> tuple[tuple[Kind, ...], tuple[Condition, ...]]:
    told = tomllib.loads(FILE.read_text("utf-8"))
    source = told["source"]
    publication = f"{source['publisher']}, {source['title']}, {source['edition']}"
    kinds = tuple(
        Kind(**entry, cited=f"{publication}, {entry['section']}")
        if entry["section"]
        else Kind(**entry, cited="")
        for entry in told["kind"]
    )
    conditions = tuple(
        Condition(**entry | {"moments": tuple(entry["moments"])})
        for entry in told["condition"]
    )
    return kinds, conditions


_KINDS, CONDITIONS = _read()
KINDS = {kind.slug: kind for kind in _KINDS}
CONDITION_BY_ID = {condition.id: condition for condition in CONDITIONS}
