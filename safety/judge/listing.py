"""All that the guidance holds as one list: in words, and what a product makes of it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from safety.facts import Answer
from safety.judge.comparing import Compared, compared
from safety.judge.sentences import amount
from safety.limits.entries import Interval
from safety.limits.load import Catalogue, Default, catalogue, dates_hold
from safety.limits.model import Published, Source
from safety.limits.printed import Cell, Figure, Range, Table
from safety.limits.reader import STANDINGS
from safety.limits.select import Selected, consider

LIMIT, FIGURE, TABLE, INTERVAL, DEFAULT = (
    "limit", "figure", "table", "interval", "default",
)  # fmt: skip

Held = Published | Figure | Table | Interval | Default


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One limit, figure, table, interval or default, with what all of them have.

    ``places`` are the steps and control points that it belongs to; ``held`` is the
    thing itself.
    """

    id: str
    kind: str
    words: str
    source: Source
    basis: str
    checked: date
    held: Held
    places: tuple[str, ...] = ()
    reason: str = ""
    note: str = ""
    compared: Compared | None = None

    @property
    def figures(self) -> tuple[str, ...]:
        """A printed figure in each of its units; nothing for what is no figure."""
        held = self.held
        return figure_words(held) if isinstance(held, Figure | Default) else ()


@dataclass(frozen=True, slots=True)
class Considered:
    """One limit with what a product's facts say of it.

    ``missing`` are the facts that would settle it.
    """

    entry: Entry
    applies: Answer
    governs: Answer
    missing: tuple[str, ...]
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ForProduct:
    """Every limit, by what the facts of one product say of it."""

    applies: tuple[Considered, ...]
    may_apply: tuple[Considered, ...]
    comparison: tuple[Considered, ...]
    does_not_apply: tuple[Considered, ...]

    def __iter__(self) -> Iterator[Considered]:
        yield from self.applies
        yield from self.may_apply
        yield from self.comparison
        yield from self.does_not_apply


def listing(among: Catalogue | None = None) -> tuple[Entry, ...]:
    """Return all entries, law before guidance, one publication after another.

    ``among`` is another catalogue than our own, read from another folder.
    """
    limits = among or catalogue()
    found = (
        *map(_of_limit, limits.limits.values()),
        *(_printed(FIGURE, one) for one in limits.figures.values()),
        *(_printed(TABLE, one) for one in limits.tables.values()),
        *map(_of_interval, limits.intervals.values()),
        *map(_of_default, limits.defaults.values()),
    )
    return tuple(sorted(found, key=_place_in_list))


def for_product(
    facts: Mapping[str, str], *, on: date | None = None, among: Catalogue | None = None
) -> ForProduct:
    """Return every limit with what the facts say of it; a missing fact drops none.

    ``on`` is the day on which a limit must be in force.
    """
    found = [_considered(one, on) for one in consider(facts, among=among)]
    standing = [one for one in found if one.applies is not Answer.NO]
    governing = [one for one in standing if one.governs is not Answer.NO]
    return ForProduct(
        applies=tuple(one for one in governing if _is_certain(one)),
        may_apply=tuple(one for one in governing if not _is_certain(one)),
        comparison=tuple(one for one in standing if one.governs is Answer.NO),
        does_not_apply=tuple(one for one in found if one.applies is Answer.NO),
    )


def figure_words(held: Figure | Default) -> tuple[str, ...]:
    """Return a figure in each unit in which it is printed ("60 to 80 °F")."""
    up_to = held.up_to if isinstance(held, Figure) else None
    if up_to is None:
        first = amount(held.value, held.unit)
    else:
        first = f"{held.value} to {amount(up_to, held.unit)}"
    also = held.also if isinstance(held, Figure) else {}
    return (first, *(amount(value, unit) for unit, value in also.items()))


def cell_words(cell: Cell) -> str:
    """Return a cell of a table as it is printed; nothing where the table is silent."""
    if cell is None:
        return ""
    if isinstance(cell, Range):
        return cell.printed
    return format(cell, "f") if isinstance(cell, Decimal) else str(cell)


def _considered(selected: Selected, on: date | None) -> Considered:
    published = selected.published
    entry = _of_limit(published)
    if not dates_hold(published, on):
        why = f"It does not apply: it is not in force on {on}."
        return Considered(entry, Answer.NO, selected.governs, (), why)
    missing = () if selected.applies is Answer.NO else selected.missing
    return Considered(entry, selected.applies, selected.governs, missing, selected.why)


def _is_certain(one: Considered) -> bool:
    return one.applies is Answer.YES and one.governs is Answer.YES


def _of_limit(published: Published) -> Entry:
    return _of_published(LIMIT, published, published)


def _of_default(default: Default) -> Entry:
    return _of_published(DEFAULT, default.published, default)


def _of_published(kind: str, published: Published, held: Held) -> Entry:
    limit = published.limit
    places = (limit.step, limit.control_point)
    return Entry(
        id=limit.id,
        kind=kind,
        words=published.words,
        source=published.source,
        basis=published.basis,
        checked=published.checked,
        held=held,
        places=tuple(dict.fromkeys(place for place in places if place)),
        reason=published.reason,
        note=published.note,
        compared=compared(limit),
    )


def _printed(kind: str, held: Figure | Table) -> Entry:
    return Entry(
        id=held.id,
        kind=kind,
        words=held.words,
        source=held.source,
        basis=held.basis,
        checked=held.checked,
        held=held,
        places=(held.control_point,) if held.control_point else (),
        note=held.note,
    )


def _of_interval(interval: Interval) -> Entry:
    return Entry(
        id=interval.id,
        kind=INTERVAL,
        words=interval.words,
        source=interval.source,
        basis=interval.basis,
        checked=interval.checked,
        held=interval,
        reason=interval.reason,
    )


def _place_in_list(entry: Entry) -> tuple[int, str]:
    return STANDINGS.index(entry.source.standing), entry.source.id
