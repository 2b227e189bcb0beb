"""What the people of the season wrote down, in the order in which they did."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from batches import recording
from batches.models import (
    Batch,
    Instrument,
    LoggerFile,
    Lot,
    Member,
    Premises,
    Producer,
    Product,
)
from batches.recording.trail import one_act

Progress = Callable[[int, int], None]

OWNER = "IF"
REVIEWER = "TM"
UNIT = "degF"

# A person writes down what is seen within a minute: the first entry of an instant
# follows it after 20 s, further ones every 5 s.
FIRST_AFTER = timedelta(seconds=20)
NEXT_AFTER = timedelta(seconds=5)


def written(occurred_at: datetime, order: int = 0) -> datetime:
    """Return when a person who saw it at that instant had written it down."""
    return occurred_at + FIRST_AFTER + order * NEXT_AFTER


@dataclass
class Firm:
    """The rows that later deeds refer to, by the names that the data files use."""

    members: dict[str, Member] = field(default_factory=dict)
    products: dict[str, Product] = field(default_factory=dict)
    instruments: dict[str, Instrument] = field(default_factory=dict)
    lots: dict[str, Lot] = field(default_factory=dict)
    batches: dict[str, Batch] = field(default_factory=dict)
    files: dict[str, LoggerFile] = field(default_factory=dict)
    entries: dict[str, Any] = field(default_factory=dict)
    """Entries that somebody corrects later, by a name of their own."""

    @property
    def owner(self) -> Member:
        """Return the owner, who makes nearly every entry."""
        return self.members[OWNER]

    @property
    def producer(self) -> Producer:
        """Return the producer."""
        return self.owner.producer

    @property
    def premises(self) -> Premises:
        """Return the one place where the firm works."""
        return self.producer.premises.get()


class Diary:
    """Deeds, each with the instant at which it was entered."""

    def __init__(self, firm: Firm) -> None:
        self.firm = firm
        self._deeds: list[tuple[datetime, Callable[..., object], tuple, dict]] = []

    def add(
        self, at: datetime, deed: Callable[..., object], *told: Any, **more: Any
    ) -> None:
        """Note that at that instant somebody did this; the deed is given ``at=``."""
        self._deeds.append((at, deed, told, more))

    def play(self, progress: Progress) -> int:
        """Do everything in the order of the instants; return how many deeds it was."""
        deeds = sorted(self._deeds, key=lambda noted: noted[0])
        for done, (at, deed, told, more) in enumerate(deeds, start=1):
            with one_act():
                deed(*told, at=at, **more)
            progress(done, len(deeds))
        return len(deeds)

    # Entries about a batch. `at` is when it was written; by default soon after.
    # `name` keeps the entry, so that a later one may correct the entry of that name.

    def mark(
        self,
        batch: str,
        step: str,
        edge: str,
        occurred_at: datetime,
        *,
        order: int = 0,
        at: datetime | None = None,
        **told: Any,
    ) -> None:
        """Note that the owner marks an edge of a step."""
        told |= {"step": step, "edge": edge, "occurred_at": occurred_at}
        deed = recording.mark_step
        self.add(at or written(occurred_at, order), self._enter, deed, batch, **told)

    def read(
        self,
        batch: str,
        occurred_at: datetime,
        value: str,
        *,
        order: int = 0,
        at: datetime | None = None,
        **told: Any,
    ) -> None:
        """Note that somebody types a reading."""
        told |= {"value": Decimal(value), "occurred_at": occurred_at}
        deed = recording.record_reading
        self.add(at or written(occurred_at, order), self._enter, deed, batch, **told)

    def remark(
        self,
        batch: str,
        occurred_at: datetime,
        text: str,
        *,
        order: int = 0,
        at: datetime | None = None,
        **told: Any,
    ) -> None:
        """Note that somebody writes words about a batch."""
        told |= {"text": text, "occurred_at": occurred_at}
        deed = recording.record_remark
        self.add(at or written(occurred_at, order), self._enter, deed, batch, **told)

    def write(
        self, deed: Callable[..., Any], batch: str, at: datetime, **told: Any
    ) -> None:
        """Note that somebody makes any other entry about a batch."""
        self.add(at, self._enter, deed, batch, **told)

    def _enter(
        self,
        deed: Callable[..., Any],
        batch: str,
        *,
        by: str = OWNER,
        name: str = "",
        corrects: str = "",
        instrument: str = "",
        **told: Any,
    ) -> None:
        firm = self.firm
        if corrects:
            told["corrects"] = firm.entries[corrects]
        if instrument:
            told["instrument"] = firm.instruments[instrument]
        entry = deed(firm.batches[batch], by=firm.members[by], **told)
        if name:
            firm.entries[name] = entry
