"""Reads: the trail of a producer, newest first, and what it can be narrowed to."""

from dataclasses import dataclass

from django.db.models import QuerySet

from batches.models import Producer, TrailEvent


@dataclass(frozen=True, slots=True)
class TrailFilters:
    """What occurs in a producer's trail: acts, kinds of row, and names of people."""

    acts: tuple[str, ...]
    subjects: tuple[str, ...]
    people: tuple[str, ...]


def trail_of(
    producer: Producer, *, act: str = "", subject: str = "", person: str = ""
) -> QuerySet[TrailEvent]:
    """Return the events of a trail, newest first; an empty word narrows nothing."""
    wanted = {"act": act, "subject": subject, "by_name": person}
    return producer.trail.filter(**{
        name: value for name, value in wanted.items() if value
    }).order_by("-number")


def trail_filters(producer: Producer) -> TrailFilters:
    """Return what the trail of a producer can be narrowed to."""
    return TrailFilters(
        *(
            tuple(producer.trail.order_by(name).values_list(name, flat=True).distinct())
            for name in ("act", "subject", "by_name")
        )
    )
