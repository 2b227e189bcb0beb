"""What is asked before fish is taken from a lot: none of it is held, refused or gone."""

from decimal import Decimal
from typing import Any

from batches.errors import RecordError
from batches.lookups.deviations import DeviationState, states_of
from batches.models import Disposition, Lot, ReceivingCheck

Kind = Disposition.Kind
GONE = (Kind.DESTROY, Kind.DIVERT, Kind.RETURN)


def check_taken(lot: Lot, mass_kg: Decimal) -> None:
    """Refuse to take fish from a lot that is held, waits for a decision, or is gone."""
    rejected = ReceivingCheck.Decision.REJECTED
    if lot.receiving_checks.current().filter(decision=rejected).exists():
        raise RecordError(
            "lots",
            f"Lot {lot.code} was rejected when it came in. Take another lot, or "
            "correct that decision first.",
            "lot-rejected",
        )
    states = states_of(lot.deviations.all())
    for state in states:
        if state.open_holds:
            raise _refused(lot, state, "is on hold", "lot-held")
        if not state.is_decided:
            raise _refused(lot, state, "waits for a decision", "lot-undecided")
    left = left_of(lot, states)
    if left is not None and mass_kg > left:
        may = f"only {left} kg" if left else "nothing"
        raise RecordError(
            "lots",
            f"Of lot {lot.code} {may} may be used: on the rest it was decided that it is "
            "not worked here. Take another lot.",
            "lot-gone",
        )


def left_of(lot: Lot, states: tuple[DeviationState, ...]) -> Decimal | None:
    """Return how much of a lot no decision sent elsewhere; None where none was made.

    Several deviations are of the same fish, so the largest amount counts; a decision
    without an amount is one about all of it.
    """
    sent = [_gone(lot, each) for each in states]
    known = [amount for amount in sent if amount is not None]
    return max(Decimal(0), lot.mass_kg - max(known)) if known else None


def check_kind(lot: Lot | None, kind: Any) -> None:
    """Refuse a decision that raw fish of a lot cannot have."""
    if lot is not None and kind == Kind.REWORK:
        raise RecordError(
            "kind",
            f"Lot {lot.code} is what came in: nothing was made of it that could be "
            "worked again. Release it after evaluation, then start a batch from it.",
            "lot-rework",
        )


def _gone(lot: Lot, state: DeviationState) -> Decimal | None:
    gone = [each.kg for each in state.dispositions if each.kind in GONE]
    if not gone:
        return None
    told = [kg for kg in gone if kg is not None]
    return sum(told, Decimal(0)) if len(told) == len(gone) else lot.mass_kg


def _refused(lot: Lot, state: DeviationState, why: str, code: str) -> RecordError:
    return RecordError(
        "lots",
        f"Lot {lot.code} {why} ({state.deviation}). Take another lot, or decide there "
        "first what becomes of it.",
        code,
    )
