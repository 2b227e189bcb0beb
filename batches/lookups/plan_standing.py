"""Reads: what a signed plan is today: in force or superseded, and when it is due again."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from batches.lookups.plans import reassessments_due, signed_plans
from batches.models import PlanSignature


@dataclass(frozen=True, slots=True)
class Standing:
    """A signed plan, the one that superseded it, and when it is due to be looked at."""

    signature: PlanSignature
    superseded_by: PlanSignature | None
    due_at: datetime | None


def standings(signed: Iterable[PlanSignature]) -> list[Standing]:
    """Return signed plans of one product with what superseded each, in their order."""
    known = list(signed)
    return [Standing(each, _next(each, known), None) for each in known]


def standing(signature: PlanSignature) -> Standing:
    """Return what one signed plan is today; only a plan in force is due again."""
    after = _next(signature, signed_plans(signature.product))
    due_at = None
    if after is None:
        due_at = next(
            due.due_at
            for due in reassessments_due(signature.producer)
            if due.signature.pk == signature.pk
        )
    return Standing(signature, after, due_at)


def _next(
    signature: PlanSignature, known: Iterable[PlanSignature]
) -> PlanSignature | None:
    """Return the plan for the same premises that was signed next; None with none."""
    later = [
        each
        for each in known
        if each.premises_id == signature.premises_id
        and _order(each) > _order(signature)
    ]
    return min(later, key=_order, default=None)


def _order(signature: PlanSignature) -> tuple[datetime, int]:
    return signature.signed_at, signature.number
