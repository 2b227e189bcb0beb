"""The checks of the record from their data file: words, severity, source and figures."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import datetime
from decimal import Decimal
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any

from safety.audit.found import Found, Severity
from safety.audit.parts import Parts
from safety.errors import CheckFileError, UnknownName
from safety.facts import fact
from safety.limits import figure, get
from safety.limits.model import WithinLimit
from safety.limits.reader import ANY_JURISDICTION
from safety.processes.reader import DataFile

OWN = "own check, asked for by nobody"
_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
_BASIS = re.compile(r"seen [1-9][0-9]*|memory|own")
_TABLES = ("check", "publication")
_PUBLICATION = ("id", "publisher", "title", "edition", "jurisdiction")
_CHECK = (
    "id", "title", "severity", "remedy", "basis", "publication", "section",
    "programmes", "needs", "figures", "figures_basis", "printed",
    "false_alarm_pct",
)  # fmt: skip
_PARTS = tuple(each.name for each in fields(Parts))


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One check of the record as its data file describes it.

    ``jurisdiction`` and ``programmes`` are those that its source binds (none named: all);
    ``figures`` are its own; ``printed`` are figures of publications. A check that goes
    by chance states in ``false_alarm_pct`` how many clean records in a hundred it
    fires on at most.
    """

    id: str
    title: str
    severity: Severity
    remedy: str
    basis: str
    source: str
    jurisdiction: str = ANY_JURISDICTION
    programmes: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    figures: Mapping[str, Decimal]
    figures_basis: str = ""
    false_alarm_pct: Decimal | None = None

    def __getitem__(self, name: str) -> Decimal:
        """Return one of its figures.

        Raises
        ------
        UnknownName
            If the check has no figure of that name.
        """
        if name not in self.figures:
            raise UnknownName(f"figure of {self.id}", name, tuple(self.figures))
        return self.figures[name]

    def found(
        self,
        sentence: str,
        *,
        entries: tuple[str, ...] = (),
        at: datetime | None = None,
        severity: Severity | None = None,
    ) -> Found:
        """Return the fault that this check found."""
        return Found(
            check=self.id,
            title=self.title,
            severity=severity or self.severity,
            sentence=sentence,
            remedy=self.remedy,
            source=self.source,
            entries=entries,
            at=at,
        )


@cache
def checks() -> Mapping[str, Check]:
    """Return the checks of the product's own data file by id, read once."""
    return load(files("safety.audit").joinpath("data", "checks.toml"))


def load(path: Traversable) -> Mapping[str, Check]:
    """Return the checks that one file describes.

    Raises
    ------
    CheckFileError
        If it is wrong in any way; nothing is skipped.
    """
    file = _File(path)
    found: dict[str, Check] = {}
    for check in file.checks():
        if check.id in found:
            raise file.refuse(
                f"check '{check.id}'", "stands twice.", "Give each id once."
            )
        found[check.id] = check
    return found


class _File(DataFile):
    """The file of checks and its refusals."""

    error = CheckFileError

    def checks(self) -> list[Check]:
        """Return every check, refusing whatever is unclear."""
        self.only("the file", self.document, _TABLES)
        own = {
            self.text("publication", table, "id"): table
            for table in self.tables("the file", self.document, "publication")
        }
        for name, table in own.items():
            self.only(f"publication '{name}'", table, _PUBLICATION)
            for key in _PUBLICATION:
                self.text(f"publication '{name}'", table, key)
        tables = self.tables("the file", self.document, "check")
        return [self._check(number, table, own) for number, table in enumerate(tables)]

    def _check(
        self, number: int, table: Mapping[str, Any], own: Mapping[str, Any]
    ) -> Check:
        identity = self.text(f"check {number + 1}", table, "id")
        entry = f"check '{identity}'"
        self.only(entry, table, _CHECK)
        if not _ID.fullmatch(identity):
            raise self.refuse(
                entry, "has a bad id.", "Write small letters and figures with hyphens."
            )
        severity = self.text(entry, table, "severity")
        self.one_of(entry, "severity", severity, [each.value for each in Severity])
        basis = self.text(entry, table, "basis")
        if not _BASIS.fullmatch(basis):
            raise self.refuse(
                entry, f"has basis = {basis!r}.", "Write seen n, memory or own."
            )
        source, jurisdiction = self._cited(entry, table, basis, own)
        return Check(
            id=identity,
            title=self.text(entry, table, "title"),
            severity=Severity(severity),
            remedy=self.text(entry, table, "remedy"),
            basis=basis,
            source=source,
            jurisdiction=jurisdiction,
            programmes=self.names(
                entry, table, "programmes", fact("programme").values or ()
            ),
            needs=self.names(entry, table, "needs", _PARTS),
            figures=self._figures(entry, table),
            figures_basis=self.optional(entry, table, "figures_basis"),
            false_alarm_pct=self._share(entry, table),
        )

    def _cited(
        self, entry: str, table: Mapping[str, Any], basis: str, own: Mapping[str, Any]
    ) -> tuple[str, str]:
        """Return the citation of a check and the jurisdiction of its source."""
        if (basis == "own") != ("publication" not in table):
            raise self.refuse(
                entry,
                f"has basis = {basis!r} and names "
                f"{'a' if 'publication' in table else 'no'} publication.",
                "Only an own check names none.",
            )
        if basis == "own":
            return OWN, ANY_JURISDICTION
        section = self.text(entry, table, "section")
        doubt = "; from memory: confirm it" if basis == "memory" else ""
        named = own.get(self.text(entry, table, "publication"))
        if named is None:
            known = self.source(entry, table)
            return known.cite() + doubt, known.jurisdiction
        head = ", ".join(str(named[key]) for key in _PUBLICATION[1:4])
        return f"{head}, {section}{doubt}", str(named["jurisdiction"])

    def _figures(self, entry: str, table: Mapping[str, Any]) -> dict[str, Decimal]:
        figures: dict[str, Decimal] = {}
        for name, value in table.get("figures", {}).items():
            if isinstance(value, bool) or not isinstance(value, int | float):
                raise self.refuse(entry, f"has {name} = {value!r}.", "Write a number.")
            figures[name] = Decimal(str(value))
        if figures and not self.optional(entry, table, "figures_basis"):
            raise self.refuse(
                entry, "has figures without a basis.", "Say in figures_basis whose."
            )
        for name, identity in table.get("printed", {}).items():
            figures[name] = self._printed(entry, identity)
        return figures

    def _printed(self, entry: str, identity: str) -> Decimal:
        try:
            return figure(identity).value
        except UnknownName:
            pass
        try:
            limit = get(identity).limit
        except UnknownName as error:
            raise self.refuse(
                entry, str(error), "Name a printed figure or a limit of days."
            ) from error
        if not isinstance(limit, WithinLimit):
            raise self.refuse(
                entry, f"takes a figure from {identity}.", "Name a limit of days."
            )
        return limit.days

    def _share(self, entry: str, table: Mapping[str, Any]) -> Decimal | None:
        share = table.get("false_alarm_pct")
        if share is None:
            return None
        if isinstance(share, bool) or not isinstance(share, int | float):
            raise self.refuse(
                entry, f"has false_alarm_pct = {share!r}.", "Write a number."
            )
        return Decimal(str(share))
