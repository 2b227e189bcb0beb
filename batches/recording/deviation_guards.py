"""What is asked before a deviation is answered, each refusal a sentence for the person."""

from datetime import datetime, tzinfo
from decimal import Decimal
from typing import Any

from batches.errors import RecordError
from batches.lookups.deviations import AMOUNTS, DeviationState, state_of
from batches.models import (
    Batch,
    Deviation,
    Disposition,
    Lot,
    Member,
    Reassessment,
    Response,
)
from batches.recording import guards, rows

Kind = Response.Kind
_GONE = (Disposition.Kind.DESTROY, Disposition.Kind.DIVERT, Disposition.Kind.RETURN)
_AFTER_HOLD = (Kind.EVALUATION, Kind.DISPOSITION)


def locked(thing: Batch | Lot) -> tuple[Any, tzinfo | None]:
    """Return a batch or a lot, held until the transaction ends, and its time zone."""
    if isinstance(thing, Batch):
        batch = rows.locked(thing)
        return batch, batch.premises.zone
    lot = rows.held(thing)
    premises = lot.producer.premises.order_by("pk").first()
    return lot, premises.zone if premises is not None else None


def locked_state(
    deviation: Deviation, by: Member
) -> tuple[DeviationState, tzinfo | None]:
    """Return a deviation as it stands, its batch or lot held until the end."""
    thing, zone = locked(deviation.batch or deviation.lot)
    guards.check_member(by, thing.producer)
    return state_of(deviation), zone


def named(thing: Batch | Lot) -> dict[str, Any]:
    """Return the column that says what a row is about."""
    return {"batch": thing} if isinstance(thing, Batch) else {"lot": thing}


def amounts(kg: Decimal | str | None, packages: int | None) -> dict[str, Any]:
    """Return the amounts that were told, or refuse what is not above zero."""
    told: dict[str, Any] = {"kg": None, "packages": None}
    if kg not in {None, ""}:
        told["kg"] = guards.positive("kg", kg or "")
    if packages is not None:
        if packages <= 0:
            raise RecordError(
                "packages",
                f"{packages} is no number of packages. Count them, or leave it empty.",
                "not-positive",
            )
        told["packages"] = packages
    return told


def said(unit: str, amount: Decimal | int) -> str:
    """Return an amount in words."""
    if unit == "kg":
        return f"{amount} kg"
    return f"{amount} package" if amount == 1 else f"{amount} packages"


def check_belongs(deviation: Deviation, thing: Batch | Lot) -> None:
    """Refuse a deviation of another batch or lot."""
    owner = deviation.batch_id if isinstance(thing, Batch) else deviation.lot_id
    if owner != thing.pk:
        raise RecordError("deviation", "There is no such deviation here.", "not-found")


def check_not_closed(state: DeviationState) -> None:
    """Refuse to answer what is closed."""
    closing = state.closing
    if closing is not None:
        raise RecordError(
            "",
            f"{state.deviation} was closed by {closing.by_name}. If something is wrong "
            "again, open another deviation.",
            "closed",
        )


def check_room(state: DeviationState, **told: Any) -> None:
    """Refuse to hold less than what was decided already."""
    for unit in AMOUNTS:
        decided = state.decided(unit)
        if told[unit] is not None and told[unit] < decided:
            raise RecordError(
                unit,
                f"Decisions already cover {said(unit, decided)}. Say how much is held "
                "in all, with what was decided before.",
                "less-than-decided",
            )


def check_done(
    state: DeviationState,
    kind: str,
    done_at: datetime,
    *,
    at: datetime,
    zone: tzinfo | None,
) -> None:
    """Refuse an answer in the future, after the closing, or before containment."""
    guards.check_past("done_at", done_at, at=at, zone=zone)
    if kind != Kind.EVIDENCE:
        check_not_closed(state)
    if kind not in _AFTER_HOLD:
        return
    check_contained(state, "done_at", done_at, zone=zone)
    if kind == Kind.DISPOSITION and not state.dispositions:
        raise RecordError(
            "kind",
            "Nothing was decided yet that could be carried out. Decide first what "
            "becomes of the food.",
            "undecided",
        )


def check_contained(
    state: DeviationState, field: str, instant: datetime, *, zone: tzinfo | None
) -> None:
    """Refuse to evaluate or decide before the food was held or contained."""
    contained_at = state.contained_at
    if contained_at is None:
        raise RecordError(
            "", "Hold the food first; then evaluate and decide.", "not-contained"
        )
    if instant < contained_at.replace(second=0, microsecond=0):  # forms tell minutes
        raise RecordError(
            field,
            f"That is before the food was held, at {guards.wall(contained_at, zone)}. "
            "Check the day and the hour.",
            "before-containment",
        )


def check_reassessment(state: DeviationState, row: Reassessment | None) -> None:
    """Refuse a look at a plan that has nothing to do with this food."""
    if row is None:
        return
    guards.check_own(row, state.deviation.producer, "reassessment", "reassessment")
    batch = state.deviation.batch
    if batch is not None and row.signature.product_id != batch.product_id:
        raise RecordError(
            "reassessment",
            "That plan is of another product. Look at the plan of this one.",
            "other-product",
        )


def check_complete(state: DeviationState, is_foreseen: bool | None) -> None:
    """Refuse to close while food, cause or plan have no answer."""
    check_food_answered(state)
    if not state.answers(Kind.CAUSE):
        raise RecordError(
            "",
            "It cannot be closed without its cause. Write what caused it and how it "
            "was put right.",
            "no-cause",
        )
    if is_foreseen is None:
        raise RecordError(
            "is_foreseen",
            "Say whether a written action of your plan was for this deviation.",
            "unsaid",
        )
    if not is_foreseen:
        _check_looked_at_plan(state)


def check_food_answered(state: DeviationState) -> None:
    """Refuse while a part of the food has no decision, or one was not carried out."""
    if not state.dispositions:
        raise RecordError(
            "",
            "It cannot be closed before it is decided what becomes of the food.",
            "no-product-answer",
        )
    for unit in AMOUNTS:
        left = state.undecided(unit)
        if left:
            raise RecordError(
                "",
                f"{said(unit, left)} of {said(unit, state.held(unit) or 0)} held have "
                "no decision yet. Decide on all of it.",
                "amounts",
            )
    if state.unworked:
        raise RecordError(
            "",
            "It was decided to work food again, but no batch follows. Start it from "
            "here, so that the two are linked.",
            "no-rework",
        )
    is_gone = any(each.kind in _GONE for each in state.dispositions)
    if is_gone and not state.answers(Kind.DISPOSITION):
        raise RecordError(
            "",
            "Write how the decision was carried out: how much, how, and who saw it.",
            "not-carried-out",
        )


def _check_looked_at_plan(state: DeviationState) -> None:
    looked = state.answers(Kind.REASSESSMENT)
    batch = state.deviation.batch
    has_plan = batch is not None and batch.plan_id is not None
    if not looked:
        raise RecordError(
            "",
            "Your plan had no action for this, so the plan must be looked at again. "
            "Record that first.",
            "no-reassessment",
        )
    if has_plan and not any(each.reassessment_id for each in looked):
        raise RecordError(
            "",
            "The signed plan itself must be looked at again, with a result. Record "
            "that first.",
            "no-reassessment",
        )
