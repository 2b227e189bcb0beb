"""Reads: what the other records tell of one batch: answers, releases, cleaning, people."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from django.db.models import QuerySet

from batches.lookups.deviations import (
    DeviationState,
    releases_of,
    reworks_of,
    states_of,
)
from batches.lookups.logbook import versions
from batches.lookups.records import BatchRecords
from batches.models import (
    Batch,
    Complaint,
    Deviation,
    FollowUp,
    HiddenCondition,
    Premises,
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
    hidden: tuple[HiddenCondition, ...]
    training: tuple[TrainingRecord, ...] | None
    complaints: tuple[Complained, ...]


def told_of(records: BatchRecords) -> Told:
    """Return what other records tell of a batch; seven queries where they tell nothing."""
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
        hidden=_hidden(batch.premises) if rounds else (),
        training=training or None,
        complaints=_complaints(batch),
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
    kept = SanitationRound.objects.current().filter(premises=premises)
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


def _hidden(premises: Premises) -> tuple[HiddenCondition, ...]:
    return tuple(HiddenCondition.objects.current().filter(premises=premises))


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
