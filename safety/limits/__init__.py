"""Published limits: what they say, who says it, and which of them govern a product.

Here are figures with their sources and the rules for choosing among them. Judging
records by them is ``safety.judge``; formulas are elsewhere.
"""

from decimal import Decimal

from safety.errors import UnknownName
from safety.limits.entries import DEFAULT_DAYS, Interval
from safety.limits.intervals import interval_of, with_interval
from safety.limits.load import Catalogue, Food, catalogue
from safety.limits.model import Published
from safety.limits.reader import Publication
from safety.limits.select import Selected, consider, questions, select, with_food

__all__ = [
    "Catalogue",
    "Food",
    "Interval",
    "Publication",
    "Published",
    "Selected",
    "all_published",
    "consider",
    "default_check_every_days",
    "default_tolerance",
    "foods",
    "get",
    "interval",
    "interval_of",
    "questions",
    "select",
    "sources",
    "with_food",
    "with_interval",
]


def get(identity: str) -> Published:
    """Return the published limit with that id.

    Raises
    ------
    UnknownName
        If no file gives it.
    """
    limits = catalogue().limits
    if identity not in limits:
        raise UnknownName("limit", identity)
    return limits[identity]


def all_published() -> tuple[Published, ...]:
    """Return every published limit, in the order of the files."""
    return tuple(catalogue().limits.values())


def sources() -> tuple[Publication, ...]:
    """Return every publication that a limit is read from, by id."""
    publications = catalogue().publications
    return tuple(publications[identity] for identity in sorted(publications))


def interval(name: str) -> Interval:
    """Return our own interval with that name: what is asked, and the ceiling.

    Raises
    ------
    UnknownName
        If no file gives it.
    """
    intervals = catalogue().intervals
    if name not in intervals:
        raise UnknownName("interval", name, tuple(intervals))
    return intervals[name]


def foods() -> tuple[Food, ...]:
    """Return every food of which a publication says something, by name."""
    known = catalogue().foods
    return tuple(known[name] for name in sorted(known))


def default_tolerance(measures: str) -> tuple[Decimal, str, Published]:
    """Return how far an instrument of that kind may be out, its unit and the source.

    Raises
    ------
    UnknownName
        If no such instrument has a tolerance.
    """
    defaults = catalogue().defaults
    kinds = tuple(kind for kind in defaults if kind != DEFAULT_DAYS)
    if measures not in kinds:
        raise UnknownName("kind of instrument", measures, kinds)
    default = defaults[measures]
    return default.value, default.unit, default.published


def default_check_every_days() -> int:
    """Return for how many days a check of an instrument serves."""
    return int(catalogue().defaults[DEFAULT_DAYS].value)
