"""The records of one week as their reviewer reads them, kind by kind."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from batches.logbook import KINDS
from batches.logsheet import COLUMNS, summary
from batches.lookups import Rows
from batches.lookups.reviews import Read
from batches.models import Member
from batches.packagewords import words
from batches.views.clerk import Clerk, Written, in_order
from batches.views.read import check_text
from batches.views.read_cases import CaseRead, cases_of

CHECKS = "Checks of instruments"
MARKETS = "Days at market"
RECALLS = ("recall-begun", "recall-asked", "recall-ended")
OTHERS = {
    "follow-ups": "What was done since",
    "conditions": "Conditions not looked at",
    "timings": "When conditions are looked at",
}


@dataclass(frozen=True, slots=True)
class PartRead:
    """The rows of one kind under their title."""

    title: str
    rows: tuple[Written, ...]


@dataclass(frozen=True, slots=True)
class WeekRead:
    """Everything of a week: kind by kind, then what was done about lots."""

    parts: tuple[PartRead, ...]
    cases: tuple[CaseRead, ...]

    @property
    def rows(self) -> tuple[Written, ...]:
        """Return all rows."""
        of_kinds = [row for part in self.parts for row in part.rows]
        return (*of_kinds, *(row for case in self.cases for row in case.rows))


def week_of_read(read: Read, member: Member) -> WeekRead:
    """Return the records of one week, each kind in order; kinds without any left out."""
    clerk = Clerk(member, read)
    parts = [
        PartRead(CHECKS, _in_words("check", read, clerk)),
        PartRead(_("Instruments out of use and back"), _uses(read, clerk)),
    ]
    for kind in COLUMNS:
        if kind in read.rows:
            title = KINDS[kind].title if kind in KINDS else OTHERS[kind]
            parts.append(PartRead(title, _in_words(kind, read, clerk)))
    parts.append(PartRead(MARKETS, _in_words("market-day", read, clerk)))
    asked = [
        clerk.told(kind, row, words(row), row.recorded_at)
        for kind in RECALLS
        for row in read.rows[kind]
    ]
    parts.append(PartRead("Recalls and drills", in_order(asked)))
    return WeekRead(
        parts=tuple(part for part in parts if part.rows),
        cases=cases_of(read.rows, clerk, prefix="lot-"),
    )


def _in_words(kind: str, read: Read, clerk: Clerk) -> tuple[Written, ...]:
    rows: Rows[Any] = Rows(read.rows[kind])
    return in_order(
        clerk.row(kind, row, rows, _text(kind, row))
        for row in rows.all
        if not row.withdrawn
    )


def _uses(read: Read, clerk: Clerk) -> tuple[Written, ...]:
    """Return what was taken out of use and put back; none of it is ever corrected."""
    kind = "instrument-use"
    return in_order(
        clerk.told(
            kind, row, f"{row.instrument.code}, {row}: {row.reason}", row.occurred_at
        )
        for row in read.rows[kind]
    )


def _text(kind: str, row: Any) -> str:
    if kind == "check":
        return check_text(row)
    if kind == "market-day":
        return words(row)
    if kind == "sanitation":
        said = [("Round", str(row)), *summary(row)]
    else:
        said = [(title, cell(row)) for title, cell in COLUMNS[kind]]
    if kind == "follow-ups":
        said.insert(0, ("About", str(row.complaint or row.visit)))
    return _joined([*said, ("Note", row.note)])


def _joined(said: Iterable[tuple[str, str]]) -> str:
    return "; ".join(f"{title}: {text.rstrip('.')}" for title, text in said if text)
