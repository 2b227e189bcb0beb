"""Reads: the brine of a batch, and when its fish was lifted out of it."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from batches.lookups.records import BatchRecords, Rows
from batches.models import BrineMix, SoakBreak

BRINED = "curing"


@dataclass(frozen=True, slots=True)
class Brined:
    """The rows about the brine of one batch, with all their versions."""

    mixes: Rows[BrineMix]
    breaks: Rows[SoakBreak]

    @property
    def current(self) -> list[tuple[str, Any]]:
        """Return the rows that count, each with the word of its kind in addresses."""
        mixes = [("brine", row) for row in self.mixes.current]
        return [*mixes, *(("soak-break", row) for row in self.breaks.current)]

    def __iter__(self) -> Iterator[tuple[str, Rows[Any], Any]]:
        """Yield every row that was ever written, with its kind and the rows beside it."""
        for kind, rows in (("brine", self.mixes), ("soak-break", self.breaks)):
            for row in rows.all:
                yield kind, rows, row


def brined_of(records: BatchRecords) -> Brined:
    """Return the rows about the brine; no query where nothing says that it was brined."""
    if not any(mark.step == BRINED for mark in records.marks.all):
        return Brined(Rows(()), Rows(()))
    of = {"batch": records.batch}
    mixes = BrineMix.objects.filter(**of).select_related("by")
    breaks = SoakBreak.objects.filter(**of).select_related("by")
    return Brined(
        Rows(mixes.order_by("occurred_at", "pk")),
        Rows(breaks.order_by("occurred_at", "pk")),
    )
