"""Published limits from their data files; refuses whatever is unclear.

One TOML file holds one publication: a ``[source]`` head that every entry shares, then
``[[limit]]`` entries with the keys of the open batch format beside those that say where
the figure comes from. ``[[interval]]`` and ``[[default]]`` hold our own
monitoring intervals and instrument tolerances; ``[[figure]]`` and ``[[table]]`` what is
printed, but no limit judges. An entry may say the ``same_as`` another in place of its
figures, and a combination may take the ``rows_of`` a table as its members.
"""

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any

from safety.errors import LimitFileError, Refused
from safety.limits import copies, editions, entries, printed_entries
from safety.limits.editions import Editions
from safety.limits.entries import Interval
from safety.limits.model import Limit, Published
from safety.limits.parse import parse_limit
from safety.limits.printed import Figure, Table
from safety.limits.reader import FileReader, Publication

_TABLES = ("source", "limit", "interval", "default", "figure", "table")


@dataclass(frozen=True, slots=True, kw_only=True)
class Default:
    """A figure that stands where nothing else is said: a tolerance, a number of days."""

    value: Decimal
    unit: str
    published: Published


@dataclass(frozen=True, slots=True, kw_only=True)
class Catalogue:
    """Everything that the data files hold, by id."""

    publications: dict[str, Publication] = field(default_factory=dict)
    limits: dict[str, Published] = field(default_factory=dict)
    intervals: dict[str, Interval] = field(default_factory=dict)
    interval_of: dict[str, Interval] = field(default_factory=dict)
    defaults: dict[str, Default] = field(default_factory=dict)
    figures: dict[str, Figure] = field(default_factory=dict)
    tables: dict[str, Table] = field(default_factory=dict)
    editions: Editions = field(default_factory=Editions)


@cache
def catalogue() -> Catalogue:
    """Return what the product's own data files hold, read once."""
    return load(files("safety.limits").joinpath("data"))


def load(folder: Traversable) -> Catalogue:
    """Return what all the ``.toml`` files of ``folder`` hold.

    Raises
    ------
    LimitFileError
        If a file is wrong in any way; nothing is skipped.
    """
    found = Catalogue()
    readers = [
        _open(path)
        for path in sorted(folder.iterdir(), key=lambda path: path.name)
        if path.name.endswith(".toml")
    ]
    for reader in readers:
        _add(found.publications, reader.publication.id, reader.publication, reader)
        for entry, table in reader.tables("interval"):
            interval = entries.interval(reader, entry, table)
            _add(found.intervals, interval.id, interval, reader)
        _add_printed(found, reader)
    known = copies.raw_limits(readers)
    for reader in readers:
        _add_limits(found, reader, known)
        _add_defaults(found, reader)
    entries.check_replaced(found.limits, readers)
    return replace(found, editions=editions.compare(found.publications, found.limits))


def _open(path: Traversable) -> FileReader:
    try:
        document = tomllib.loads(path.read_text("utf-8"), parse_float=Decimal)
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise LimitFileError(
            path.name, "the file", f"is not TOML: {error}.", "Correct that line."
        ) from error
    for table in document:
        if table not in _TABLES:
            raise LimitFileError(
                path.name,
                f"table '{table}'",
                "is unknown.",
                f"Allowed are {', '.join(_TABLES)}.",
            )
    return FileReader(path.name, document)


def _add(
    shelf: dict[str, Any],
    key: str,
    value: object,
    reader: FileReader,
    others: Iterable[Mapping[str, Any]] = (),
) -> None:
    if any(key in one for one in (shelf, *others)):
        raise LimitFileError(
            reader.file,
            f"'{key}'",
            "is used twice.",
            "An id is given once, in all files together, and kept for ever.",
        )
    shelf[key] = value


def _add_limits(
    found: Catalogue, reader: FileReader, known: Mapping[str, copies.Raw]
) -> None:
    for entry, raw in reader.tables("limit"):
        table = copies.whole(copies.Raw(reader, entry, raw), known)
        table = copies.with_rows(reader, entry, table, found.tables)
        interval, numbers = _with_interval(reader, entry, table, found.intervals)
        limit = _limit(reader, entry, numbers)
        entries.check_printed_pairs(reader, entry, limit)
        published = entries.published(reader, entry, table, limit, interval)
        _add(found.limits, limit.id, published, reader, (found.figures, found.tables))
        if interval is not None:
            found.interval_of[limit.id] = interval


def _limit(reader: FileReader, entry: str, numbers: Mapping[str, Any]) -> Limit:
    try:
        return parse_limit(numbers, pointer="", top=True)
    except Refused as refused:
        allowed = refused.allowed
        if refused.found.startswith("unknown key") and refused.pointer.count("/") == 1:
            allowed = ", ".join((allowed, *entries.CITATION_KEYS))
        raise LimitFileError(
            reader.file,
            entry,
            f"{refused.pointer or 'the entry'} holds {refused.found}.",
            f"Allowed is {allowed}.",
        ) from refused


def _with_interval(
    reader: FileReader,
    entry: str,
    table: Mapping[str, Any],
    intervals: Mapping[str, Interval],
) -> tuple[Interval | None, Mapping[str, Any]]:
    """Return the interval that an entry names, and its numbers with it filled in."""
    numbers = {k: v for k, v in table.items() if k not in entries.CITATION_KEYS}
    name = table.get("interval")
    if name is not None and name not in intervals:
        raise LimitFileError(
            reader.file,
            entry,
            f"names the interval {name!r}, which no file gives.",
            f"Use {', '.join(sorted(intervals)) or 'one that a file gives'}.",
        )
    interval = None if name is None else intervals[name]
    filled = _fill(numbers, interval)
    if interval is not None and (_uses(numbers) or not _uses(filled)):
        raise LimitFileError(
            reader.file,
            entry,
            "names an interval, but "
            + (
                "gives minutes too." if _uses(numbers) else "watches nothing over time."
            ),
            "Take one of the two out.",
        )
    return interval, filled


def _fill(numbers: Mapping[str, Any], interval: Interval | None) -> dict[str, Any]:
    """Fill in what TOML cannot say (no upper end) and the interval, to any depth."""
    filled = dict(numbers)
    if interval is not None and entries.is_monitored(filled.get("kind")):
        filled.setdefault("check_every_min", interval.check_every_min)
    if isinstance(filled.get("bands"), list):
        filled["bands"] = [
            {"up_to": None, **band} if isinstance(band, Mapping) else band
            for band in filled["bands"]
        ]
    if isinstance(filled.get("limits"), list):
        filled["limits"] = [
            _fill(member, interval) if isinstance(member, Mapping) else member
            for member in filled["limits"]
        ]
    return filled


def _uses(filled: Mapping[str, Any]) -> bool:
    members: Iterable[Any] = filled.get("limits") or ()
    return "check_every_min" in filled or any(
        _uses(member) for member in members if isinstance(member, Mapping)
    )


def _add_defaults(found: Catalogue, reader: FileReader) -> None:
    for entry, table in reader.tables("default"):
        limit, value, unit, purpose = entries.default(reader, entry, table)
        published = entries.published(reader, entry, table, limit, None)
        default = Default(value=value, unit=unit, published=published)
        _add(found.defaults, purpose, default, reader)


def _add_printed(found: Catalogue, reader: FileReader) -> None:
    for entry, raw in reader.tables("figure"):
        figure = printed_entries.figure(reader, entry, raw)
        _add(found.figures, figure.id, figure, reader)
    for entry, raw in reader.tables("table"):
        table = printed_entries.table(reader, entry, raw)
        _add(found.tables, table.id, table, reader, (found.figures,))


def dates_hold(published: Published, on: date | None) -> bool:
    """Say whether the figure was in force on that day; without a day it is."""
    if on is None:
        return True
    begun = published.since is None or published.since <= on
    return begun and (published.until is None or on < published.until)
