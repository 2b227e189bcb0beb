"""The only door to the records: a batch's rows become the sheet of a document."""

import hashlib
import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from typing import Any

from django.conf import settings
from django.core.exceptions import ObjectDoesNotExist

from batches.auditing import found_in
from batches.drifting import Drift, drift_of
from batches.judging import evidence_of, judge
from batches.lookups import (
    BatchRecords,
    batch_of,
    checks_of,
    instrument_of,
    premises_of,
    records_of,
)
from batches.lookups.estimates import estimates_of
from batches.lookups.reviews import batch_read
from batches.lookups.told import told_of
from batches.models import Batch, Instrument, Member, Producer
from batches.planning import content
from batches.workbench.outcome import kept, sentence
from reports import judged, observed, wording
from reports.annex import annex_tables
from reports.audit_sheet import audit_sheet
from reports.checks import check_rows
from reports.curves import curve_sheets
from reports.deviation_collect import handled
from reports.drift import drift_sheet
from reports.observed import Scribe
from reports.package_collect import package_rows, packages_say
from reports.plan_letters import looser_lines
from reports.readings import reading_tables
from reports.reviewed import review_rows, unread_says
from reports.sheets import BatchRecord, CurveSheet, EstimateRow, LotRow, Pair
from safety.facts import FACTS, PRODUCT_FACTS
from safety.limits import default_tolerance

NOT_CONTENT = (
    "annex",
    "content_sha256",
    "curves",  # drawn from what the record says, in the reader's unit
    "has_annex",
    "judged",
    "paper",
    "printed",
    "version",
)
CANNOT_SEE = (
    "A reading that was never made.",
    "A reading left out between two good ones that lie closer than the interval.",
    "What happened between two readings: nothing but their ends is known.",
    "Whether the probe was where it is said to have been.",
)


class NotOnRecord(LookupError):
    """No such batch, curve or producer here; the message says which was asked for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """How a record is wanted: when, on which paper, in which unit of temperature."""

    at: datetime
    paper: str = ""
    unit: str = ""
    has_annex: bool = False


def producer_called(slug: str) -> Producer:
    """Return a producer by its slug; with none given, the only one there is."""
    known = list(Producer.objects.filter(slug=slug) if slug else Producer.objects.all())
    if len(known) == 1:
        return known[0]
    if slug:
        raise NotOnRecord(f"There is no producer {slug!r}.")
    names = ", ".join(producer.slug for producer in known) or "none yet"
    raise NotOnRecord(f"Say which producer with --producer. On record: {names}.")


def batch_record(producer: Producer, code: str, wish: Wish) -> BatchRecord:
    """Return everything that the record of a batch says."""
    records = _records(producer, code)
    judgement = judge(records, judged_at=wish.at)
    groups = judged.grouped(judgement.findings, "L")
    compared = judged.grouped(judgement.comparison, "C")
    batch, zone = records.batch, records.batch.premises.zone
    scribe = Scribe(zone)
    told = told_of(records)
    done = handled(records, told, scribe)
    missed = judged.taken_up(judged.deviations(groups), groups, done.answers)
    not_shown = judged.taken_up(judged.open_points(groups), groups, done.answers)
    publications = judged.publications(groups, compared)
    numbers = {identity: number for identity, (number, _) in publications.items()}
    record = BatchRecord(
        producer=producer.name,
        address=", ".join(batch.premises.address.splitlines()) or batch.premises.name,
        code=batch.code,
        product=batch.product.name,
        summary=_summary(records, scribe, done.came_from),
        outcome=judgement.outcome.value,
        outcome_says=judged.outcome_says(judgement.outcome, len(missed), groups),
        looser=_looser(batch),
        zone=batch.premises.time_zone,
        judged=scribe.at(wish.at),
        printed=scribe.at(wish.at),
        version=settings.BRINEWRIGHT_VERSION,
        paper=wish.paper or batch.premises.paper,
        facts=tuple(_facts(records)),
        people=observed.people(_written(records)),
        findings=judged.finding_rows(
            groups, answers=judged.answers([*missed, *not_shown])
        ),
        curves=_printed_curves(records, judgement, wish),
        deviations=missed,
        open_points=not_shown,
        audit=audit_sheet(
            found_in(records, now=wish.at, judgement=judgement, told=told)
        ),
        limits=judged.limit_rows(groups, numbers),
        publications=judged.publication_rows(publications),
        comparison=judged.finding_rows(compared, sources=numbers),
        holds=done.holds,
        cases=done.cases,
        reworks=done.reworks,
        releases=done.releases,
        lots=tuple(_lot_row(used, scribe) for used in records.lots),
        steps=observed.step_rows(records.marks, scribe),
        readings=reading_tables(records.readings, records.windows, scribe),
        traces=observed.trace_rows(records.traces, scribe),
        files=observed.file_rows(records.traces, scribe),
        checks=check_rows(records, _tolerances(records), scribe),
        labs=observed.lab_rows(records.lab_results, records.readings, scribe),
        said=observed.said_rows(
            records.statements, records.dates, records.remarks, told.brined, scribe
        ),
        packages=package_rows(told.stock, scribe),
        packages_say=packages_say(told.stock),
        estimates=tuple(_estimates(batch, scribe)),
        reviews=review_rows(records.reviews, scribe),
        unread=unread_says(batch_read(records).standing),
        cannot_see=(*CANNOT_SEE, *judged.cannot_show(groups)),
        has_annex=wish.has_annex,
        annex=annex_tables(records.traces.current, zone) if wish.has_annex else (),
    )
    return replace(record, content_sha256=_content_sha256(record))


def curve_of(producer: Producer, code: str, slug: str, wish: Wish) -> CurveSheet:
    """Return one curve of a batch by its slug."""
    records = _records(producer, code)
    judgement = judge(records, judged_at=wish.at)
    for sheet in _curves(records, judgement, wish):
        if sheet.slug == slug:
            return sheet
    raise NotOnRecord(f"Batch {code} has no curve called {slug}.")


def drift_of_instrument(producer: Producer, code: str) -> CurveSheet:
    """Return how far an instrument was off from check to check, as a curve."""
    try:
        instrument = instrument_of(producer, code)
    except ObjectDoesNotExist:
        raise NotOnRecord(f"{producer.name} has no instrument {code}.") from None
    drift: Drift = drift_of(instrument, checks_of(instrument).current())
    return drift_sheet(code, drift, zone=premises_of(producer)[0].time_zone)


def _records(producer: Producer, code: str) -> BatchRecords:
    try:
        return records_of(batch_of(producer, code))
    except ObjectDoesNotExist:
        raise NotOnRecord(f"{producer.name} has no batch {code}.") from None


def _curves(
    records: BatchRecords, judgement: Any, wish: Wish
) -> tuple[CurveSheet, ...]:
    unit = wish.unit or _usual_unit(records.batch.producer)
    return curve_sheets(
        evidence_of(records, judged_at=wish.at),
        judgement,
        unit=unit,
        zone=records.batch.premises.zone,
    )


def _plan(batch: Batch, scribe: Scribe) -> str:
    """Return the plan by which a batch is judged; what it said on paper otherwise."""
    plan = batch.plan
    if plan is None:
        return batch.plan_label
    return (
        f"plan v{plan.number}, signed {scribe.at(plan.signed_at)} by {plan.by_name}, "
        f"content {plan.content_sha256[:8]}…"
    )


def _looser(batch: Batch) -> tuple[str, ...]:
    """Return the limits of the batch's plan that are looser, by whose letter."""
    return () if batch.plan is None else looser_lines(content(batch.plan)["limits"])


def _printed_curves(
    records: BatchRecords, judgement: Any, wish: Wish
) -> tuple[CurveSheet, ...]:
    """Return the curves that a page needs: with a limit to see, or with logged values.

    Typed readings without a limit stand whole in their table.
    """
    logged = {trace.step for trace in records.traces.current}
    return tuple(
        sheet
        for sheet in _curves(records, judgement, wish)
        if sheet.bounds or sheet.deadlines or sheet.step in logged
    )


def _usual_unit(producer: Producer) -> str:
    """Return the unit of the producer's owner."""
    owner = (
        Member.objects
        .filter(producer=producer, role=Member.Role.OWNER)
        .order_by("pk")
        .first()
    )
    return owner.temperature_unit if owner else "degF"


def _summary(records: BatchRecords, scribe: Scribe, came_from: str) -> str:
    batch = records.batch
    lots = " and ".join(
        f"{wording.amount(used.mass_kg, 'kg')} from lot {used.lot.code}"
        for used in records.lots
    )
    parts = [lots or came_from or "no lot on record", _plan(batch, scribe)]
    parts.append(f"begun {scribe.at(batch.started_at)} by {batch.by_name}")
    return " · ".join(part for part in parts if part)


def _facts(records: BatchRecords) -> Iterable[Pair]:
    batch = records.batch
    known = batch.product.evidence(batch.premises).facts
    for name in [*PRODUCT_FACTS, *(n for n in known if n not in PRODUCT_FACTS)]:
        value = known.get(name)
        shown = (
            value if name == "jurisdiction" else wording.plain(value or "not stated")
        )
        yield Pair(name=FACTS[name].title if name in FACTS else name, value=shown)
    if batch.product.thickest_mm is not None:
        thickest = wording.amount(batch.product.thickest_mm, "mm")
        yield Pair(name="Thickest piece", value=thickest)
    if batch.product.shelf_life_days is not None:
        yield Pair(name="Shelf life", value=f"{batch.product.shelf_life_days} days")
    yield Pair(
        name="Premises",
        value=f"{batch.premises.name}, {wording.number(batch.premises.elevation_m)} m",
    )
    if batch.note:
        yield Pair(name="Note", value=batch.note)


def _lot_row(used: Any, scribe: Scribe) -> LotRow:
    lot = used.lot
    code = f" ({lot.supplier_code})" if lot.supplier_code else ""
    return LotRow(
        code=lot.code,
        food=wording.plain(lot.food),
        supplier=f"{lot.supplier}{code}",
        received=f"{scribe.at(lot.received_at)}, {lot.by_name}",
        mass=f"{wording.amount(used.mass_kg, 'kg')} of {wording.amount(lot.mass_kg, 'kg')}",
        note=lot.note,
    )


def _estimates(batch: Batch, scribe: Scribe) -> Iterable[EstimateRow]:
    """Yield what was estimated beside the batch, as it was worked out then."""
    for row in estimates_of(batch):
        yield EstimateRow(
            title=row.title,
            lines=tuple(sentence(one) for one in kept(row.result)),
            asked="; ".join(f"{what}: {said}" for what, said in row.inputs.items()),
            made=f"{scribe.at(row.recorded_at)}, {row.by_name}, version {row.version}",
        )


def _tolerances(records: BatchRecords) -> dict[int, tuple[Any, str]]:
    return {instrument.pk: _tolerance(instrument) for instrument in records.instruments}


def _tolerance(instrument: Instrument) -> tuple[Any, str]:
    if instrument.tolerance is not None:
        return instrument.tolerance, instrument.unit
    value, unit, _ = default_tolerance(instrument.measures)
    return value, unit


def _written(records: BatchRecords) -> Iterable[Any]:
    """Yield every row that somebody wrote."""
    yield records.batch
    for rows in (
        records.marks,
        records.readings,
        records.traces,
        records.statements,
        records.dates,
        records.remarks,
        records.lab_results,
        records.checks,
    ):
        yield from rows.all
    yield from records.reviews


def _content_sha256(record: BatchRecord) -> str:
    """Return the number of what the record says, whoever prints it and whenever."""
    bare = replace(record, curves=(), annex=())
    content = {k: v for k, v in asdict(bare).items() if k not in NOT_CONTENT}
    if not content["estimates"]:
        del content["estimates"]  # so that older prints keep their number
    written = json.dumps(content, sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(written.encode()).hexdigest()
