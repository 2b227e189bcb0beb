"""Writes: what becomes of held food; food that is worked again as another batch."""

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import transaction

from batches.deviating import current_due
from batches.errors import RecordError
from batches.lookups.deviations import (
    AMOUNTS,
    DeviationState,
    open_holds_of,
    state_of,
    states_of,
)
from batches.models import (
    Deviation,
    Disposition,
    Lifting,
    Lot,
    Member,
    Premises,
    Product,
    Response,
    Rework,
)
from batches.recording import deviation_guards as ask
from batches.recording import guards, rows, steps, taking

Kind = Disposition.Kind


@transaction.atomic
def dispose(
    deviation: Deviation,
    *,
    kind: str,
    reason: str,
    decided_by: str,
    function: str,
    by: Member,
    at: datetime,
    kg: Decimal | str | None = None,
    packages: int | None = None,
    basis: str = "",
    qualification: str = "",
    decided_at: datetime | None = None,
    entry_id: UUID | str | None = None,
) -> Disposition:
    """Decide what becomes of held food, or of a part of it, by a named person.

    Once all of it is decided and nothing else waits, its holds are lifted.
    """
    state, zone = ask.locked_state(deviation, by)
    deviation = state.deviation
    amounts = ask.amounts(kg, packages)
    content: dict[str, Any] = {
        "deviation": deviation,
        "kind": kind,
        "reason": guards.check_text("reason", reason, "why"),
        **amounts,
    }
    if (before := rows.repeated(Disposition, entry_id, content)) is not None:
        return before
    if kind not in Kind.values:
        raise RecordError("kind", f"There is no such decision as {kind!r}.", "unknown")
    taking.check_kind(deviation.lot, kind)
    decided_at = decided_at or at
    guards.check_past("decided_at", decided_at, at=at, zone=zone)
    ask.check_not_closed(state)
    ask.check_contained(state, "decided_at", decided_at, zone=zone)
    _check_amounts(state, amounts)
    if kind == Kind.RELEASE:
        _check_release(state, qualification)
    today = _today(deviation, at)
    made: Disposition = rows.add(
        Disposition,
        producer=deviation.producer,
        basis=basis.strip(),
        decided_by=guards.check_text("decided_by", decided_by, "who decided"),
        function=guards.check_text("function", function, "in which function"),
        qualification=qualification.strip(),
        decided_at=decided_at,
        **today,
        **content,
        **rows.identified(entry_id),
        **rows.signed(by, at),
    )
    _lift(made, by=by, at=at)
    return made


@transaction.atomic
def start_rework(
    disposition: Disposition,
    *,
    kg: Decimal | str,
    started_at: datetime,
    by: Member,
    at: datetime,
    packages: int | None = None,
    product: Product | None = None,
    premises: Premises | None = None,
    code: str | None = None,
    plan_label: str = "",
    note: str = "",
    lots: Sequence[tuple[Lot, Decimal | str]] = (),
    entry_id: UUID | str | None = None,
) -> Rework:
    """Start the batch into which food is worked again, linked to the old one."""
    state, zone = ask.locked_state(disposition.deviation, by)
    batch = state.deviation.batch
    amounts = ask.amounts(kg, packages)
    content = {"disposition": disposition, **amounts}
    if (before := rows.repeated(Rework, entry_id, content)) is not None:
        return before
    if disposition.kind != Kind.REWORK or batch is None:
        raise RecordError(
            "", "It was not decided to work this food again.", "no-rework"
        )
    if started_at < disposition.decided_at:
        raise RecordError(
            "started_at",
            "That is before it was decided, at "
            f"{guards.wall(disposition.decided_at, zone)}. Check the day and the hour.",
            "before-decision",
        )
    _check_worked(disposition, amounts)
    started = steps.start_batch(
        batch.producer,
        product=product or batch.product,
        premises=premises or batch.premises,
        lots=lots,
        started_at=started_at,
        code=code,
        plan_label=plan_label,
        note=note,
        by=by,
        at=at,
    )
    return rows.add(
        Rework,
        producer=batch.producer,
        from_batch=batch,
        to_batch=started,
        **content,
        **rows.identified(entry_id),
        **rows.signed(by, at),
    )


def _check_amounts(state: DeviationState, told: dict[str, Any]) -> None:
    if state.is_decided:
        raise RecordError("", "All of it is decided already.", "decided")
    held = {unit: state.held(unit) for unit in AMOUNTS}
    thing = state.deviation.batch or state.deviation.lot
    if open_holds_of(thing) and not any(held.values()):
        raise RecordError(
            "",
            "Nobody said yet how much is held. Weigh it or count the packages, and "
            "write it down as contained.",
            "amount-unknown",
        )
    for unit, of in held.items():
        if of is None:
            continue
        left = state.undecided(unit) or 0
        if told[unit] is None and left:
            raise RecordError(
                unit,
                f"{ask.said(unit, of)} are held. Say for how much of it this is the "
                "decision.",
                "amount-missing",
            )
        if told[unit] is not None and told[unit] > left:
            raise RecordError(
                unit,
                f"Only {ask.said(unit, left)} still want a decision. "
                "Weigh or count again.",
                "too-much",
            )


def _check_release(state: DeviationState, qualification: str) -> None:
    if not state.answers(Response.Kind.EVALUATION):
        raise RecordError(
            "",
            "Food is let go only after it was evaluated. Write first what was looked "
            "at, and what it shows.",
            "not-evaluated",
        )
    guards.check_text(
        "qualification",
        qualification,
        "by which training or experience this person can judge it",
    )


def _check_worked(disposition: Disposition, told: dict[str, Any]) -> None:
    earlier = list(disposition.reworks.all())
    for unit in AMOUNTS:
        of = getattr(disposition, unit)
        worked = sum(getattr(each, unit) or 0 for each in earlier)
        if of is not None and told[unit] is not None and worked + told[unit] > of:
            raise RecordError(
                unit,
                f"It was decided to work {ask.said(unit, of)} again; this would be "
                f"{ask.said(unit, worked + told[unit])}.",
                "too-much",
            )


def _today(deviation: Deviation, at: datetime) -> dict[str, str]:
    """Return what the limit shows at the decision, so that a change of it is seen."""
    if deviation.batch is None or not deviation.limit_id:
        return {}
    due = current_due(deviation.batch, deviation, at)
    if due is None:
        return {}
    return {"judged_status": due.status.value, "judged_words": due.observed_words}


def _lift(made: Disposition, *, by: Member, at: datetime) -> None:
    """Lift the holds of a batch or lot once every deviation of it is decided."""
    if not state_of(made.deviation).is_decided:
        return
    thing = made.deviation.batch or made.deviation.lot
    waiting = [one for one in states_of(thing.deviations.all()) if not one.is_decided]
    if waiting:
        return
    for each in open_holds_of(thing):
        rows.add(
            Lifting,
            producer=made.producer,
            hold=each,
            disposition=made,
            **rows.signed(by, at),
        )
