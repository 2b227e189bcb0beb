"""Past batches judged again by other guidance: what would have changed."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime

from batches.judging import evidence_of, judge
from batches.lookups import records_of
from batches.models import Batch
from batches.planning import planned
from safety.controls import CONTROL_POINTS
from safety.facts import Answer
from safety.judge import judge_batch
from safety.judge.finding import Judgement
from safety.judge.plan import Planned
from safety.limits import Catalogue, select
from safety.limits.load import catalogue

NOTHING = "—"


@dataclass(frozen=True, slots=True)
class Difference:
    """One batch at one control point ("outcome" for the whole), before and after."""

    batch: str
    producer: str
    control_point: str
    before: str
    after: str

    @property
    def is_changed(self) -> bool:
        """Whether the other guidance gives another status."""
        return self.before != self.after


def judged_again(
    batch: Batch, *, among: Catalogue | None, judged_at: datetime
) -> list[Difference]:
    """Return the statuses of one batch, as judged now and by other guidance.

    Nothing is written. Of a plan only what the producer tightened or added stays; the
    published figures that it froze are taken from the other guidance.
    """
    records = records_of(batch)
    before = judge(records, judged_at=judged_at)
    evidence = evidence_of(records, judged_at=judged_at)
    used = among or catalogue()
    if batch.plan is None:
        intervals = batch.product.check_intervals_min(
            is_cold_logged=any(t.step == "cold-holding" for t in evidence.traces)
        )
        after = judge_batch(evidence, intervals=intervals, among=used)
    else:
        plan = tuple(_with_guidance(planned(batch.plan), evidence.product.facts, used))
        after = judge_batch(evidence, plan=plan, among=used)
    return _differences(batch, before, after)


def _with_guidance(
    plan: tuple[Planned, ...], facts: Mapping[str, str], used: Catalogue
) -> Iterator[Planned]:
    """Yield the guidance's own limits, the plan's tightened ones in their place."""
    tightened = {
        each.published.limit.id: each
        for each in plan
        if each.published is not None and each.limit != each.published.limit
    }
    for selected in select(facts, among=used):
        if selected.governs is Answer.NO or selected.applies is Answer.NO:
            continue
        published = selected.published
        kept = tightened.get(published.limit.id)
        yield kept or Planned(
            limit=published.limit, published=published, words=published.words
        )
    yield from (each for each in plan if each.published is None)


def _differences(batch: Batch, before: Judgement, after: Judgement) -> list[Difference]:
    def row(point: str, one: str, two: str) -> Difference:
        return Difference(batch.code, batch.producer.slug, point, one, two)

    found = [row("outcome", before.outcome.value, after.outcome.value)]
    for name in CONTROL_POINTS:
        one, two = before.control_points.get(name), after.control_points.get(name)
        if one is not None or two is not None:
            found.append(
                row(
                    name,
                    NOTHING if one is None else one.value,
                    NOTHING if two is None else two.value,
                )
            )
    return found
