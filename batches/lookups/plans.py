"""Reads: the plans of a product, the one in force, and when it is due again."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Max

from batches.models import PlanSignature, PlanVersion, Premises, Producer, Product
from safety.limits import figure

REASSESS = "us-cfr.21-123.reassessment"


@dataclass(frozen=True, slots=True)
class Due:
    """A signed plan with the instant by which it must be looked at again."""

    signature: PlanSignature
    due_at: datetime


def product_of(producer: Producer, pk: int) -> Product:
    """Return a product of this producer."""
    return producer.products.select_related("producer").get(pk=pk)


def plan_in_force(
    product: Product, premises: Premises, at: datetime
) -> PlanSignature | None:
    """Return the newest plan signed by then; batches started then are judged by it."""
    return (
        PlanSignature.objects
        .filter(product=product, premises=premises, signed_at__lte=at)
        .order_by("-signed_at", "-number")
        .first()
    )


def numbers_in_force(producer: Producer) -> dict[int, int]:
    """Return the number of the newest signed plan of each product, by its key."""
    rows = producer.signed_plans.values_list("product").annotate(Max("number"))
    return dict(rows)


def signed_plans(product: Product) -> list[PlanSignature]:
    """Return all signed plans of a product, the newest first."""
    return list(product.signed_plans.select_related("premises").order_by("-number"))


def newest_draft(product: Product) -> PlanVersion | None:
    """Return the newest state of the draft that is not signed; None with none."""
    newest = (
        product.plans
        .select_related("product", "premises", "producer")
        .order_by("-number", "-revision")
        .first()
    )
    if (
        newest is None
        or PlanSignature.objects.filter(product=product, number=newest.number).exists()
    ):
        return None
    return newest


def signed_plan(product: Product, number: int) -> PlanSignature:
    """Return one signed plan of a product."""
    return product.signed_plans.select_related("premises", "product", "producer").get(
        number=number
    )


def signed_of(producer: Producer) -> list[PlanSignature]:
    """Return all signed plans of a producer, the first first, with every look at them."""
    return list(
        producer.signed_plans
        .select_related("product", "premises")
        .prefetch_related("reassessments")
        .order_by("signed_at", "number")
    )


def reassessments_due(
    producer: Producer, signed: Iterable[PlanSignature] | None = None
) -> list[Due]:
    """Return, for each plan in force, when it must be looked at again.

    Whoever has read ``signed_of`` hands it over.
    """
    years = int(figure(REASSESS).value)
    newest: dict[tuple[int, int], PlanSignature] = {}
    for signature in signed_of(producer) if signed is None else signed:
        newest[signature.product_id, signature.premises_id] = signature
    return sorted(
        (
            Due(each, _years_later(_last_looked_at(each), years))
            for each in newest.values()
        ),
        key=lambda due: due.due_at,
    )


def _last_looked_at(signature: PlanSignature) -> datetime:
    done = [each.done_at for each in signature.reassessments.all()]
    return max([signature.signed_at, *done])


def _years_later(instant: datetime, years: int) -> datetime:
    try:
        return instant.replace(year=instant.year + years)
    except ValueError:  # 29 February: the day before it
        return _years_later(instant - timedelta(days=1), years)
