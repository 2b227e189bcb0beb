"""From the rows of a batch to the judge and back; writes nothing."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import datetime, timedelta, tzinfo

import numpy as np

from batches.checking import compared, described
from batches.lookups import BatchRecords
from batches.lookups.records import StepWindow, windows_from
from batches.models import (
    Batch,
    Instrument,
    InstrumentCheck,
    Product,
    Reading,
    Review,
    StepMark,
    Trace,
)
from batches.models.trace import Integers, instant_of
from batches.planning import plan_facts, planned
from batches.reviewing import REVIEW, STEP_ROWS, anchor_of
from safety.judge import evidence, judge_batch
from safety.judge.finding import Judgement
from safety.limits.load import catalogue

# No zone of the last sixty years changed its clocks off the quarter of an hour, nor
# twice within this many days (but for one month of fasting, which is looked at too).
_QUARTER_US = 15 * 60 * 10**6
_ONE_CHANGE_AT_MOST = timedelta(days=14)
_SECOND = timedelta(seconds=1)


def judge(records: BatchRecords, *, judged_at: datetime) -> Judgement:
    """Judge a batch as it stood at an instant.

    By the plan that was in force when it was started; without one, by the published
    limits of its product, with the product's own intervals between readings.
    """
    then = evidence_of(records, judged_at=judged_at)
    if records.batch.plan is not None:
        return judge_batch(then, plan=planned(records.batch.plan))
    return judge_batch(then, intervals=_planned(records.batch.product, then))


def _planned(product: Product, then: evidence.Batch) -> dict[str, int]:
    """Return the intervals in which the plan differs from the usual ones."""
    intervals = product.check_intervals_min(
        is_cold_logged=any(trace.step == "cold-holding" for trace in then.traces)
    )
    if intervals["heating"] == catalogue().intervals["heating"].check_every_min:
        del intervals["heating"]
    return intervals


def evidence_of(records: BatchRecords, *, judged_at: datetime) -> evidence.Batch:
    """Return what was on record at an instant, as the judge reads it.

    What was written or claims to have happened after it is left out; calendar days are
    those of the premises.
    """
    batch, zone = records.batch, records.batch.premises.zone
    marks = [
        mark for mark in records.marks.as_of(judged_at) if mark.occurred_at <= judged_at
    ]
    windows = windows_from(marks)
    checks = [
        check
        for check in records.checks.as_of(judged_at)
        if check.occurred_at <= judged_at
    ]
    return evidence.Batch(
        judged_at=judged_at.astimezone(zone),
        product=_product(batch),
        code=batch.code,
        instruments=tuple(
            _instrument(instrument, checks, zone, judged_at)
            for instrument in records.instruments
        ),
        windows=tuple(
            evidence.Window(
                step=window.step,
                start=window.start.occurred_at.astimezone(zone),
                end=window.end.occurred_at.astimezone(zone) if window.end else None,
            )
            for window in windows.values()
        ),
        readings=tuple(
            _reading(row, windows, zone)
            for row in records.readings.as_of(judged_at)
            if row.occurred_at <= judged_at
        ),
        traces=tuple(
            trace
            for row in records.traces.as_of(judged_at)
            if (trace := _trace(row, judged_at, zone)) is not None
        ),
        statements=tuple(
            evidence.Statement(row.what, row.complies)
            for row in records.statements.as_of(judged_at)
            if row.occurred_at <= judged_at
        ),
        dates=(*_typed_dates(records, judged_at), *_review_date(records, judged_at)),
    )


def _typed_dates(
    records: BatchRecords, judged_at: datetime
) -> Iterator[evidence.NamedDate]:
    """Yield the dates that were typed; the date of a review only with no review signed."""
    zone = records.batch.premises.zone
    is_signed = any(review.signed_at <= judged_at for review in records.reviews)
    for row in records.dates.as_of(judged_at):
        if row.what != REVIEW or not is_signed:
            yield evidence.NamedDate(row.what, row.occurs_at.astimezone(zone))


def _review_date(
    records: BatchRecords, judged_at: datetime
) -> Iterator[evidence.NamedDate]:
    """Yield when the record was reviewed: by the first that read the whole step.

    Without one there is no date. A review signed before the step was over, or before
    its end was written down, did not read all of its record.
    """
    signed = [each for each in records.reviews if each.signed_at <= judged_at]
    facts, zone = _product(records.batch).facts, records.batch.premises.zone
    window = windows_from(records.marks.as_of(judged_at)).get(anchor_of(facts) or "")
    end = None if window is None else window.end
    for review in signed:
        if end is None or _has_read(review, end):
            yield evidence.NamedDate(REVIEW, review.signed_at.astimezone(zone))
            return


def _has_read(review: Review, end: StepMark) -> bool:
    """Say whether a review read the end of a step, in its first or a later version."""
    first = end
    while first.corrects is not None:
        first = first.corrects
    is_there = review.covers.get(STEP_ROWS, 0) >= first.pk
    return is_there and review.signed_at >= end.occurred_at


def _product(batch: Batch) -> evidence.Product:
    """Return the product; its facts are those of the plan where one was in force."""
    known = batch.product.evidence(batch.premises)
    if batch.plan is None:
        return known
    return replace(known, facts=plan_facts(batch.plan))


def _instrument(
    instrument: Instrument,
    checks: Iterable[InstrumentCheck],
    zone: tzinfo,
    judged_at: datetime,
) -> evidence.Instrument:
    return described(
        instrument,
        [
            each
            for check in checks
            if check.instrument_id == instrument.pk
            for each in compared(check, zone, judged_at=judged_at)
        ],
    )


def _reading(
    row: Reading, windows: Mapping[str, StepWindow], zone: tzinfo
) -> evidence.Reading:
    """Return a reading; a laboratory's figure counts as of the end of its step.

    A package drawn from the store and sent in stands for the food as it was packed,
    and its salt, water and acid are those of that moment: so the figure belongs to the
    packing, though the sample was drawn later.
    """
    at, window = row.occurred_at, windows.get(row.step)
    if row.lab_result_id and window is not None and window.end is not None:
        at = min(at, window.end.occurred_at)
    return evidence.Reading(
        step=row.step,
        quantity=row.quantity,
        place=row.place or None,
        at=at.astimezone(zone),
        value=row.value,
        unit=row.unit,
        instrument=row.instrument.code if row.instrument else None,
        entered_at=None if row.lab_result_id else row.recorded_at.astimezone(zone),
    )


def _trace(row: Trace, judged_at: datetime, zone: tzinfo) -> evidence.Trace | None:
    """Return the part of a trace that lies before the judgement; None if nothing does."""
    at_us, values = row.arrays()
    seen = int(np.searchsorted(at_us, evidence.us_of(judged_at), side="right"))
    if seen == 0:
        return None
    return evidence.Trace(
        step=row.step,
        quantity=row.quantity,
        place=row.place or None,
        unit=row.unit,
        instrument=row.instrument.code if row.instrument else None,
        at_us=at_us[:seen],
        values=values[:seen],
        decimals=row.decimals,
        offset_s=_offsets_s(at_us[:seen], zone),
    )


def _offsets_s(at_us: Integers, zone: tzinfo) -> int | Integers:
    """Return the offsets from UTC of sorted instants: one, where all have the same."""
    first, last = (instant_of(int(end)) for end in (at_us[0], at_us[-1]))
    ends = {_offset_s(first, zone), _offset_s(last, zone)}
    if len(ends) == 1 and last - first <= _ONE_CHANGE_AT_MOST:
        return ends.pop()
    quarters, which = np.unique(at_us // _QUARTER_US, return_inverse=True)
    offsets = [
        _offset_s(instant_of(int(quarter) * _QUARTER_US), zone) for quarter in quarters
    ]
    return np.asarray(offsets, dtype=np.int64)[which]


def _offset_s(instant: datetime, zone: tzinfo) -> int:
    return (instant.astimezone(zone).utcoffset() or timedelta()) // _SECOND
