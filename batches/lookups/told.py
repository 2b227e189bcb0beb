"""Reads: what the other records tell of one batch: answers, releases, cleaning, people."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from django.db.models import QuerySet

from batches.lookups.brines import Brined, brined_of
from batches.lookups.changed import Changed, changed_of
from batches.lookups.conditions import MONTH, Asked, conditions_asked
from batches.lookups.deviations import (
    DeviationState,
    releases_of,
    reworks_of,
    states_of,
)
from batches.lookups.logbook import versions
from batches.lookups.packages import Stock, stock_of
from batches.lookups.records import BatchRecords
from batches.models import (
    Batch,
    Complaint,
    Deviation,
    FollowUp,
    MarketCount,
    MarketDay,
    Premises,
    Reading,
    Release,
    Rework,
    SanitationRound,
    TrainingRecord,
)

# The steps during which the day's rounds of cleaning are asked for.
WORKED = ("heating", "smoking", "drying", "packing")


@dataclass(frozen=True, slots=True)
class Complained:
    """A complaint about a batch, with what was done since, the first first."""

    complaint: Complaint
    followups: tuple[FollowUp, ...]


@dataclass(frozen=True, slots=True)
class Market:
    """A day at market on which the batch was read, and when the box was home again.

    ``elsewhere`` are what the same people typed for other batches meanwhile.
    """

    day: MarketDay
    back_at: datetime | None
    elsewhere: tuple[Reading, ...] = ()


@dataclass(frozen=True, slots=True)
class Told:
    """The rows of other records about one batch.

    ``rounds`` are those of its ``days`` of work; None where no round was ever written
    at the premises, as ``training`` is where none was ever written.
    """

    states: tuple[DeviationState, ...]
    releases: tuple[Release, ...]
    reworks: tuple[Rework, ...]
    days: tuple[date, ...]
    rounds: tuple[SanitationRound, ...] | None
    asked: Asked | None
    training: tuple[TrainingRecord, ...] | None
    complaints: tuple[Complained, ...]
    stock: Stock
    markets: tuple[Market, ...]
    changed: Changed
    brined: Brined


def told_of(records: BatchRecords) -> Told:
    """Return what other records tell of a batch; its rows add no queries."""
    batch = records.batch
    days = days_of_work(records)
    rounds = _rounds(batch.premises, days)
    training = tuple(
        TrainingRecord.objects
        .current()
        .filter(producer=batch.producer_id)
        .order_by("occurred_at", "pk")
    )
    return Told(
        states=states_of(Deviation.objects.filter(batch=batch)),
        releases=releases_of(batch),
        reworks=reworks_of(batch),
        days=days,
        rounds=rounds,
        asked=conditions_asked(batch.premises) if days and rounds is not None else None,
        training=training or None,
        complaints=_complaints(batch),
        stock=stock_of(batch),
        markets=_markets(records),
        changed=changed_of(records),
        brined=brined_of(records),
    )


def days_of_work(records: BatchRecords) -> tuple[date, ...]:
    """Return the days on which the batch was heated, smoked, dried or packed."""
    zone = records.batch.premises.zone
    found = {
        mark.occurred_at.astimezone(zone).date()
        for mark in records.marks.current
        if mark.step in WORKED
    }
    return tuple(sorted(found))


def _rounds(
    premises: Premises, days: Iterable[date]
) -> tuple[SanitationRound, ...] | None:
    days = tuple(days)
    every = SanitationRound.objects.current().filter(premises=premises)
    kept = every.exclude(moment=MONTH)
    if not days:
        return () if kept.exists() else None
    start, end = (
        datetime.combine(day, time.min, tzinfo=premises.zone)
        for day in (days[0], days[-1] + timedelta(days=1))
    )
    found = tuple(
        kept
        .filter(occurred_at__gte=start, occurred_at__lt=end)
        .prefetch_related("answers")
        .order_by("occurred_at", "pk")
    )
    return found if found or kept.exists() else None


def _complaints(batch: Batch) -> tuple[Complained, ...]:
    found: QuerySet = Complaint.objects.current().filter(batch=batch).order_by("pk")
    return tuple(
        Complained(
            each,
            tuple(
                FollowUp.objects
                .current()
                .filter(complaint__in=versions(each))
                .order_by("occurred_at", "pk")
            ),
        )
        for each in found.select_related("corrects")
    )


def _markets(records: BatchRecords) -> tuple[Market, ...]:
    """Return the days at market on which somebody read this batch, in four queries."""
    batch, zone = records.batch, records.batch.premises.zone
    typed = [row for row in records.readings.current if row.lab_result_id is None]
    if not typed:
        return ()
    first = min(row.occurred_at for row in typed) - timedelta(days=1)
    last = max(row.occurred_at for row in typed)
    days = {row.occurred_at.astimezone(zone).date() for row in typed}
    found = [
        day
        for day in MarketDay.objects.current().filter(
            producer=batch.producer_id, occurred_at__range=(first, last)
        )
        if day.box and day.occurred_at.astimezone(zone).date() in days
    ]
    if not found:
        return ()
    back = _back_at(found)
    others = (
        Reading.objects
        .current()
        .filter(
            batch__producer=batch.producer_id,
            lab_result=None,
            by__in={row.by_id for row in typed},
            occurred_at__range=(
                min(day.occurred_at for day in found),
                max(back.get(day.pk) or day.occurred_at for day in found),
            ),
        )
        .exclude(batch=batch)
        .select_related("by", "batch")
        .order_by("occurred_at", "pk")
    )
    return tuple(
        Market(
            day,
            back.get(day.pk),
            tuple(
                row
                for row in others
                if row.occurred_at.astimezone(zone).date()
                == day.occurred_at.astimezone(zone).date()
            ),
        )
        for day in found
    )


def _back_at(days: Iterable[MarketDay]) -> dict[int, datetime]:
    """Return when the first packages of each day came home again."""
    wanted = {key: day.pk for day in days for key in (day.pk, day.corrects_id) if key}
    found: dict[int, datetime] = {}
    counts = MarketCount.objects.current().filter(
        market__in=wanted, edge=MarketCount.Edge.BACK
    )
    for row in counts.order_by("-occurred_at"):
        found[wanted[row.market_id]] = row.occurred_at
    return found
