"""Writes: a batch is started; its steps begin and end."""

from collections.abc import Mapping, Sequence
from datetime import datetime, tzinfo
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import transaction

from batches.errors import RecordError
from batches.lookups.plans import plan_in_force
from batches.models import (
    Batch,
    BatchLot,
    Lot,
    Member,
    Premises,
    Producer,
    Product,
    StepMark,
)
from batches.recording import guards, rows, taking, trail

START, END = StepMark.Edge.values


@transaction.atomic
def start_batch(
    producer: Producer,
    *,
    product: Product,
    premises: Premises,
    lots: Sequence[tuple[Lot, Decimal | str]] = (),
    started_at: datetime,
    by: Member,
    at: datetime,
    code: str | None = None,
    plan_label: str = "",
    note: str = "",
    entry_id: UUID | str | None = None,
) -> Batch:
    """Start a batch from lots; without a code it gets the month's next free one.

    The same ``entry_id`` again is the same batch, whose ``recorded_at`` is then not
    ``at``; refused if it says anything else, but for the instant.
    """
    guards.check_may(by, producer, "start")
    trail.hold(producer.pk)
    guards.check_own(product, producer, "product", "product")
    guards.check_own(premises, producer, "premises", "premises")
    guards.check_past("started_at", started_at, at=at, zone=premises.zone)
    masses = [_taken(producer, lot, mass_kg) for lot, mass_kg in lots]
    if len({lot.pk for lot, _ in masses}) < len(masses):
        raise RecordError(
            "lots", "A lot is named twice. Give its whole weight once.", "lot-twice"
        )
    content = {
        "product": product,
        "premises": premises,
        "plan_label": plan_label.strip(),
        "note": note.strip(),
    }
    before = _started(producer, entry_id, content | {"code": code}, masses)
    if before is not None:
        return before
    for lot, mass_kg in masses:
        taking.check_taken(lot, mass_kg)
    batch = rows.add(
        Batch,
        producer=producer,
        code=_code(producer, code, started_at.astimezone(premises.zone)),
        started_at=started_at,
        plan=plan_in_force(product, premises, started_at),
        **content,
        **rows.identified(entry_id),
        **rows.signed(by, at),
    )
    for lot, mass_kg in masses:
        rows.add(
            BatchLot,
            rows.signed(by, at),
            batch=batch,
            lot=lot,
            mass_kg=mass_kg,
        )
    return batch


@transaction.atomic
def mark_step(
    batch: Batch,
    *,
    step: str,
    edge: str,
    occurred_at: datetime,
    by: Member,
    at: datetime,
    corrects: StepMark | None = None,
    reason: str = "",
    entry_id: UUID | str | None = None,
    paper_initials: str | None = None,
) -> StepMark:
    """Say that a step began or ended."""
    batch = rows.locked(batch)
    guards.check_member(by, batch.producer)
    guards.check_step(step)
    content = {
        "batch": batch,
        "step": step,
        "edge": edge,
        "occurred_at": occurred_at,
        "corrects": corrects,
        "reason": reason.strip(),
    } | rows.on_paper(paper_initials, corrects)
    if (before := rows.repeated(StepMark, entry_id, content)) is not None:
        return before
    rows.check_correction(corrects, reason, of=batch, kind=StepMark)
    if corrects is not None and (corrects.step, corrects.edge) != (step, edge):
        raise RecordError(
            "corrects",
            "A corrected mark keeps its step and its edge. Take the wrong mark back "
            "and set the right one.",
            "wrong-row",
        )
    guards.check_past("occurred_at", occurred_at, at=at, zone=batch.premises.zone)
    _check_edges(batch, step, edge, occurred_at, corrects)
    return rows.add(
        StepMark, **content, **rows.identified(entry_id), **rows.signed(by, at)
    )


def edges(
    batch: Batch, step: str, *, but: StepMark | None = None
) -> dict[str, StepMark]:
    """Return the current start and end of a step, leaving out one mark."""
    marks = batch.stepmarks.current().filter(step=step)
    return {str(mark.edge): mark for mark in marks if but is None or mark.pk != but.pk}


def _check_edges(
    batch: Batch,
    step: str,
    edge: str,
    occurred_at: datetime,
    corrects: StepMark | None,
) -> None:
    title, zone = guards.check_step(step), batch.premises.zone
    known = edges(batch, step, but=corrects)
    start, end = known.get(START), known.get(END)
    if edge in known:
        raise RecordError("edge", _again(title, known, zone), "already-marked")
    if edge == END and start is None:
        raise RecordError(
            "edge", f"{title} was never started. Mark its start first.", "no-start"
        )
    first = start.occurred_at if start is not None else occurred_at
    last = end.occurred_at if end is not None else occurred_at
    if last < first:
        raise RecordError(
            "occurred_at",
            f"{title} would end at {guards.wall(last, zone)}, before it started at "
            f"{guards.wall(first, zone)}. Check the day and the hour.",
            "end-before-start",
        )


def _again(title: str, known: dict[str, StepMark], zone: tzinfo) -> str:
    if END in known:
        return (
            f"{title} ended at {guards.wall(known[END].occurred_at, zone)}. If it goes "
            "on, take that end back; if the time is wrong, correct it."
        )
    return (
        f"{title} was started at {guards.wall(known[START].occurred_at, zone)} and "
        "still goes on. If the time is wrong, correct it."
    )


def _started(
    producer: Producer,
    entry_id: UUID | str | None,
    content: Mapping[str, Any],
    masses: Sequence[tuple[Lot, Decimal]],
) -> Batch | None:
    """Return the batch that this form started before, None if it is new."""
    if entry_id is None:
        return None
    batch = producer.batches.filter(entry_id=rows.as_uuid(entry_id)).first()
    if batch is None:
        return None
    taken = {part.lot_id: part.mass_kg for part in batch.batch_lots.all()}
    if taken != {lot.pk: mass_kg for lot, mass_kg in masses} or any(
        value is not None and getattr(batch, name) != value
        for name, value in content.items()
    ):
        raise RecordError(
            "",
            f"This form already started batch {batch.code}, with other words or "
            "weights. Look at that batch; start a new one from an empty form.",
            "entry-id-used",
        )
    return batch


def _taken(producer: Producer, lot: Lot, mass_kg: Decimal | str) -> tuple[Lot, Decimal]:
    guards.check_own(lot, producer, "lots", "lot")
    return lot, guards.positive("lots", mass_kg)


def _code(producer: Producer, code: str | None, started: datetime) -> str:
    if code is None:
        stem = f"{started:%y%m}-"
        used = producer.batches.filter(code__startswith=stem).values_list(
            "code", flat=True
        )
        numbers = [
            int(tail) for each in used if (tail := each[len(stem) :]).isdecimal()
        ]
        return f"{stem}{max(numbers, default=0) + 1:02d}"
    code = guards.check_code("code", code, "batch")
    if producer.batches.filter(code=code).exists():
        raise RecordError(
            "code", f"There is already a batch {code}. Give this one another.", "taken"
        )
    return code
