"""The entries of a data file read one by one: who says it, where, why, how we know it."""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from safety.errors import InputError, UnknownName
from safety.facts import fact
from safety.limits.copies import ROWS_OF, SAME_AS
from safety.limits.model import (
    Combination,
    CoolLimit,
    Limit,
    Published,
    Source,
    ValueLimit,
)
from safety.limits.reader import FileReader, check_id
from safety.quantities import INSTRUMENT_KINDS, units_of_instrument
from safety.units import UNITS, convert

DEFAULT_DAYS = "check-every-days"

# A publication rounds its second figure; further apart than this one of the two is a
# slip of the typist.
PRINTED_APART = Fraction(6, 10)

_REQUIRED_TEXT = ("section", "words", "reason", "basis")
_MONITORED = ("dwell_", "stay_", "exposure_")
_SHARED = (*_REQUIRED_TEXT, "checked")
CITATION_KEYS = (
    *_SHARED, "applies_when", "programmes", "continuous_recorder", "interval", "since",
    "until", "replaces", "note", SAME_AS, ROWS_OF,
)  # fmt: skip
_INTERVAL_KEYS = (
    "id", "check_every_min", "check_every_ceiling_min", "cannot_show", *_SHARED,
)  # fmt: skip
_DEFAULT_KEYS = ("id", "for", "value", "unit", *_SHARED)

_BASIS = re.compile(r"seen [1-9][0-9]*|memory|derived|own")


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """How far apart readings may be, and how far a plan may widen that."""

    id: str
    check_every_min: Decimal
    ceiling_min: Decimal
    words: str
    cannot_show: str
    reason: str
    basis: str
    checked: date
    source: Source


def is_monitored(kind: object) -> bool:
    """Say whether limits of this kind ask how far apart readings may be."""
    return isinstance(kind, str) and kind.startswith(_MONITORED)


def published(
    reader: FileReader,
    entry: str,
    table: Mapping[str, Any],
    limit: Limit,
    interval: Interval | None,
) -> Published:
    """Return a limit with all that a reader may ask of it.

    Raises
    ------
    LimitFileError
        If the citation, the condition or the basis is missing or wrong.
    """
    check_id(reader, entry, limit.id)
    reader.check_own(entry, limit.id)
    texts = {key: reader.text(entry, table, key) for key in _REQUIRED_TEXT}
    programmes = _programmes(reader, entry, table)
    check_basis(reader, entry, texts["basis"], programmes)
    recorder = table.get("continuous_recorder", False)
    if not isinstance(recorder, bool):
        raise reader.refuse(
            entry, f"has continuous_recorder = {recorder!r}.", "Write true or false."
        )
    note, replaces = (
        reader.text(entry, table, key) if key in table else ""
        for key in ("note", "replaces")
    )
    since, until = (
        reader.day(entry, table, key) if key in table else None
        for key in ("since", "until")
    )
    return Published(
        limit=limit,
        source=reader.publication.at(texts["section"]),
        words=texts["words"],
        reason=texts["reason"],
        basis=texts["basis"],
        checked=reader.day(entry, table, "checked"),
        applies_when=_condition(reader, entry, table),
        programmes=programmes,
        continuous_recorder=recorder,
        interval_basis=""
        if interval is None
        else f"{interval.basis}: {interval.words}",
        since=since,
        until=until,
        replaces=replaces,
        same_as=table.get(SAME_AS, ""),
        chosen_by=reader.publication.chosen_by,
        note=note,
    )


def check_basis(
    reader: FileReader, entry: str, basis: str, programmes: tuple[str, ...]
) -> None:
    """Refuse a basis that is none, or one that is too weak for a limit that governs.

    Raises
    ------
    LimitFileError
        If it is so.
    """
    if not _BASIS.fullmatch(basis):
        raise reader.refuse(
            entry,
            f"has basis = {basis!r}.",
            "Allowed are seen and in how many places (seen 1), memory, derived, own.",
        )
    if basis == "memory" and programmes:
        raise reader.refuse(
            entry,
            "is known from memory only, but governs.",
            "Find the text, or leave programmes empty: it is then a comparison.",
        )


def _programmes(
    reader: FileReader, entry: str, table: Mapping[str, Any]
) -> tuple[str, ...]:
    return _values(reader, entry, "programme", table.get("programmes", []))


def _condition(
    reader: FileReader, entry: str, table: Mapping[str, Any]
) -> dict[str, tuple[str, ...]]:
    condition = table.get("applies_when", {})
    if not isinstance(condition, Mapping):
        raise reader.refuse(
            entry, f"has applies_when = {condition!r}.", "Write facts and their values."
        )
    deciding = {"programme", "jurisdiction"} & set(condition)
    if deciding:
        raise reader.refuse(
            entry,
            f"names {', '.join(sorted(deciding))} in applies_when.",
            "These decide which limits govern: use `programmes` and the head.",
        )
    return {
        name: _values(reader, entry, name, values, least=1)
        for name, values in condition.items()
    }


def _values(
    reader: FileReader, entry: str, name: str, values: object, least: int = 0
) -> tuple[str, ...]:
    if not isinstance(values, list) or len(values) < least:
        raise reader.refuse(
            entry, f"has {name} = {values!r}.", "Write a list of values."
        )
    _check_facts(reader, entry, ((name, value) for value in values))
    return tuple(values)


def _check_facts(
    reader: FileReader, entry: str, pairs: Iterable[tuple[str, Any]]
) -> None:
    for name, value in pairs:
        try:
            fact(name).check(value if isinstance(value, str) else repr(value))
        except (UnknownName, InputError) as error:
            raise reader.refuse(
                entry, str(error), "Write it as the closed list of facts has it."
            ) from error


def check_printed_pairs(reader: FileReader, entry: str, limit: Limit) -> None:
    """Refuse two printed figures that cannot be the same temperature or length.

    Raises
    ------
    LimitFileError
        If they are further apart than rounding explains.
    """
    if isinstance(limit, Combination):
        for member in limit.limits:
            check_printed_pairs(reader, entry, member)
    for value, unit, also, other in _printed_pairs(limit):
        check_printed(reader, entry, value, unit, also, other)


def check_printed(
    reader: FileReader,
    entry: str,
    value: Decimal,
    unit: str,
    also: Decimal,
    other: str,
) -> None:
    """Refuse a second printed figure that cannot be the first in another unit.

    Raises
    ------
    LimitFileError
        If they are further apart than rounding explains.
    """
    if unit not in UNITS or other not in UNITS:
        return
    exact = convert(value, unit, other)
    if abs(exact - Fraction(also)) > PRINTED_APART:
        raise reader.refuse(
            entry,
            f"prints {value} {unit} as {also} {other}, which is {float(exact):.1f}.",
            "Compare both figures with the page.",
        )


def _printed_pairs(limit: Limit) -> Iterator[tuple[Decimal, str, Decimal, str]]:
    if isinstance(limit, ValueLimit):
        for other, also in limit.also.items():
            yield limit.value, limit.unit, also, other
    elif isinstance(limit, CoolLimit):
        for other, (start, end) in limit.also.items():
            yield limit.from_value, limit.unit, start, other
            yield limit.to_value, limit.unit, end, other


def check_replaced(
    limits: Mapping[str, Published], readers: Iterable[FileReader]
) -> None:
    """Refuse an entry that replaces nothing, or one still in force beside it.

    Raises
    ------
    LimitFileError
        If there is such an entry.
    """
    file_of = {reader.publication.id: reader for reader in readers}
    for new in limits.values():
        if not new.replaces:
            continue
        reader, entry = file_of[new.source.id], f"limit '{new.limit.id}'"
        old = limits.get(new.replaces)
        if old is None:
            raise reader.refuse(
                entry,
                f"replaces '{new.replaces}', which no file gives.",
                "The old entry stays in its file, with `until`.",
            )
        if old.until is None or new.since is None or old.until > new.since:
            raise reader.refuse(
                entry,
                f"overlaps '{new.replaces}', which it replaces.",
                "Give the old one `until` and this one `since`, no later than that.",
            )


def interval(reader: FileReader, entry: str, table: Mapping[str, Any]) -> Interval:
    """Return one monitoring interval.

    Raises
    ------
    LimitFileError
        If it is incomplete, or asks for more than its ceiling.
    """
    reader.only(entry, table, _INTERVAL_KEYS)
    reader.day(entry, table, "checked")
    asked = reader.number(entry, table, "check_every_min")
    ceiling = reader.number(entry, table, "check_every_ceiling_min")
    if ceiling < asked:
        raise reader.refuse(
            entry,
            f"has a ceiling of {ceiling} min below its {asked} min.",
            "A plan may widen the interval up to the ceiling.",
        )
    texts = {key: reader.text(entry, table, key) for key in _REQUIRED_TEXT}
    check_basis(reader, entry, texts["basis"], ())
    return Interval(
        id=reader.text(entry, table, "id"),
        check_every_min=asked,
        ceiling_min=ceiling,
        words=texts["words"],
        cannot_show=reader.text(entry, table, "cannot_show"),
        reason=texts["reason"],
        basis=texts["basis"],
        checked=reader.day(entry, table, "checked"),
        source=reader.publication.at(texts["section"]),
    )


def default(
    reader: FileReader, entry: str, table: Mapping[str, Any]
) -> tuple[Limit, Decimal, str, str]:
    """Return what a default stands for: its id as a limit, value, unit and purpose.

    Raises
    ------
    LimitFileError
        If it is for nothing known, or in a unit that cannot measure it.
    """
    reader.only(entry, table, _DEFAULT_KEYS)
    purpose = reader.text(entry, table, "for")
    if purpose not in (*INSTRUMENT_KINDS, DEFAULT_DAYS):
        raise reader.refuse(
            entry,
            f"is for {purpose!r}.",
            f"Allowed are {', '.join((*INSTRUMENT_KINDS, DEFAULT_DAYS))}.",
        )
    unit = reader.text(entry, table, "unit")
    units = ("days",) if purpose == DEFAULT_DAYS else units_of_instrument(purpose)
    if unit not in units:
        raise reader.refuse(
            entry, f"has unit = {unit!r}.", f"Allowed are {', '.join(units)}."
        )
    identity = reader.text(entry, table, "id")
    limit = Limit(id=identity, kind="default", control_point="instrument-check")
    return limit, reader.number(entry, table, "value"), unit, purpose
