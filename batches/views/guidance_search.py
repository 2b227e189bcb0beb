"""Finding entries of the guidance: by words, and by standing, jurisdiction and step."""

import re
from collections.abc import Iterable, Iterator, Mapping
from functools import cache

from safety.controls import CONTROL_POINTS
from safety.facts import FACTS
from safety.judge.listing import Entry, cell_words, listing
from safety.limits.model import Published
from safety.limits.printed import Table
from safety.limits.reader import ANY_JURISDICTION, STANDINGS

NO_STEP = "none"
FILTERS = ("standing", "jurisdiction", "step")
_DEGREE = re.compile(r"\s*°\s*")


@cache
def entries() -> dict[str, Entry]:
    """Return every entry by its id, in the order of the list."""
    return {entry.id: entry for entry in listing()}


@cache
def known_filters() -> dict[str, dict[str, str]]:
    """Return what each filter can be, with its words, in an order that people know."""
    found = {
        name: {value for entry in entries().values() for value in _values(entry, name)}
        for name in FILTERS
    }
    places = sorted(found["jurisdiction"], key=lambda code: (code.islower(), code))
    steps = {name: point.title for name, point in CONTROL_POINTS.items()}
    steps[NO_STEP] = "no step named"
    return {
        "standing": {name: name for name in STANDINGS if name in found["standing"]},
        "jurisdiction": {code: jurisdiction_words(code) for code in places},
        "step": {k: words for k, words in steps.items() if k in found["step"]},
    }


def jurisdiction_words(code: str) -> str:
    """Return a code as people read it."""
    return "everywhere" if code == ANY_JURISDICTION else code


def found(wanted: Mapping[str, str]) -> list[Entry]:
    """Return the entries that have all the words and pass all the filters."""
    return [entry for entry in _with_words(wanted) if _passes(entry, wanted, FILTERS)]


def counts(wanted: Mapping[str, str]) -> dict[str, dict[str, int]]:
    """Return how many entries each choice of a filter would leave.

    Those of one filter are counted with the words and the other filters as they are;
    under the empty name stands the number without this filter.
    """
    worded = list(_with_words(wanted))
    counted: dict[str, dict[str, int]] = {}
    for name, values in known_filters().items():
        others = [other for other in FILTERS if other != name]
        left = [entry for entry in worded if _passes(entry, wanted, others)]
        counted[name] = {"": len(left)} | {
            value: sum(value in _values(entry, name) for entry in left)
            for value in values
        }
    return counted


def _with_words(wanted: Mapping[str, str]) -> Iterator[Entry]:
    words = _plain(wanted.get("q", "")).split()
    for identity, text in _texts().items():
        if all(word in text for word in words):
            yield entries()[identity]


def _passes(entry: Entry, wanted: Mapping[str, str], names: Iterable[str]) -> bool:
    return all(
        wanted[name] in _values(entry, name) for name in names if wanted.get(name)
    )


def _values(entry: Entry, name: str) -> tuple[str, ...]:
    if name == "standing":
        return (entry.source.standing,)
    if name == "jurisdiction":
        return (entry.source.jurisdiction,)
    return entry.places or (NO_STEP,)


@cache
def _texts() -> dict[str, str]:
    """Return all that an entry says, ready to be searched, by its id."""
    return {
        identity: _plain(" ".join(_said(entry)))
        for identity, entry in entries().items()
    }


def _plain(text: str) -> str:
    """Return a text as it is compared: in small letters, without degree signs."""
    return _DEGREE.sub("", text.casefold())


def _said(entry: Entry) -> Iterator[str]:
    source = entry.source
    yield from (entry.id, entry.kind, entry.words, entry.reason, entry.note)
    yield from (source.cite(), source.standing, source.jurisdiction)
    yield from (CONTROL_POINTS[place].title for place in entry.places)
    if entry.compared is not None:
        yield from entry.compared.lines()
    yield from entry.figures
    match entry.held:
        case Published():
            for name, values in entry.held.applies_when.items():
                yield from (FACTS[name].title, *values)
        case Table():
            yield from (column.title for column in entry.held.columns)
            for row in entry.held.rows:
                yield from (cell_words(cell) for cell in row.values())
