"""Reads: who belongs to a producer, and what an inspector's link shows."""

from datetime import datetime, time, timedelta

from django.db.models import Count, F, Max, QuerySet
from django.utils.crypto import constant_time_compare

from batches.lookups.lists import batches_of, premises_of
from batches.models import Batch, InspectorLink, LinkView, Member, PlanSignature
from batches.models.producer import Producer


def members_of(producer: Producer) -> QuerySet[Member]:
    """Return the producer's people, those who left last."""
    return (
        Member.objects
        .filter(producer=producer)
        .select_related("user", "producer")
        .order_by(F("ended_at").asc(nulls_first=True), "name", "pk")
    )


def person_of(producer: Producer, pk: int) -> Member:
    """Return one of the producer's people; one of another does not exist."""
    return members_of(producer).get(pk=pk)


def links_of(producer: Producer) -> QuerySet[InspectorLink]:
    """Return the producer's links, newest first, with how often each was opened."""
    return (
        InspectorLink.objects
        .filter(producer=producer)
        .select_related("batch", "producer", "by", "revocation")
        .annotate(opened=Count("views"), last_opened_at=Max("views__recorded_at"))
        .order_by("-recorded_at", "-pk")
    )


def link_of(producer: Producer, pk: int) -> InspectorLink:
    """Return one of the producer's links; one of another does not exist."""
    return links_of(producer).get(pk=pk)


def views_of(link: InspectorLink) -> QuerySet[LinkView]:
    """Return what was opened by a link, newest first."""
    return LinkView.objects.filter(link=link).order_by("-recorded_at", "-pk")


def open_link(*, token_sha256: str, now: datetime) -> InspectorLink | None:
    """Return the link of this number while it serves; None for any other."""
    link = (
        InspectorLink.objects
        .filter(token_sha256=token_sha256, revocation=None, expires_at__gt=now)
        .select_related("batch", "producer", "by")
        .first()
    )
    if link is None or not constant_time_compare(link.token_sha256, token_sha256):
        return None
    return link


def batches_in(link: InspectorLink) -> QuerySet[Batch]:
    """Return the batches that a link shows."""
    batches = batches_of(link.producer)
    if link.batch_id is not None:
        return batches.filter(pk=link.batch_id)
    if link.first_on is None or link.last_on is None:
        return batches.none()
    zone = premises_of(link.producer)[0].zone
    start = datetime.combine(link.first_on, time.min, zone)
    end = datetime.combine(link.last_on + timedelta(days=1), time.min, zone)
    return batches.filter(started_at__gte=start, started_at__lt=end)


def plans_in(link: InspectorLink) -> QuerySet[PlanSignature]:
    """Return the signed plans by which the batches of a link were made."""
    return (
        PlanSignature.objects
        .filter(pk__in=batches_in(link).order_by().values("plan"))
        .select_related("product")
        .order_by("product__name", "number")
    )
