"""Reads: the estimates beside a batch, and the batches that may get one."""

from django.db.models import QuerySet

from batches.lookups.lists import batches_of
from batches.models import Batch, Estimate, Producer

_OFFERED = 20  # own figure: batches to choose from, newest first


def estimates_of(batch: Batch) -> QuerySet[Estimate]:
    """Return the estimates beside a batch, in the order written."""
    return Estimate.objects.filter(batch=batch).select_related("by").order_by("pk")


def batches_for_an_estimate(producer: Producer) -> list[Batch]:
    """Return the newest batches of a producer, to put an estimate beside one."""
    return list(batches_of(producer)[:_OFFERED])
