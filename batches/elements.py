"""What the rules on tracing ask about food that comes in, from lot_elements.toml."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

FILE = Path(__file__).with_name("lot_elements.toml")


@dataclass(frozen=True, slots=True, kw_only=True)
class Element:
    """One thing to be known, and what of a lot holds it."""

    words: str
    holds: tuple[str, ...]
    any: bool = False

    def is_known(self, values: Mapping[str, Any]) -> bool:
        """Say whether it is known; a blank is not, and half of it is not."""
        known = [values[name] not in {None, ""} for name in self.holds]
        return any(known) if self.any else all(known)


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One set of data, with the rule that asks for it and the ways that it is for."""

    slug: str
    title: str
    ways: tuple[str, ...]
    cited: str
    basis: str
    elements: tuple[Element, ...]

    def missing(self, values: Mapping[str, Any]) -> tuple[Element, ...]:
        """Return what is not known, in the order of the rule."""
        return tuple(each for each in self.elements if not each.is_known(values))


def _read() -> tuple[Event, ...]:
    told = tomllib.loads(FILE.read_text("utf-8"))
    events = []
    for entry in told["event"]:
        source = told[entry["source"]]
        cited = (
            f"{source['publisher']}, {source['title']}, {source['edition']}, "
            f"{entry['section']}"
        )
        elements = tuple(
            Element(**each | {"holds": tuple(each["holds"])})
            for each in entry["element"]
        )
        events.append(
            Event(
                slug=entry["slug"],
                title=entry["title"],
                ways=tuple(entry["ways"]),
                cited=cited,
                basis=entry["basis"],
                elements=elements,
            )
        )
    return tuple(events)


EVENTS = _read()


def events_of(way: str) -> tuple[Event, ...]:
    """Return the sets of data that are for food which came in that way."""
    return tuple(event for event in EVENTS if way in event.ways)
