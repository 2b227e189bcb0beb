"""Reads: what changed in the work of a batch, and which plans came before its own."""

from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q

from batches.lookups.records import BatchRecords
from batches.models import Batch, PlanSignature, Reassessment, WorkChange


@dataclass(frozen=True, slots=True)
class Changed:
    """Changes that the batch was made under, and when its plans were looked at.

    ``changes`` is None where none was ever written at the premises. ``signatures`` are
    those of the product by the start of the batch, ``made_under`` the keys of those
    under which an earlier batch was made.
    """

    changes: tuple[WorkChange, ...] | None
    signatures: tuple[PlanSignature, ...]
    looked_at: tuple[datetime, ...]
    made_under: frozenset[int]


def changed_of(records: BatchRecords) -> Changed:
    """Return what changed before a batch: four queries, one where it has no plan."""
    batch = records.batch
    written = tuple(
        WorkChange.objects
        .current()
        .filter(premises=batch.premises_id)
        .order_by("occurred_at", "pk")
    )
    changes = tuple(
        row
        for row in written
        if row.product_id in {None, batch.product_id}
        and row.occurred_at <= batch.started_at
    )
    kept = changes if written else None
    if batch.plan_id is None:
        return Changed(kept, (), (), frozenset())
    signatures = tuple(
        PlanSignature.objects.filter(
            product=batch.product_id, signed_at__lte=batch.started_at
        ).order_by("signed_at", "pk")
    )
    again = Reassessment.objects.filter(signature__product=batch.product_id)
    before = Batch.objects.filter(
        Q(started_at__lt=batch.started_at)
        | Q(started_at=batch.started_at, pk__lt=batch.pk),
        product=batch.product_id,
        plan__isnull=False,
    )
    return Changed(
        changes=kept,
        signatures=signatures,
        looked_at=tuple(again.order_by("done_at").values_list("done_at", flat=True)),
        made_under=frozenset(before.values_list("plan_id", flat=True)),
    )
