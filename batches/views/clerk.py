"""Rows of the record in words, as one reader finds them: late, replaced, new, their own."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from batches.lookups import Rows
from batches.lookups.reviews import Read
from batches.models import Batch, Member
from batches.models.entry import LATE_AFTER


@dataclass(frozen=True, slots=True)
class Written:
    """One row of the record: what it says, by whom, and what became of it."""

    at: datetime
    text: str
    by: str
    recorded_at: datetime
    is_late: bool
    is_replaced: bool
    fate: str
    is_new: bool
    is_own: bool


class Clerk:
    """Puts rows into words for one reader."""

    def __init__(self, member: Member, read: Read) -> None:
        self.member = member
        self.covers = read.reviews[-1].covers if read.reviews else None

    def row(self, kind: str, row: Any, rows: Rows[Any], text: str) -> Written:
        """Return a row in words, with its fate."""
        correction = rows.correction_of(row)
        claimed = getattr(row, "claimed_at", None)
        shown = getattr(row, "occurred_at", None) or getattr(row, "occurs_at", None)
        newest = None if self.covers is None else self.covers.get(kind, 0)
        return Written(
            at=claimed or shown or row.recorded_at,
            text=text,
            by=getattr(row, "by_whom", row.by.initials),
            recorded_at=row.recorded_at,
            is_late=bool(getattr(row, "is_late", False)),
            is_replaced=correction is not None,
            fate=_fate(row, correction),
            is_new=newest is None or row.pk > newest,
            is_own=row.by_id == self.member.pk and kind != "remark",
        )

    def told(self, kind: str, row: Any, text: str, at: datetime) -> Written:
        """Return in words a row of a kind that is never corrected."""
        newest = None if self.covers is None else self.covers.get(kind, 0)
        return Written(
            at=at,
            text=text,
            by=row.by.initials,
            recorded_at=row.recorded_at,
            is_late=row.recorded_at - at > LATE_AFTER,
            is_replaced=False,
            fate="",
            is_new=newest is None or row.pk > newest,
            is_own=row.by_id == self.member.pk,
        )

    def begun(self, batch: Batch) -> Written:
        """Return that a batch was begun."""
        return Written(
            at=batch.started_at,
            text="Batch begun",
            by=batch.by.initials,
            recorded_at=batch.recorded_at,
            is_late=batch.recorded_at - batch.started_at > LATE_AFTER,
            is_replaced=False,
            fate="",
            is_new=self.covers is None,
            is_own=batch.by_id == self.member.pk,
        )


def _fate(row: Any, correction: Any) -> str:
    words = []
    if row.corrects_id is not None:
        words.append(f"A correction. Reason: {row.reason.rstrip('.')}.")
    if correction is not None:
        verb = "Taken back" if correction.withdrawn else "Corrected"
        words.append(
            f"{verb} by {correction.by.initials}: {correction.reason.rstrip('.')}."
        )
    return " ".join(words)


def in_order(rows: Iterable[Written]) -> tuple[Written, ...]:
    """Return rows as they happened."""
    return tuple(sorted(rows, key=lambda row: (row.at, row.recorded_at)))
