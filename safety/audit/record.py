"""What the checks of the record read: plain frozen values, as the rows were written."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from functools import cached_property

from safety.audit.parts import Parts
from safety.judge.evidence import Instrument, Trace, Window
from safety.limits.model import Limit


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One thing that somebody wrote, whether it still counts or not.

    ``observed_at`` is the instant that the entry claims (None: it claims none);
    ``number`` tells entries of one kind apart, ``corrects`` is the number of the entry
    that this one replaces. Instants are in the time of the premises. ``paper_by`` are
    the initials on the paper from which ``by`` copied it, "" where it bears none; None
    where it was first written down here.
    """

    kind: str
    number: int
    what: str
    observed_at: datetime | None
    entered_at: datetime
    by: str
    step: str = ""
    reason: str = ""
    corrects: int | None = None
    withdrawn: bool = False
    place: str = ""
    paper_by: str | None = None

    @property
    def observer(self) -> str:
        """Return the initials of whoever saw it; "" where nobody says."""
        return (self.by if self.paper_by is None else self.paper_by).strip()


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedReading(Entry):
    """A figure that somebody typed, with its digits; ``value`` None if it is no number."""

    quantity: str
    typed: str
    value: Decimal | None
    unit: str
    instrument: str = ""
    is_laboratory: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """A laboratory's report: when the sample was drawn, it was sent, somebody read it."""

    laboratory: str
    sampled_at: datetime
    reported_at: datetime | None = None
    read_at: datetime | None = None
    quantities: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class LotUse:
    """How much of a lot went in, kg, and how much earlier batches had taken of it, kg."""

    lot: str
    mass_kg: Decimal
    received_kg: Decimal
    used_before_kg: Decimal = Decimal(0)
    received_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The plan in force: signed when and by whom, looked at again when, its schedule."""

    name: str
    signed_at: datetime | None = None
    signed_by: str = ""
    looked_at: tuple[datetime, ...] = ()
    schedule: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Review:
    """That somebody read the record and signed; ``opened_at`` None: not on record.

    ``covers`` is, for each kind of entry, the newest number that was read; empty where
    nobody said, so that the instant decides. ``own_records`` of them were the reader's.
    """

    at: datetime
    by: str
    opened_at: datetime | None = None
    records: int | None = None
    own_records: int | None = None
    covers: Mapping[str, int] = field(default_factory=dict)

    def has_read(self, entry: Entry) -> bool:
        """Say whether an entry was there to be read when this was signed."""
        if entry.kind in self.covers:
            return entry.number <= self.covers[entry.kind]
        return entry.entered_at <= self.at


@dataclass(frozen=True, slots=True, kw_only=True)
class Earlier:
    """An earlier batch of the same product, as far as a later one is compared with it.

    ``heated_min`` is how long its slowest place took to the level of the limit, min.
    """

    code: str
    heated_min: float | None = None
    readings: tuple[RecordedReading, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Record:
    """Everything that is on record of one batch at the instant ``now``.

    ``entries`` are all that were ever written, readings apart; ``readings`` too. The
    windows are the current ones, ``limits`` those that govern the batch. What no batch
    has by itself comes as ``parts``; one that is None is not on record here. A rule of one of
    the ``jurisdictions`` for the ``programme`` binds the batch, another does not.
    """

    now: datetime
    code: str
    firm: str
    address: str
    product: str
    started_at: datetime
    jurisdictions: tuple[str, ...] = ()
    programme: str = ""
    entries: tuple[Entry, ...] = ()
    readings: tuple[RecordedReading, ...] = ()
    traces: tuple[Trace, ...] = ()
    windows: tuple[Window, ...] = ()
    instruments: tuple[Instrument, ...] = ()
    limits: tuple[Limit, ...] = ()
    lots: tuple[LotUse, ...] = ()
    reports: tuple[Report, ...] = ()
    reviews: tuple[Review, ...] = ()
    use_by_at: datetime | None = None
    shelf_life_days: int | None = None
    plan: Plan | None = None
    earlier: tuple[Earlier, ...] = ()
    last_sampled_at: datetime | None = None
    parts: Parts = field(default_factory=Parts)

    def window(self, step: str) -> Window | None:
        """Return the window of a step; None if it never began."""
        return next((each for each in self.windows if each.step == step), None)

    @cached_property
    def current(self) -> tuple[RecordedReading, ...]:
        """Return the readings that count: replaced by no other and not taken back."""
        return counting(self.readings)

    @cached_property
    def typed(self) -> tuple[RecordedReading, ...]:
        """Return the readings that count and that a person took, by their instant."""
        return typed_of(self.current)

    @cached_property
    def written(self) -> tuple[Entry, ...]:
        """Return everything that was ever written, readings included."""
        return (*self.entries, *self.readings)

    @property
    def made_at(self) -> datetime | None:
        """Return when the making ended: the packing, else the last step that did."""
        packing = self.window("packing")
        if packing is not None and packing.end is not None:
            return packing.end
        ends = [each.end for each in self.windows if each.step != "cold-holding"]
        return max((end for end in ends if end is not None), default=None)


def counting(readings: Iterable[RecordedReading]) -> tuple[RecordedReading, ...]:
    """Return the readings that no other replaces and that were not taken back."""
    readings = tuple(readings)
    replaced = {reading.corrects for reading in readings}
    return tuple(
        each for each in readings if each.number not in replaced and not each.withdrawn
    )


def typed_of(readings: Iterable[RecordedReading]) -> tuple[RecordedReading, ...]:
    """Return the figures of people that claim an instant, in the order of instants."""
    dated = [
        (each.observed_at, each.number, each)
        for each in readings
        if each.observed_at is not None
        and each.value is not None
        and not each.is_laboratory
    ]
    return tuple(each for _, _, each in sorted(dated, key=lambda one: one[:2]))
