"""Reads: deviations with everything that was answered, what is held, what is released."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db.models import Exists, OuterRef, Prefetch, QuerySet

from batches.models import (
    Batch,
    Deviation,
    Disposition,
    Hold,
    Lot,
    Photo,
    Producer,
    Reassessment,
    Release,
    Response,
    Rework,
)

Kind = Response.Kind
AMOUNTS = ("kg", "packages")


@dataclass(frozen=True, slots=True)
class DeviationState:
    """One deviation with its holds, answers and decisions, each in the order written.

    ``taken_back`` are decisions that were mistyped: they stay on record, and count for
    nothing.
    """

    deviation: Deviation
    holds: tuple[Hold, ...]
    responses: tuple[Response, ...]
    dispositions: tuple[Disposition, ...]
    taken_back: tuple[Disposition, ...] = ()

    def answers(self, kind: Any) -> tuple[Response, ...]:
        """Return the answers of one kind."""
        return tuple(each for each in self.responses if each.kind == kind)

    @property
    def contained_at(self) -> datetime | None:
        """Return when the food was first held or contained."""
        instants = [each.held_at for each in self.holds]
        instants += [each.done_at for each in self.answers(Kind.CONTAINMENT)]
        return min(instants, default=None)

    def held(self, unit: str) -> Decimal | int | None:
        """Return how much is held by what was last said of it; None if nobody said."""
        told: list[Any] = [*self.holds, *self.answers(Kind.CONTAINMENT)]
        said = [each for each in told if getattr(each, unit) is not None]
        last = max(said, key=lambda each: (each.recorded_at, each.pk), default=None)
        return None if last is None else getattr(last, unit)

    def decided(self, unit: str) -> Decimal | int:
        """Return for how much a decision was made."""
        return sum(getattr(each, unit) or 0 for each in self.dispositions)

    def undecided(self, unit: str) -> Decimal | int | None:
        """Return how much still wants a decision; None where no amount is known."""
        held = self.held(unit)
        return None if held is None else held - self.decided(unit)

    @property
    def is_decided(self) -> bool:
        """Say whether every part of the food has a decision, or nothing wanted one."""
        if self.is_settled:
            return True
        if not self.dispositions:
            return False
        return all(self.undecided(unit) in {None, 0} for unit in AMOUNTS)

    @property
    def open_holds(self) -> tuple[Hold, ...]:
        """Return the holds that are not lifted."""
        return tuple(hold for hold in self.holds if not hasattr(hold, "lifting"))

    @property
    def closing(self) -> Response | None:
        """Return by which answer it was closed."""
        return next(iter(self.answers(Kind.CLOSING)), None)

    @property
    def is_settled(self) -> bool:
        """Say whether a person closed it because later evidence shows the limit met."""
        return self.closing is not None and self.closing.is_settled

    @property
    def reworks(self) -> tuple[Rework, ...]:
        """Return the batches that its food was worked into again."""
        return tuple(
            rework for each in self.dispositions for rework in each.reworks.all()
        )

    @property
    def unworked(self) -> tuple[Disposition, ...]:
        """Return the decisions to work food again that no batch follows yet.

        One new batch follows all the deviations that its food was held for.
        """
        batch = self.deviation.batch
        if batch is not None and batch.reworked_to.all():
            return ()
        return tuple(
            each
            for each in self.dispositions
            if each.kind == Disposition.Kind.REWORK and not each.reworks.all()
        )

    @property
    def standing(self) -> str:
        """Return in one word how far it is answered."""
        if self.closing is not None:
            return "closed"
        if self.is_decided:
            return "decided"
        if self.answers(Kind.EVALUATION):
            return "evaluated"
        return "contained" if self.contained_at is not None else "open"

    @property
    def photos(self) -> tuple[Photo, ...]:
        """Return all pictures."""
        return tuple(photo for each in self.responses for photo in each.photos.all())


def states_of(deviations: QuerySet) -> tuple[DeviationState, ...]:
    """Return deviations with everything said about them, in seven queries at most."""
    found = (
        deviations
        .select_related("batch__premises", "batch__product", "batch__plan", "lot", "by")
        .prefetch_related(
            Prefetch(
                "holds",
                Hold.objects.select_related("lifting", "by").order_by("pk"),
            ),
            Prefetch(
                "responses",
                Response.objects.select_related("by", "reassessment").order_by("pk"),
            ),
            Prefetch(
                "responses__photos", Photo.objects.select_related("by").order_by("pk")
            ),
            "batch__reworked_to",
            Prefetch(
                "dispositions",
                Disposition.objects.select_related("by", "taking_back").order_by("pk"),
            ),
            Prefetch(
                "dispositions__reworks",
                Rework.objects.select_related("to_batch", "by").order_by("pk"),
            ),
        )
        .order_by("pk")
    )
    return tuple(
        DeviationState(
            each,
            tuple(each.holds.all()),
            tuple(each.responses.all()),
            tuple(one for one in each.dispositions.all() if not is_taken_back(one)),
            tuple(one for one in each.dispositions.all() if is_taken_back(one)),
        )
        for each in found
    )


def is_taken_back(disposition: Disposition) -> bool:
    """Say whether a decision was mistyped and counts for nothing."""
    return hasattr(disposition, "taking_back")


def deviations_of(producer: Producer) -> tuple[DeviationState, ...]:
    """Return all deviations of a producer, those that want something first, oldest first.

    In each part the oldest stands first: it has waited longest.
    """
    states = states_of(Deviation.objects.filter(producer=producer))
    return tuple(sorted(states, key=lambda one: one.closing is not None))


def deviation_of(producer: Producer, number: int) -> DeviationState:
    """Return a deviation by its number; one of another producer does not exist."""
    deviation = Deviation.objects.get(producer=producer, number=number)
    return state_of(deviation)


def state_of(deviation: Deviation) -> DeviationState:
    """Return one deviation with everything said about it."""
    (state,) = states_of(Deviation.objects.filter(pk=deviation.pk))
    return state


def photo_of(producer: Producer, pk: int) -> Photo:
    """Return a picture; one of another producer does not exist."""
    return Photo.objects.get(producer=producer, pk=pk)


def open_holds_of(thing: Batch | Lot) -> tuple[Hold, ...]:
    """Return the holds of a batch or a lot that are not lifted, the oldest first."""
    return tuple(
        thing.holds.filter(lifting__isnull=True).select_related("by").order_by("pk")
    )


def is_on_hold(thing: Batch | Lot) -> bool:
    """Say whether a batch or a lot is on hold."""
    return thing.holds.filter(lifting__isnull=True).exists()


def on_hold(batches: Iterable[Batch]) -> frozenset[int]:
    """Return the keys of those batches that are on hold, in one query."""
    keys = [batch.pk for batch in batches]
    found = Hold.objects.filter(batch__in=keys, lifting__isnull=True)
    return frozenset(found.values_list("batch_id", flat=True))


def holds_of(producer: Producer) -> tuple[Hold, ...]:
    """Return everything that a producer holds, the oldest first."""
    return tuple(
        Hold.objects
        .filter(producer=producer, lifting__isnull=True)
        .select_related("batch__product", "batch__premises", "lot", "deviation", "by")
        .order_by("held_at", "pk")
    )


def open_deviations_of(producer: Producer) -> QuerySet[Deviation]:
    """Return the deviations that are not closed, without what was answered."""
    closed = Response.objects.filter(deviation=OuterRef("pk"), kind=Kind.CLOSING)
    return Deviation.objects.filter(~Exists(closed), producer=producer)


def releases_of(batch: Batch) -> tuple[Release, ...]:
    """Return the signed releases of a batch, the oldest first, with their findings."""
    return tuple(
        batch.releases
        .select_related("findings", "by")
        .prefetch_related("findings__rows__deviation")
        .order_by("pk")
    )


def reworks_of(batch: Batch) -> tuple[Rework, ...]:
    """Return from which batch this one was worked, and into which ones."""
    found = Rework.objects.filter(producer=batch.producer_id).select_related(
        "from_batch", "to_batch", "disposition__deviation", "by"
    )
    return tuple(
        (found.filter(from_batch=batch) | found.filter(to_batch=batch)).order_by("pk")
    )


def reassessments_of(batch: Batch) -> QuerySet[Reassessment]:
    """Return when the plans of a batch's product were looked at again, newest first."""
    return Reassessment.objects.filter(
        producer=batch.producer_id, signature__product=batch.product_id
    ).order_by("-done_at", "-pk")
