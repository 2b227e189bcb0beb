"""What a check of the record says: what it found, or why it could not look."""

from dataclasses import dataclass
from datetime import datetime
from enum import Enum


class Severity(Enum):
    """How much a fault of the record matters, gravest first."""

    UNSAFE = "unsafe"
    RULE = "rule"
    ASKED = "asked"
    HINT = "hint"

    @property
    def words(self) -> str:
        """Return what the severity means, for people."""
        return _WORDS[self]


_WORDS = {
    Severity.UNSAFE: "product may be unsafe",
    Severity.RULE: "the text of a rule is broken",
    Severity.ASKED: "likely to be asked about",
    Severity.HINT: "worth a look",
}
_RANK = {severity: rank for rank, severity in enumerate(Severity)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """One fault of a record: where and what, what to do, and who asks for it.

    ``entries`` name the entries by their instants and values; ``at`` is the instant
    of the first of them. It judges the record and never the food: no finding of a
    limit depends on it.
    """

    check: str
    title: str
    severity: Severity
    sentence: str
    remedy: str
    source: str
    entries: tuple[str, ...] = ()
    at: datetime | None = None


@dataclass(frozen=True, slots=True)
class CannotSay:
    """That a check found nothing to go by, and what was missing."""

    because: str


@dataclass(frozen=True, slots=True)
class NotRun:
    """A check that could not be run on a record, and why: missing is not fine."""

    check: str
    title: str
    because: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Audit:
    """All that the checks say of one record: found, ran, and could not be run."""

    found: tuple[Found, ...] = ()
    ran: tuple[str, ...] = ()
    not_run: tuple[NotRun, ...] = ()

    @property
    def is_clean(self) -> bool:
        """Say whether nothing was found; what could not be run says nothing."""
        return not self.found

    @property
    def reasons(self) -> tuple[tuple[str, int], ...]:
        """Return why checks could not be run, each reason with their number."""
        counts: dict[str, int] = {}
        for each in self.not_run:
            counts[each.because] = counts.get(each.because, 0) + 1
        return tuple(sorted(counts.items(), key=lambda pair: (-pair[1], pair[0])))


def in_order(found: list[Found]) -> tuple[Found, ...]:
    """Return what was found, the gravest first, then by check and instant."""
    return tuple(
        sorted(
            found,
            key=lambda each: (
                _RANK[each.severity],
                each.check,
                each.at.timestamp() if each.at is not None else 0.0,
                each.sentence,
            ),
        )
    )
