"""One data file of processes or hazards: its tables, and refusals that name the place."""

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from importlib.resources.abc import Traversable
from typing import Any

from safety.errors import DataError, InputError, UnknownName
from safety.facts import FACTS, fact
from safety.limits import sources
from safety.limits.model import Source
from safety.processes.model import Monitoring

_MONITORING = ("what", "how", "how_often", "who", "record", "verification")
_CITATION = ("publication", "section")


class DataFile:
    """One TOML file that refuses whatever is unclear in it."""

    error: type[DataError] = DataError

    def __init__(self, path: Traversable) -> None:
        self.name = path.name
        try:
            self.document = tomllib.loads(path.read_text("utf-8"))
        except tomllib.TOMLDecodeError as error:
            raise self.refuse(
                "the file", f"is not TOML: {error}.", "Correct that line."
            ) from error

    def refuse(self, entry: str, problem: str, remedy: str) -> DataError:
        """Return the error for one entry of this file."""
        return self.error(self.name, entry, problem, remedy)

    def only(
        self, entry: str, table: Mapping[str, Any], allowed: Sequence[str]
    ) -> None:
        """Refuse a key that has no meaning here.

        Raises
        ------
        DataError
            If there is such a key.
        """
        for key in table:
            if key not in allowed:
                raise self.refuse(
                    entry,
                    f"has the unknown key '{key}'.",
                    f"Allowed are {', '.join(allowed)}.",
                )

    def text(self, entry: str, table: Mapping[str, Any], key: str) -> str:
        """Return a text that must be there and say something.

        Raises
        ------
        DataError
            If it is absent, empty, or no text.
        """
        value = table.get(key)
        if not isinstance(value, str) or not value.strip():
            raise self.refuse(
                entry,
                f"has {key} = {value!r}.",
                "It must be a text that says something.",
            )
        return value

    def optional(self, entry: str, table: Mapping[str, Any], key: str) -> str:
        """Return a text that may be absent, but not empty."""
        return self.text(entry, table, key) if key in table else ""

    def texts(self, entry: str, table: Mapping[str, Any], key: str) -> tuple[str, ...]:
        """Return a list of texts; absent is none.

        Raises
        ------
        DataError
            If it is no list of texts that say something.
        """
        values = table.get(key, [])
        if not isinstance(values, list) or not all(
            isinstance(value, str) and value.strip() for value in values
        ):
            raise self.refuse(
                entry, f"has {key} = {values!r}.", "Write a list of texts."
            )
        return tuple(values)

    def tables(
        self, entry: str, table: Mapping[str, Any], key: str
    ) -> list[Mapping[str, Any]]:
        """Return a list of tables; absent is none.

        Raises
        ------
        DataError
            If it is no list of tables.
        """
        rows = table.get(key, [])
        if not isinstance(rows, list) or not all(
            isinstance(row, Mapping) for row in rows
        ):
            raise self.refuse(
                entry, f"has {key} that is no list of tables.", f"Write [[…{key}]]."
            )
        return rows

    def names(
        self, entry: str, table: Mapping[str, Any], key: str, allowed: Sequence[str]
    ) -> tuple[str, ...]:
        """Return a list of names, each of them allowed."""
        names = self.texts(entry, table, key)
        for name in names:
            self.one_of(entry, key, name, allowed)
        return names

    def one_of(self, entry: str, key: str, name: str, allowed: Sequence[str]) -> None:
        """Refuse a name that is not in a closed list.

        Raises
        ------
        DataError
            If it is not.
        """
        if name not in allowed:
            raise self.refuse(
                entry, f"has {key} = {name!r}.", f"Allowed are {', '.join(allowed)}."
            )

    def known_fact(self, entry: str, name: str, value: object) -> None:
        """Refuse a fact, or a value of it, that does not exist.

        Raises
        ------
        DataError
            If there is no such fact or value.
        """
        try:
            fact(name).check(str(value))
        except (UnknownName, InputError) as error:
            raise self.refuse(
                entry, str(error), f"Facts are {', '.join(FACTS)}."
            ) from error

    def condition(
        self, entry: str, table: Mapping[str, Any]
    ) -> dict[str, tuple[str, ...]]:
        """Return the facts of ``when``, each with the values that satisfy it.

        Raises
        ------
        DataError
            If a fact or a value does not exist, or a list is empty.
        """
        when = table.get("when", {})
        for name, values in when.items():
            if not isinstance(values, list) or not values:
                raise self.refuse(
                    entry, f"has when.{name} = {values!r}.", "Write a list of values."
                )
            for value in values:
                self.known_fact(entry, name, value)
        return {name: tuple(values) for name, values in when.items()}

    def monitoring(
        self, control: str, table: Mapping[str, Any]
    ) -> Iterator[Monitoring]:
        """Yield how a control is watched, one row for each thing."""
        for number, row in enumerate(self.tables(control, table, "monitoring"), 1):
            entry = f"{control}, monitoring {number}"
            self.only(entry, row, (*_MONITORING, *_CITATION))
            texts = {key: self.text(entry, row, key) for key in _MONITORING}
            yield Monitoring(**texts, source=self.source(entry, row))

    def source(self, entry: str, table: Mapping[str, Any]) -> Source:
        """Return the section of a publication that the entry names."""
        known = {publication.id: publication for publication in sources()}
        identity = self.text(entry, table, "publication")
        self.one_of(entry, "publication", identity, tuple(known))
        return known[identity].at(self.text(entry, table, "section"))
