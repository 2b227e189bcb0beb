"""One data file: its head, its tables, and refusals that name the place."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from safety.errors import InputError, LimitFileError, UnknownName
from safety.facts import fact
from safety.limits.model import Source

STANDINGS = ("law", "rule", "guidance", "standard", "extension", "paper", "own")
ANY_JURISDICTION = "any"

_HEAD_TEXT = ("id", "publisher", "title", "edition", "standing", "jurisdiction")
_ID = re.compile(r"[a-z0-9]+([.-][a-z0-9]+)*")
_JURISDICTION = re.compile(rf"[A-Z]{{2}}(-[A-Z0-9]{{1,3}})?|{ANY_JURISDICTION}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Publication:
    """One publication: what its file says once for all its entries."""

    id: str
    publisher: str
    title: str
    edition: str
    date: date
    standing: str
    jurisdiction: str
    chosen_by: Mapping[str, str] = field(default_factory=dict)

    def at(self, section: str) -> Source:
        """Return the whole citation of one section."""
        return Source(
            id=self.id,
            publisher=self.publisher,
            title=self.title,
            section=section,
            edition=self.edition,
            date=self.date,
            standing=self.standing,
            jurisdiction=self.jurisdiction,
        )


class FileReader:
    """One data file: its head, its tables, and refusals that name the place."""

    def __init__(self, file: str, document: Mapping[str, Any]) -> None:
        self.file = file
        self._document = document
        self.publication = _publication(self, document.get("source"))

    def refuse(self, entry: str, problem: str, remedy: str) -> LimitFileError:
        """Return the error for one entry of this file."""
        return LimitFileError(self.file, entry, problem, remedy)

    def tables(self, kind: str) -> Iterator[tuple[str, Mapping[str, Any]]]:
        """Yield the entries of one kind with the words that name each.

        Yields
        ------
        tuple of str and Mapping
            The words for a refusal, and the table itself.

        Raises
        ------
        LimitFileError
            If the tables are not a list of tables.
        """
        tables = self._document.get(kind, [])
        if not isinstance(tables, list):
            raise self.refuse(
                kind, "is one table.", f"Write it as [[{kind}]], with two brackets."
            )
        for place, table in enumerate(tables, start=1):
            if not isinstance(table, Mapping):
                raise self.refuse(
                    f"{kind} {place}",
                    f"is {table!r}.",
                    f"Write it as [[{kind}]], with two brackets.",
                )
            identity = table.get("id", table.get("name"))
            yield f"{kind} '{identity}'" if identity else f"{kind} {place}", table

    def text(self, entry: str, table: Mapping[str, Any], key: str) -> str:
        """Return a text that must be there and say something.

        Raises
        ------
        LimitFileError
            If it is absent, empty or no text.
        """
        value = table.get(key)
        if value is None:
            raise self.refuse(
                entry, f"lacks '{key}'.", "Every figure carries its whole source."
            )
        if not isinstance(value, str) or not value.strip():
            raise self.refuse(
                entry,
                f"has {key} = {value!r}.",
                "It must be a text that says something.",
            )
        return value

    def day(self, entry: str, table: Mapping[str, Any], key: str) -> date:
        """Return a date that must be there.

        Raises
        ------
        LimitFileError
            If it is absent or no date.
        """
        value = table.get(key)
        if not isinstance(value, date) or isinstance(value, datetime):
            found = f"lacks '{key}'." if value is None else f"has {key} = {value!r}."
            raise self.refuse(
                entry, found, "Write a date as 2026-11-25, without quotes."
            )
        return value

    def only(
        self, entry: str, table: Mapping[str, Any], allowed: Sequence[str]
    ) -> None:
        """Refuse a key that has no meaning here.

        Raises
        ------
        LimitFileError
            If there is such a key.
        """
        for key in table:
            if key not in allowed:
                raise self.refuse(
                    entry,
                    f"has the unknown key '{key}'.",
                    f"Allowed are {', '.join(allowed)}.",
                )

    def finite(self, entry: str, table: Mapping[str, Any], key: str) -> Decimal:
        """Return a number that must be there, as it was written.

        Raises
        ------
        LimitFileError
            If it is absent, or no finite number.
        """
        value = table.get(key)
        if isinstance(value, int | Decimal) and not isinstance(value, bool):
            exact = Decimal(value)
            if exact.is_finite():
                return exact
        raise self.refuse(entry, f"has {key} = {value!r}.", "Write a number.")

    def check_own(self, entry: str, identity: str) -> None:
        """Refuse an id that does not begin with that of its publication.

        Raises
        ------
        LimitFileError
            If it begins otherwise.
        """
        if not identity.startswith(f"{self.publication.id}."):
            raise self.refuse(
                entry,
                f"has the id {identity!r}.",
                f"Begin it with the publication's: {self.publication.id}.",
            )

    def number(self, entry: str, table: Mapping[str, Any], key: str) -> Decimal:
        """Return a number above zero that must be there.

        Raises
        ------
        LimitFileError
            If it is absent, no number, or not above zero.
        """
        value = table.get(key)
        if isinstance(value, int | Decimal) and not isinstance(value, bool):
            exact = Decimal(value)
            if exact.is_finite() and exact > 0:
                return exact
        raise self.refuse(entry, f"has {key} = {value!r}.", "Write a number above 0.")


def _publication(reader: FileReader, head: object) -> Publication:
    if not isinstance(head, Mapping):
        raise reader.refuse(
            "source", "is missing.", "Begin with [source]: who printed these figures?"
        )
    reader.only("source", head, (*_HEAD_TEXT, "date", "chosen_by"))
    texts = {key: reader.text("source", head, key) for key in _HEAD_TEXT}
    if texts["standing"] not in STANDINGS:
        raise reader.refuse(
            "source",
            f"has standing = {texts['standing']!r}.",
            f"Allowed are {', '.join(STANDINGS)}.",
        )
    if not _JURISDICTION.fullmatch(texts["jurisdiction"]):
        raise reader.refuse(
            "source",
            f"has jurisdiction = {texts['jurisdiction']!r}.",
            "Write a code of ISO 3166-2, such as US or US-MI.",
        )
    check_id(reader, "source", texts["id"])
    return Publication(
        **texts,
        date=reader.day("source", head, "date"),
        chosen_by=_chosen_by(reader, head.get("chosen_by", {})),
    )


def _chosen_by(reader: FileReader, chosen: object) -> dict[str, str]:
    """Return the one fact that says whether this edition is in force, if there is one."""
    if not isinstance(chosen, Mapping) or len(chosen) > 1:
        raise reader.refuse(
            "source", f"has chosen_by = {chosen!r}.", "Write one fact and its value."
        )
    for name, value in chosen.items():
        try:
            fact(name).check(value if isinstance(value, str) else repr(value))
        except (UnknownName, InputError) as error:
            raise reader.refuse(
                "source", str(error), "Write it as the closed list of facts has it."
            ) from error
    return dict(chosen)


def check_id(reader: FileReader, entry: str, identity: str) -> None:
    """Refuse an id that cannot stand in an address or a file name.

    Raises
    ------
    LimitFileError
        If it is written otherwise.
    """
    if not _ID.fullmatch(identity):
        raise reader.refuse(
            entry, f"has the id {identity!r}.", "Use a-z, 0-9, points and hyphens."
        )
