"""From the rows of a batch to the checks of its record; writes nothing."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime, tzinfo
from decimal import Decimal
from typing import Any

from batches import audited_parts, audited_work
from batches.judging import evidence_of, judge
from batches.lookups import BatchRecords, batch_of, batches_of, records_of
from batches.lookups.neighbours import EarlierBatch, Neighbours, neighbours_of
from batches.lookups.records import windows_from
from batches.lookups.told import Told, told_of
from batches.models import Batch, Producer, Reading, Trace
from batches.planning import schedule_of
from safety.audit import Audit, Parts, Record, audit
from safety.audit.pace import level_of, pace
from safety.audit.parts import Shortfall
from safety.audit.record import (
    Earlier,
    Entry,
    LotUse,
    Plan,
    RecordedReading,
    Report,
    Review,
)
from safety.controls import CONTROL_POINTS
from safety.judge import evidence
from safety.judge.finding import Judgement, Status
from safety.limits.model import Limit
from safety.limits.select import jurisdictions
from safety.quantities import SAMPLE

REVIEW, USE_BY, SALT = "record-review", "use-by", "water-phase-salt"
# What a signed review calls kinds of entries that have other names here.
ENTRY_KINDS = {"trace": "logger", "lab-result": "laboratory"}
WORDS = 60  # characters of a remark by which it is named


@dataclass(frozen=True, slots=True)
class Audited:
    """A batch and what the checks say of its record."""

    batch: Batch
    audit: Audit


def found_in(
    records: BatchRecords,
    *,
    now: datetime,
    judgement: Judgement | None = None,
    told: Told | None = None,
) -> Audit:
    """Return what the checks find in the record of a batch, in few queries more.

    Whoever has read what the other records tell already hands it over as ``told``.
    """
    judged = judgement or judge(records, judged_at=now)
    told = told or told_of(records)
    parts = parts_of(records, judged, told, now=now)
    record = record_of(records, judged, neighbours_of(records), parts, now=now)
    return audit(with_brine(record, told, records.batch.premises.zone))


def with_brine(record: Record, told: Told, zone: tzinfo) -> Record:
    """Return the record with what was written about its brine among the entries."""
    entries = (
        _entry(kind, row, zone)
        for kind, _, row in told.brined
        if row.recorded_at <= record.now
    )
    return replace(record, entries=(*record.entries, *entries))


def found_before(records: BatchRecords, told: Told, *, now: datetime) -> Audited | None:
    """Return what the checks find in the record of the batch this one was worked from.

    None where it was not worked again; its checks belong to the same food.
    """
    batch = records.batch
    rework = next((row for row in told.reworks if row.to_batch_id == batch.pk), None)
    if rework is None:
        return None
    source = batch_of(batch.producer, rework.from_batch.code)
    return Audited(source, found_in(records_of(source), now=now))


def found_between(
    producer: Producer, *, since: datetime, until: datetime, now: datetime
) -> Iterator[Audited]:
    """Yield the batches begun in a period, oldest first, each with what is found."""
    begun = batches_of(producer).filter(started_at__gte=since, started_at__lt=until)
    for batch in begun.order_by("started_at", "pk"):
        yield Audited(batch, found_in(records_of(batch), now=now))


def parts_of(
    records: BatchRecords, judgement: Judgement, told: Told, *, now: datetime
) -> Parts:
    """Return what other records tell of the batch; what is None is kept nowhere here."""
    zone = records.batch.premises.zone
    states = audited_parts.known(told, now)
    initials = {
        row.by.name.strip().casefold(): row.by.initials for row in _reviewers(records)
    }
    return Parts(
        missed=_missed(judgement),
        answers=audited_parts.answers(states, zone),
        holds=audited_parts.holds(states, now, zone),
        releases=audited_parts.releases(told.releases, now, zone),
        cleaning=audited_parts.cleaning(told, now, zone),
        training=audited_parts.training(told, initials, now, zone),
        complaints=audited_parts.complaints(told.complaints, now, zone),
        brine=audited_work.brine(told.brined, _fish_kg(records), now, zone),
        changes=audited_work.changes(told.changed, now, zone),
        is_new_schedule=audited_work.is_new_schedule(told.changed, records.batch),
        reworked_from=audited_parts.reworked_from(told, records.batch.pk, now),
        sales=audited_parts.sales(told.stock, now, zone),
        packages=audited_parts.packages(told.stock, now, zone),
        sites=audited_parts.sites(records, told.markets, now),
        elsewhere=audited_parts.elsewhere(told.markets, now, zone),
    )


def _fish_kg(records: BatchRecords) -> Decimal:
    return sum((use.mass_kg for use in records.lots), Decimal(0))


def _reviewers(records: BatchRecords) -> Iterator[Any]:
    """Yield the rows by which somebody said that the record was read."""
    yield from records.reviews
    yield from (row for row in records.dates.all if row.what == REVIEW)


def _reviews(records: BatchRecords, now: datetime, zone: tzinfo) -> Iterator[Review]:
    """Yield each reading of the record once: as it was signed, else as it was dated."""
    signed = [row for row in records.reviews if row.signed_at <= now]
    known = set()
    for row in signed:
        at = row.signed_at.astimezone(zone)
        known.add((at.date(), row.by_id))
        yield Review(
            at=at,
            by=row.by.initials,
            records=row.rows_read,
            own_records=row.own_rows,
            covers={
                ENTRY_KINDS.get(kind, kind): number
                for kind, number in row.covers.items()
            },
        )
    for row in records.dates.as_of(now):
        at = row.occurs_at.astimezone(zone)
        if row.what == REVIEW and (at.date(), row.by_id) not in known:
            yield Review(at=at, by=row.by.initials)


def _missed(judgement: Judgement) -> tuple[Shortfall, ...]:
    return tuple(
        Shortfall(
            control_point=finding.control_point,
            limit_id=finding.limit_id,
            place=finding.place or "",
        )
        for finding in judgement.findings
        if finding.governs and finding.status is Status.MISSED
    )


# ------------------------------------------------------------ the record


def record_of(
    records: BatchRecords,
    judgement: Judgement,
    neighbours: Neighbours,
    parts: Parts,
    *,
    now: datetime,
) -> Record:
    """Return the record of a batch as the checks read it, as it stood at an instant."""
    batch, zone = records.batch, records.batch.premises.zone
    then = evidence_of(records, judged_at=now)
    limits = limits_of(judgement)
    facts = then.product.facts
    dates = records.dates.as_of(now)
    use_by = [row.occurs_at for row in dates if row.what == USE_BY]
    return Record(
        now=now.astimezone(zone),
        code=batch.code,
        firm=batch.producer.name,
        address=batch.premises.address,
        product=batch.product.name,
        started_at=batch.started_at.astimezone(zone),
        jurisdictions=jurisdictions(facts),
        programme=facts.get("programme", ""),
        entries=tuple(_entries(records, now, zone)),
        readings=_readings(records.readings.all, now, zone),
        traces=then.traces,
        windows=then.windows,
        instruments=then.instruments,
        limits=limits,
        lots=_lots(records, neighbours, zone),
        reports=_reports(records, now, zone),
        reviews=tuple(_reviews(records, now, zone)),
        use_by_at=max(use_by).astimezone(zone) if use_by else None,
        shelf_life_days=batch.product.shelf_life_days,
        plan=_plan(batch, neighbours, zone),
        earlier=tuple(_earlier(one, limits, now, zone) for one in neighbours.earlier),
        last_sampled_at=_in(neighbours.last_sampled_at, zone),
        parts=parts,
    )


def limits_of(judgement: Judgement) -> tuple[Limit, ...]:
    """Return the limits that govern a batch, each once."""
    governing = {
        finding.limit_id: finding.limit
        for finding in judgement.findings
        if finding.governs and finding.limit is not None
    }
    return tuple(governing.values())


def _in(at: datetime | None, zone: tzinfo) -> datetime | None:
    return None if at is None else at.astimezone(zone)


def _entries(records: BatchRecords, now: datetime, zone: tzinfo) -> Iterator[Entry]:
    """Yield everything that was written about the batch, but for its readings."""
    batch = records.batch
    yield Entry(
        kind="batch",
        number=batch.pk,
        what="batch begun",
        observed_at=batch.started_at.astimezone(zone),
        entered_at=batch.recorded_at.astimezone(zone),
        by=batch.by.initials,
    )
    for kind, rows in (
        ("step", records.marks),
        ("statement", records.statements),
        ("date", records.dates),
        ("remark", records.remarks),
        ("laboratory", records.lab_results),
        ("logger", records.traces),
    ):
        for row in rows.all:
            if row.recorded_at <= now:
                yield _entry(kind, row, zone)


def _entry(kind: str, row: Any, zone: tzinfo) -> Entry:
    return Entry(
        kind=kind,
        number=row.pk,
        what=_what(row),
        observed_at=_in(row.claimed_at, zone),
        entered_at=row.recorded_at.astimezone(zone),
        by=row.by.initials,
        step=getattr(row, "step", ""),
        reason=row.reason,
        corrects=row.corrects_id,
        withdrawn=row.withdrawn,
        paper_by=row.paper_initials if row.from_paper else None,
    )


def _what(row: Any) -> str:
    if hasattr(row, "edge"):
        return f"{CONTROL_POINTS[row.step].title}, {row.edge}"
    said = str(row)
    return said if len(said) <= WORDS else f"{said[: WORDS - 1]}…"


def _readings(
    rows: Iterable[Reading], now: datetime, zone: tzinfo
) -> tuple[RecordedReading, ...]:
    return tuple(_reading(row, zone) for row in rows if row.recorded_at <= now)


def _reading(row: Reading, zone: tzinfo) -> RecordedReading:
    return RecordedReading(
        kind="reading",
        number=row.pk,
        what=str(row),
        observed_at=_in(row.claimed_at, zone),
        entered_at=row.recorded_at.astimezone(zone),
        by=row.by.initials,
        step=row.step,
        reason=row.reason,
        corrects=row.corrects_id,
        withdrawn=row.withdrawn,
        paper_by=row.paper_initials if row.from_paper else None,
        place=row.place,
        quantity=row.quantity,
        typed=row.typed,
        value=row.value,
        unit=row.unit,
        instrument=row.instrument.code if row.instrument else "",
        is_laboratory=row.lab_result_id is not None,
    )


def _lots(
    records: BatchRecords, neighbours: Neighbours, zone: tzinfo
) -> tuple[LotUse, ...]:
    return tuple(
        LotUse(
            lot=use.lot.code,
            mass_kg=use.mass_kg,
            received_kg=use.lot.mass_kg,
            used_before_kg=neighbours.used_before_kg.get(use.lot_id, Decimal(0)),
            received_at=use.lot.received_at.astimezone(zone),
        )
        for use in records.lots
    )


def _reports(records: BatchRecords, now: datetime, zone: tzinfo) -> tuple[Report, ...]:
    figures: dict[int | None, set[str]] = {}
    for row in records.readings.as_of(now):
        figures.setdefault(row.lab_result_id, set()).add(row.quantity)
    return tuple(
        Report(
            laboratory=row.laboratory,
            sampled_at=row.sampled_at.astimezone(zone),
            reported_at=_in(row.reported_at, zone),
            read_at=_in(row.read_at, zone),
            quantities=tuple(sorted(_with_salt(figures.get(row.pk, set())))),
        )
        for row in records.lab_results.as_of(now)
    )


def _with_salt(quantities: set[str]) -> set[str]:
    """Add the water phase salt, where its two parts are there."""
    return quantities | {SALT} if set(SAMPLE) <= quantities else quantities


def _plan(batch: Batch, neighbours: Neighbours, zone: tzinfo) -> Plan | None:
    signed = batch.plan
    if signed is None:
        label = batch.plan_label
        return Plan(name=f"Plan {label} on paper") if label else None
    return Plan(
        name=f"Plan v{signed.number}",
        signed_at=signed.signed_at.astimezone(zone),
        signed_by=signed.by_name,
        looked_at=tuple(at.astimezone(zone) for at in neighbours.reassessed_at),
        schedule=schedule_of(signed),
    )


# ------------------------------------------------------------ earlier batches


def _earlier(
    one: EarlierBatch, limits: Iterable[Limit], now: datetime, zone: tzinfo
) -> Earlier:
    level = level_of(limits)
    heated = None
    if level is not None:
        window = windows_from(one.marks.as_of(now)).get("heating")
        heated = pace(
            [_trace(row) for row in one.traces.as_of(now)],
            None
            if window is None
            else evidence.Window(step="heating", start=window.start.occurred_at),
            level,
        )
    return Earlier(
        code=one.batch.code,
        heated_min=None if heated is None else heated.minutes,
        readings=_readings(one.readings.all, now, zone),
    )


def _trace(row: Trace) -> evidence.Trace:
    at_us, values = row.arrays()
    return evidence.Trace(
        step=row.step,
        quantity=row.quantity,
        place=row.place or None,
        unit=row.unit,
        at_us=at_us,
        values=values,
        decimals=row.decimals,
    )
