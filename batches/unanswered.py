"""Findings of recent batches that no deviation takes up yet; writes nothing."""

from collections import defaultdict
from datetime import datetime, timedelta

from batches.deviating import Answered, answered_now
from batches.judging import judge
from batches.lookups import DeviationState, batches_of, states_of
from batches.lookups.records import records_of_many
from batches.models import Batch, Deviation, Producer

RECENT = timedelta(days=60)  # own figure: no batch of ours keeps longer in the cold
MOST_NOW, MOST_LISTED = 16, 48  # own figures: each takes about ten milliseconds

Wanting = tuple[tuple[Batch, tuple[Answered, ...]], ...]


def unanswered_now(producer: Producer, *, at: datetime) -> Wanting:
    """Return the recent batches with findings that nobody took up, newest first."""
    recent = batches_of(producer).filter(started_at__gte=at - RECENT)
    return _unanswered(list(recent[:MOST_NOW]), at)


def unanswered_of(producer: Producer, *, at: datetime) -> Wanting:
    """Return the newest batches, however old, with findings that nobody took up."""
    return _unanswered(list(batches_of(producer)[:MOST_LISTED]), at)


def _unanswered(batches: list[Batch], at: datetime) -> Wanting:
    """Judge afresh, so that nothing depends on a deviation having been opened."""
    if not batches:
        return ()
    states: dict[int, list[DeviationState]] = defaultdict(list)
    for state in states_of(Deviation.objects.filter(batch__in=batches)):
        states[state.deviation.batch_id].append(state)
    found = []
    for records in records_of_many(batches):
        answers = answered_now(
            records, judge(records, judged_at=at), states[records.batch.pk]
        )
        wanting = tuple(one for one in answers if one.state is None or one.is_changed)
        if wanting:
            found.append((records.batch, wanting))
    return tuple(found)
