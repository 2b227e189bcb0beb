"""One entry of the guidance put into words: what it applies to, how we know it."""

from collections.abc import Iterator
from dataclasses import dataclass

from batches.forms.product import choices
from batches.views.guidance_search import jurisdiction_words
from safety.facts import FACTS
from safety.judge.listing import Entry, cell_words
from safety.limits import Interval, interval_of
from safety.limits.model import Published
from safety.limits.printed import NOTHING, ROW_ABOVE, ROW_BELOW, Table
from safety.units import symbol

OWN = "own"
BASES = {
    "memory": "Written down from memory. Look it up before you lean on it.",
    "derived": "Derived from other figures that were read.",
    OWN: "Our own figure, published by nobody.",
}
BETWEEN_ROWS = {
    NOTHING: "Between two rows the table says nothing.",
    ROW_BELOW: "For a value between two rows the row with the lower value answers.",
    ROW_ABOVE: "For a value between two rows the row with the higher value answers.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedTable:
    """A table as it is printed: heads with their units, and rows of words."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    between: str


def basis_words(basis: str) -> str:
    """Return how a figure is known, as a sentence."""
    kind, _, places = basis.partition(" ")
    if kind in BASES:
        return BASES[kind]
    return "Read in one place." if places == "1" else f"Read in {places} places."


def table_of(entry: Entry) -> PrintedTable | None:
    """Return a printed table in words; None for what is no table."""
    table = entry.held
    if not isinstance(table, Table):
        return None
    heads = (
        f"{column.title}, {unit}" if (unit := symbol(column.unit)) else column.title
        for column in table.columns
    )
    return PrintedTable(
        heads=tuple(heads),
        rows=tuple(
            tuple(cell_words(row[column.name]) for column in table.columns)
            for row in table.rows
        ),
        between=BETWEEN_ROWS[table.between_rows],
    )


def applies_to(entry: Entry) -> list[tuple[str, str]]:
    """Return the facts that a limit asks for, each with the answers that it takes."""
    published = entry.held
    if not isinstance(published, Published):
        return []
    asked = [
        (FACTS[name].title, _any_of(name, values))
        for name, values in published.applies_when.items()
    ]
    asked += [
        (FACTS[name].title, _any_of(name, (value,)))
        for name, value in published.chosen_by.items()
    ]
    return asked


def governs(entry: Entry) -> str:
    """Return for whom a limit governs, as a sentence; nothing for what is no limit."""
    published = entry.held
    if not isinstance(published, Published):
        return ""
    if not published.programmes:
        return "It governs nobody's product here: it is shown for comparison only."
    who = _any_of("programme", published.programmes)
    where = jurisdiction_words(entry.source.jurisdiction)
    return f"It governs the programme {who} in {where}; elsewhere it is a comparison."


def interval_for(entry: Entry) -> Interval | None:
    """Return how far apart the readings for a limit may be; None where none are asked."""
    held = entry.held
    if isinstance(held, Interval):
        return held
    return interval_of(held) if isinstance(held, Published) else None


def in_force(entry: Entry) -> str:
    """Return from when until when a limit is in force; nothing where it always is."""
    published = entry.held
    if not isinstance(published, Published):
        return ""
    return ", ".join(_days(published))


def _days(published: Published) -> Iterator[str]:
    if published.since:
        yield f"from {published.since}"
    if published.until:
        yield f"before {published.until}"


def _any_of(name: str, values: tuple[str, ...]) -> str:
    words = dict(choices(name)) if FACTS[name].values else {}
    return " or ".join(words.get(value, value.replace("-", " ")) for value in values)
