"""Reads: one lot with how it came in, what was made of it, and what went wrong with it."""

from dataclasses import dataclass

from batches.lookups.deviations import DeviationState, states_of
from batches.models import BatchLot, Hold, Lot, Producer, ReceivingCheck


@dataclass(frozen=True, slots=True)
class LotCase:
    """A lot beside its check at the door, the batches made of it, its deviations."""

    check: ReceivingCheck | None
    uses: tuple[BatchLot, ...]
    states: tuple[DeviationState, ...]

    @property
    def is_rejected(self) -> bool:
        """Say whether it was rejected when it came in."""
        check = self.check
        return check is not None and check.decision == check.Decision.REJECTED

    @property
    def is_unanswered(self) -> bool:
        """Say whether it was rejected and no deviation says what became of it."""
        return self.is_rejected and not self.states

    @property
    def is_wrong(self) -> bool:
        """Say whether anything is to be decided, or was, about the lot itself."""
        return self.is_rejected or bool(self.states)

    @property
    def holds(self) -> tuple[Hold, ...]:
        """Return the holds that are not lifted."""
        return tuple(hold for state in self.states for hold in state.open_holds)


def receiving_check_of(lot: Lot) -> ReceivingCheck | None:
    """Return what was last written down of how a lot came in."""
    checks = lot.receiving_checks.current().select_related("by").order_by("-pk")
    found: ReceivingCheck | None = checks.first()
    return found


def lot_case(lot: Lot) -> LotCase:
    """Return everything that its own page says of a lot."""
    uses = lot.batch_lots.select_related("batch__product").order_by("batch__started_at")
    return LotCase(
        check=receiving_check_of(lot),
        uses=tuple(uses),
        states=states_of(lot.deviations.all()),
    )


def lots_unanswered(producer: Producer) -> tuple[ReceivingCheck, ...]:
    """Return the rejections of lots of which no deviation says what became of them."""
    return tuple(
        ReceivingCheck.objects
        .current()
        .filter(
            producer=producer,
            decision=ReceivingCheck.Decision.REJECTED,
            lot__deviations__isnull=True,
        )
        .select_related("lot")
        .order_by("-occurred_at", "-pk")
    )


def lots_stopped(producer: Producer) -> dict[int, str]:
    """Return the lots of which nothing may be made now, each with why, in two queries."""
    rejected = ReceivingCheck.objects.current().filter(
        producer=producer, decision=ReceivingCheck.Decision.REJECTED
    )
    held = Hold.objects.filter(
        producer=producer, lot__isnull=False, lifting__isnull=True
    )
    return {
        **dict.fromkeys(rejected.values_list("lot_id", flat=True), "rejected"),
        **dict.fromkeys(held.values_list("lot_id", flat=True), "on hold"),
    }
