"""Findings of batches that no deviation takes up yet; writes nothing.

One rule says how far back is looked, on every page: the newest batches of the last weeks.
What is older is counted, and looked at when somebody asks.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from batches.deviating import Answered, answered_now
from batches.judging import judge
from batches.lookups import BatchRecords, DeviationState, batches_of, states_of
from batches.lookups.records import records_of_many
from batches.models import Batch, Deviation, Producer

RECENT = timedelta(days=60)  # own figure: no batch of ours keeps longer in the cold
MOST = 16  # own figure: so many are looked at, each takes about ten milliseconds
MOST_OLDER = 48  # own figure: so many older ones on one page

Wanting = tuple[tuple[Batch, tuple[Answered, ...]], ...]


@dataclass(frozen=True, slots=True)
class Looked:
    """What was found in the batches that were looked at, and how many are older."""

    found: Wanting
    since: datetime
    count: int
    older: int


def recent_records(producer: Producer, *, at: datetime) -> tuple[BatchRecords, ...]:
    """Return the records of the batches that are looked at, newest first."""
    recent = batches_of(producer).filter(started_at__gte=at - RECENT)
    batches = list(recent[:MOST])
    return records_of_many(batches) if batches else ()


def unanswered(
    producer: Producer,
    *,
    at: datetime,
    records: Sequence[BatchRecords] | None = None,
    total: int | None = None,
) -> Looked:
    """Return the recent batches with findings that nobody took up, newest first.

    Whoever has read ``recent_records``, or knows how many batches there are in ``total``,
    hands them over.
    """
    total = batches_of(producer).count() if total is None else total
    known = recent_records(producer, at=at) if records is None else records
    return Looked(
        found=_unanswered(known, at),
        since=at - RECENT,
        count=len(known),
        older=total - len(known),
    )


def unanswered_older(producer: Producer, *, at: datetime, page: int) -> Looked:
    """Return the same of the older batches, some at a time; ``page`` counts from 1."""
    recent = batches_of(producer).filter(started_at__gte=at - RECENT)[:MOST].count()
    first = recent + (page - 1) * MOST_OLDER
    batches = list(batches_of(producer)[first : first + MOST_OLDER])
    return Looked(
        found=_unanswered(records_of_many(batches) if batches else (), at),
        since=batches[-1].started_at if batches else at,
        count=len(batches),
        older=max(0, batches_of(producer).count() - first - len(batches)),
    )


def _unanswered(known: Iterable[BatchRecords], at: datetime) -> Wanting:
    """Judge afresh, so that nothing depends on a deviation having been opened."""
    batches = [records.batch for records in known]
    if not batches:
        return ()
    states: dict[int, list[DeviationState]] = defaultdict(list)
    for state in states_of(Deviation.objects.filter(batch__in=batches)):
        states[state.deviation.batch_id].append(state)
    found = []
    for records in known:
        answers = answered_now(
            records, judge(records, judged_at=at), states[records.batch.pk]
        )
        wanting = tuple(one for one in answers if one.state is None or one.is_changed)
        if wanting:
            found.append((records.batch, wanting))
    return tuple(found)
