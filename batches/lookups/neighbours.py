"""Reads: what a batch is compared with: earlier batches, its lots' other uses, tests."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from batches.lookups.records import BatchRecords, Rows
from batches.models import (
    Batch,
    BatchLot,
    LabResult,
    Reading,
    Reassessment,
    StepMark,
    Trace,
)
from safety.quantities import SAMPLE

MOST_EARLIER = 12  # own figure: a season's batches of one product, no more
HEATED = {"step": "heating", "quantity": "core-temperature"}
SALT = (*SAMPLE, "water-phase-salt")


@dataclass(frozen=True)
class EarlierBatch:
    """An earlier batch of the same product: its readings and how it was heated."""

    batch: Batch
    readings: Rows[Reading]
    traces: Rows[Trace]
    marks: Rows[StepMark]


@dataclass(frozen=True)
class Neighbours:
    """What other batches say that matters for the record of one."""

    earlier: tuple[EarlierBatch, ...]
    used_before_kg: Mapping[Any, Decimal]
    last_sampled_at: datetime | None
    reassessed_at: tuple[datetime, ...]


def neighbours_of(records: BatchRecords) -> Neighbours:
    """Return what a batch is compared with, in seven queries."""
    batch = records.batch
    earlier = list(
        Batch.objects.filter(
            product=batch.product_id, started_at__lt=batch.started_at
        ).order_by("-started_at", "-pk")[:MOST_EARLIER]
    )
    readings = _rows(
        Reading.objects
        .filter(batch__in=earlier)
        .select_related("by", "instrument")
        .order_by("occurred_at", "pk")
    )
    traces = _rows(Trace.objects.filter(batch__in=earlier, **HEATED).order_by("pk"))
    marks = _rows(
        StepMark.objects.filter(batch__in=earlier, step=HEATED["step"]).order_by(
            "occurred_at", "pk"
        )
    )
    return Neighbours(
        earlier=tuple(
            EarlierBatch(
                one,
                Rows(readings.get(one.pk, ())),
                Rows(traces.get(one.pk, ())),
                Rows(marks.get(one.pk, ())),
            )
            for one in earlier
        ),
        used_before_kg=_used_before(records),
        last_sampled_at=_last_sampled(batch),
        reassessed_at=_reassessed(batch),
    )


def _rows(rows: Iterable[Any]) -> dict[int, list[Any]]:
    by_batch: dict[int, list[Any]] = {}
    for row in rows:
        by_batch.setdefault(row.batch_id, []).append(row)
    return by_batch


def _used_before(records: BatchRecords) -> dict[Any, Decimal]:
    """Return how much of each lot the batches begun before had taken, kg.

    A batch that was worked again from another took nothing of its own.
    """
    used: dict[Any, Decimal] = {}
    batch = records.batch
    uses = (
        BatchLot.objects
        .filter(lot__in=[use.lot_id for use in records.lots])
        .exclude(batch=batch)
        .filter(
            batch__started_at__lte=batch.started_at, batch__reworked_from__isnull=True
        )
        .order_by("pk")
    )
    for use in uses:
        used[use.lot_id] = used.get(use.lot_id, Decimal(0)) + use.mass_kg
    return used


def _last_sampled(batch: Batch) -> datetime | None:
    """Return when the product was last sampled for salt before this batch."""
    found = (
        LabResult.objects
        .current()
        .filter(
            batch__product=batch.product_id,
            batch__started_at__lt=batch.started_at,
            readings__quantity__in=SALT,
        )
        .order_by("-sampled_at")
        .first()
    )
    return found.sampled_at if found is not None else None


def _reassessed(batch: Batch) -> tuple[datetime, ...]:
    if batch.plan_id is None:
        return ()
    done = Reassessment.objects.filter(signature=batch.plan_id).order_by("done_at")
    return tuple(done.values_list("done_at", flat=True))
