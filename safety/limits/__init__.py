"""Published limits: what they say, who says it, and which of them govern a product.

Here are limits, single figures and tables with their sources, and the rules for choosing
among them. Judging records by them is ``safety.judge``; formulas are elsewhere.
"""

from decimal import Decimal

from safety.errors import UnknownName
from safety.limits.entries import DEFAULT_DAYS, Interval
from safety.limits.intervals import interval_of, with_interval
from safety.limits.load import Catalogue, catalogue
from safety.limits.model import Published
from safety.limits.printed import Column, Figure, Table
from safety.limits.reader import Publication
from safety.limits.select import Selected, consider, questions, select, with_food

__all__ = [
    "Catalogue",
    "Column",
    "Figure",
    "Interval",
    "Publication",
    "Published",
    "Selected",
    "Table",
    "all_published",
    "consider",
    "default_check_every_days",
    "default_tolerance",
    "figure",
    "figures",
    "get",
    "interval",
    "interval_of",
    "questions",
    "select",
    "sources",
    "table",
    "tables",
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


def figure(identity: str) -> Figure:
    """Return the printed figure with that id.

    Raises
    ------
    UnknownName
        If no file gives it.
    """
    known = catalogue().figures
    if identity not in known:
        raise UnknownName("figure", identity)
    return known[identity]


def figures() -> tuple[Figure, ...]:
    """Return every printed figure that no limit judges, in the order of the files."""
    return tuple(catalogue().figures.values())


def table(identity: str) -> Table:
    """Return the printed table with that id.

    Raises
    ------
    UnknownName
        If no file gives it.
    """
    known = catalogue().tables
    if identity not in known:
        raise UnknownName("table", identity)
    return known[identity]


def tables() -> tuple[Table, ...]:
    """Return every printed table, in the order of the files."""
    return tuple(catalogue().tables.values())


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
