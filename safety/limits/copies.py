"""Entries that repeat another instead of its figures: a copy, or the rows of a table."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import ROUND_DOWN, Decimal
from typing import Any

from safety.limits.printed import DURATION, NUMBER, Cell, Duration, Table
from safety.limits.reader import FileReader

SAME_AS, ROWS_OF = "same_as", "rows_of"

# What a copy never takes over: each entry has its own name and its own days.
_OWN = ("id", "since", "until", "replaces", "note")
# What a copy in another publication must say for itself.
_OWN_CITATION = ("section", "basis", "checked")
_NOT_IN_MEMBERS = (
    "control_point", "section", "words", "reason", "basis", "checked", "applies_when",
    "programmes", "continuous_recorder", "interval",
)  # fmt: skip
_FINEST_MIN = Decimal("1e-10")
_ROWS_KEYS = ("table", "kind", "quantity", "value", "minutes")


@dataclass(frozen=True, slots=True)
class Raw:
    """One entry as its file has it."""

    reader: FileReader
    entry: str
    table: Mapping[str, Any]


def raw_limits(readers: list[FileReader]) -> dict[str, Raw]:
    """Return every limit's entry by its id; ids used twice are refused later."""
    return {
        table["id"]: Raw(reader, entry, table)
        for reader in readers
        for entry, table in reader.tables("limit")
        if isinstance(table.get("id"), str)
    }


def whole(
    raw: Raw, known: Mapping[str, Raw], passed: tuple[str, ...] = ()
) -> dict[str, Any]:
    """Return an entry with everything that it takes from another.

    Raises
    ------
    LimitFileError
        If it names an entry that does not exist, or itself by a way round.
    """
    table = dict(raw.table)
    if SAME_AS in table:
        original = _original(raw, table[SAME_AS], known, passed)
        left_out = _OWN if original.reader is raw.reader else (*_OWN, *_OWN_CITATION)
        taken = whole(original, known, (*passed, table[SAME_AS]))
        table = {**{k: v for k, v in taken.items() if k not in left_out}, **table}
    if isinstance(table.get("limits"), list):
        table["limits"] = [
            _member(raw, member, known, passed) for member in table["limits"]
        ]
    return table


def _member(
    raw: Raw, member: Any, known: Mapping[str, Raw], passed: tuple[str, ...]
) -> Any:
    if not isinstance(member, Mapping):
        return member
    found = dict(member)
    if SAME_AS in found:
        name = found.pop(SAME_AS)
        original = _original(raw, name, known, passed)
        taken = whole(original, known, (*passed, name))
        left_out = (*_OWN, *_NOT_IN_MEMBERS, SAME_AS)
        found = {**{k: v for k, v in taken.items() if k not in left_out}, **found}
    if isinstance(found.get("limits"), list):
        found["limits"] = [_member(raw, m, known, passed) for m in found["limits"]]
    return found


def _original(
    raw: Raw, name: object, known: Mapping[str, Raw], passed: tuple[str, ...]
) -> Raw:
    original = known.get(name) if isinstance(name, str) else None
    if original is None:
        raise raw.reader.refuse(
            raw.entry,
            f"says the same as {name!r}, which no file gives.",
            "Name the id of the entry that holds the figures.",
        )
    if name in passed or original.entry == raw.entry:
        raise raw.reader.refuse(
            raw.entry,
            f"says the same as '{name}', which says the same as it.",
            "One of them must hold the figures.",
        )
    return original


def with_rows(
    reader: FileReader,
    entry: str,
    numbers: Mapping[str, Any],
    tables: Mapping[str, Table],
) -> dict[str, Any]:
    """Return a limit's numbers with the rows of the table that it names as members.

    Raises
    ------
    LimitFileError
        If the table, or one of its columns, does not exist or holds no number.
    """
    filled = dict(numbers)
    rows_of = filled.pop(ROWS_OF, None)
    if rows_of is None:
        return filled
    if not isinstance(rows_of, Mapping):
        raise reader.refuse(
            entry, f"has {ROWS_OF} = {rows_of!r}.", "Name a table and its columns."
        )
    reader.only(entry, rows_of, _ROWS_KEYS)
    asked = {key: reader.text(entry, rows_of, key) for key in _ROWS_KEYS}
    table = tables.get(asked["table"])
    if table is None:
        raise reader.refuse(
            entry,
            f"takes the rows of {asked['table']!r}, which no file gives.",
            "Name the id of a [[table]].",
        )
    filled["limits"] = [*filled.get("limits", ()), *_rows(reader, entry, asked, table)]
    return filled


def _rows(
    reader: FileReader, entry: str, asked: Mapping[str, str], table: Table
) -> Iterator[dict[str, Any]]:
    for key, holds in (("value", (NUMBER,)), ("minutes", (NUMBER, DURATION))):
        column = asked[key]
        if column not in table.by_name or table.by_name[column].holds not in holds:
            raise reader.refuse(
                entry,
                f"takes the column {column!r} of '{table.id}'.",
                f"Use a column with numbers: {', '.join(table.by_name)}.",
            )
    unit = table.by_name[asked["value"]].unit
    for row in table.rows:
        value, minutes = row[asked["value"]], _minutes(row[asked["minutes"]])
        if isinstance(value, Decimal) and isinstance(minutes, Decimal):
            yield {
                "id": f"{value}-{unit.removeprefix('deg')}",
                "kind": asked["kind"],
                "quantity": asked["quantity"],
                "value": value,
                "unit": unit,
                "minutes": minutes,
            }


def _minutes(cell: Cell) -> Decimal | None:
    """Return a cell as minutes; seconds that make no whole decimal lose under 10 ns.

    Instants are whole microseconds, so what is lost never decides.
    """
    if isinstance(cell, Duration):
        return cell.minutes.quantize(_FINEST_MIN, ROUND_DOWN)
    return cell if isinstance(cell, Decimal) else None
