"""Writes: tests of surfaces and water, gauges, changes of the work, food taken back."""

from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from batches.errors import RecordError
from batches.models import (
    Batch,
    GaugeCheck,
    Premises,
    Product,
    Recall,
    SampleTest,
    WorkChange,
)
from batches.models.logbook import YesNo
from batches.recording import guards
from batches.recording.logbook import enter


@transaction.atomic
def record_test(
    premises: Premises,
    *,
    of: str,
    place: str,
    sought: str,
    result: str,
    samples: int = 1,
    zone: str = "",
    laboratory: str = "",
    number: str = "",
    put_right: str = "",
    **entry: Any,
) -> SampleTest:
    """Write down a sample of a surface, of water or ice; a bad result says what was done."""
    if samples < 1:
        raise RecordError("samples", "At least one sample was drawn.", "no-sample")
    if result == SampleTest.Result.BAD:
        guards.check_text("put_right", put_right, "what was done about it")
    content = {
        "of": of,
        "place": guards.check_text("place", place, "where it was drawn"),
        "zone": zone.strip(),
        "sought": guards.check_text("sought", sought, "what was looked for"),
        "samples": samples,
        "laboratory": laboratory.strip(),
        "number": number.strip(),
        "result": result,
        "put_right": put_right.strip(),
    }
    return enter(SampleTest, premises, content, entry)


@transaction.atomic
def check_gauge(
    premises: Premises,
    *,
    gauge: str,
    kind: str,
    standard: str,
    true: Decimal | str,
    shown: Decimal | str,
    unit: str,
    is_right: bool,
    put_right: str = "",
    again_by: date | None = None,
    **entry: Any,
) -> GaugeCheck:
    """Write down what a scale or a salometer showed beside something known."""
    if not is_right:
        guards.check_text("put_right", put_right, "what was done with it")
    content = {
        "gauge": guards.check_text("gauge", gauge, "which one it was"),
        "kind": kind,
        "standard": guards.check_text("standard", standard, "what it was held against"),
        "true": guards.number("true", true),
        "shown": guards.number("shown", shown),
        "unit": guards.check_text("unit", unit, "in which unit"),
        "is_right": is_right,
        "put_right": put_right.strip(),
        "again_by": again_by,
    }
    return enter(GaugeCheck, premises, content, entry)


@transaction.atomic
def record_change(
    premises: Premises,
    *,
    subject: str,
    what: str,
    matters: str,
    why: str = "",
    product: Product | None = None,
    **entry: Any,
) -> WorkChange:
    """Write down what changed; whoever says that it cannot matter says why."""
    if product is not None:
        guards.check_own(product, premises.producer, "product", "product")
    if matters == YesNo.NO:
        guards.check_text("why", why, "why it cannot matter to the plan")
    content = {
        "subject": subject,
        "what": guards.check_text("what", what, "what changed"),
        "product": product,
        "matters": matters,
        "why": why.strip(),
    }
    return enter(WorkChange, premises, content, entry)


@transaction.atomic
def record_recall(
    premises: Premises,
    *,
    kind: str,
    why: str,
    batch: Batch | None = None,
    codes: str = "",
    ended_at: datetime | None = None,
    made: int | None = None,
    in_stock: int | None = None,
    delivered: int | None = None,
    used_up: int | None = None,
    told: str = "",
    shortfalls: str = "",
    put_right: str = "",
    **entry: Any,
) -> Recall:
    """Write down that food was taken back, or that taking it back was practised."""
    if batch is not None:
        guards.check_own(batch, premises.producer, "batch", "batch")
    elif not codes.strip():
        raise RecordError("codes", "Say which food: a batch, or codes.", "no-food")
    if ended_at is not None and ended_at < entry["occurred_at"]:
        raise RecordError("ended_at", "It ended before it began.", "ends-first")
    content = {
        "kind": kind,
        "batch": batch,
        "codes": codes.strip(),
        "why": guards.check_text("why", why, "why it was taken back"),
        "ended_at": ended_at,
        "made": made,
        "in_stock": in_stock,
        "delivered": delivered,
        "used_up": used_up,
        "told": told.strip(),
        "shortfalls": shortfalls.strip(),
        "put_right": put_right.strip(),
    }
    return enter(Recall, premises, content, entry)
