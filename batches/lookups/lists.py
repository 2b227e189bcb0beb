"""Reads: the lists of a producer, and single rows by the codes that people use."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.contrib.auth.models import AbstractBaseUser, AnonymousUser
from django.db.models import Case, F, Max, OuterRef, QuerySet, Subquery, When

from batches.models import (
    Batch,
    BrineMix,
    Dispatch,
    Instrument,
    InstrumentCheck,
    InstrumentUse,
    LabResult,
    Lot,
    MarketCount,
    Member,
    NamedDate,
    Packing,
    Premises,
    Producer,
    Product,
    Reading,
    Remark,
    SecondStepRule,
    SoakBreak,
    Statement,
    StepMark,
    StockCount,
    Trace,
)
from batches.models.append_only import Correctable

# The kinds of row that can be corrected, by the word in their address.
KINDS: dict[str, type[Correctable]] = {
    "brine": BrineMix,
    "check": InstrumentCheck,
    "date": NamedDate,
    "dispatch": Dispatch,
    "lab-result": LabResult,
    "market-count": MarketCount,
    "packing": Packing,
    "reading": Reading,
    "remark": Remark,
    "soak-break": SoakBreak,
    "statement": Statement,
    "step": StepMark,
    "stock-count": StockCount,
    "trace": Trace,
}


SOON = timedelta(days=2)  # own figure: how long before it is due a check is shown


@dataclass(frozen=True, slots=True)
class InstrumentState:
    """An instrument with its last check, when the next is due, and whether it is in use.

    ``serves_since`` is the last check that serves later readings: one after which the
    instrument was adjusted serves none, unless it was read again as it was left.
    """

    instrument: Instrument
    last_check: InstrumentCheck | None
    serves_since: datetime | None = None
    is_out_of_use: bool = False

    def is_due(self, now: datetime) -> bool:
        """Say whether a check is due; one that was never checked is."""
        due_on = self.due_on(now)
        return not self.is_out_of_use and (due_on is None or due_on <= now.date())

    def is_due_soon(self, now: datetime) -> bool:
        """Say whether a check is due in the next days, and not yet."""
        due_on = self.due_on(now)
        is_near = due_on is not None and due_on <= (now + SOON).date()
        return is_near and not self.is_out_of_use and not self.is_due(now)

    def due_on(self, now: datetime) -> date | None:
        """Return the last day on which the last check still serves, as ``now`` counts.

        None if there was no check.
        """
        if self.serves_since is None:
            return None
        checked_on = self.serves_since.astimezone(now.tzinfo).date()
        return checked_on + timedelta(days=self.instrument.check_every_days)


def member_of(user: AbstractBaseUser | AnonymousUser) -> Member | None:
    """Return the person's membership with its producer; None for a stranger.

    ``second_step_asked_at`` says since when the producer asks all for the second step.
    """
    if not user.is_authenticated:
        return None
    return (
        Member.objects
        .filter(user=user, ended_at=None)
        .annotate(second_step_asked_at=second_step_asked(OuterRef("producer")))
        .select_related("producer", "user")
        .order_by("created_at", "pk")
        .first()
    )


def second_step_asked(producer: Producer | OuterRef) -> Subquery:
    """Return since when a producer asks all for the second step; NULL where it does not."""
    rules = SecondStepRule.objects.filter(producer=producer).order_by("-pk")
    since = Case(When(is_required=True, then=F("recorded_at")))
    return Subquery(rules.annotate(since=since).values("since")[:1])


def is_second_step_asked(producer: Producer) -> bool:
    """Say whether a producer asks all its members for the second step."""
    newest = SecondStepRule.objects.filter(producer=producer).order_by("-pk").first()
    return newest is not None and newest.is_required


def batches_of(producer: Producer) -> QuerySet[Batch]:
    """Return the producer's batches with product and premises, newest first."""
    return (
        Batch.objects
        .filter(producer=producer)
        .select_related("product", "premises", "producer", "plan", "by")
        .order_by("-started_at", "-pk")
    )


def batch_of(producer: Producer, code: str) -> Batch:
    """Return a batch by its code; one of another producer does not exist."""
    return batches_of(producer).get(code=code)


def lots_of(producer: Producer) -> QuerySet[Lot]:
    """Return the producer's lots, newest first."""
    return Lot.objects.filter(producer=producer).order_by("-received_at", "-pk")


def lot_of(producer: Producer, code: str) -> Lot:
    """Return a lot by its code; one of another producer does not exist."""
    return lots_of(producer).get(code=code)


def products_of(producer: Producer) -> QuerySet[Product]:
    """Return the producer's products by name."""
    return Product.objects.filter(producer=producer).order_by("name")


def premises_of(producer: Producer) -> QuerySet[Premises]:
    """Return the producer's premises, first made first."""
    return Premises.objects.filter(producer=producer).order_by("pk")


def instruments_of(producer: Producer) -> tuple[InstrumentState, ...]:
    """Return the producer's instruments by code, each with its last check."""
    checks = InstrumentCheck.objects.current().filter(instrument=OuterRef("pk"))
    last = checks.order_by("-occurred_at", "-pk")
    as_found = checks.filter(adjusted=False).order_by("-occurred_at")
    as_left = checks.filter(as_left_at__isnull=False).order_by("-as_left_at")
    uses = InstrumentUse.objects.filter(instrument=OuterRef("pk"))
    instruments = list(
        Instrument.objects
        .filter(producer=producer)
        .annotate(
            last_check_id=Subquery(last.values("pk")[:1]),
            found_at=Subquery(as_found.values("occurred_at")[:1]),
            left_at=Subquery(as_left.values("as_left_at")[:1]),
            last_use=Subquery(uses.order_by("-recorded_at", "-pk").values("state")[:1]),
        )
        .order_by("code")
    )
    rows = InstrumentCheck.objects.select_related(
        "by", "instrument", "reference_instrument"
    ).in_bulk([found.last_check_id for found in instruments if found.last_check_id])
    return tuple(
        InstrumentState(
            found,
            rows.get(found.last_check_id),
            max(filter(None, (found.found_at, found.left_at)), default=None),
            found.last_use == InstrumentUse.OUT,
        )
        for found in instruments
    )


def instrument_of(producer: Producer, code: str) -> Instrument:
    """Return an instrument by its code; one of another producer does not exist."""
    return Instrument.objects.select_related("producer").get(
        producer=producer, code=code
    )


def row_of(producer: Producer, kind: str, pk: int) -> Any:
    """Return a row that can be corrected; one of another producer does not exist."""
    model = KINDS[kind]
    owner = "instrument" if model is InstrumentCheck else "batch"
    return model.objects.select_related(owner, "by").get(
        pk=pk, **{f"{owner}__producer": producer}
    )


def last_reading_of(batch: Batch, *, step: str, quantity: str) -> Reading | None:
    """Return what was last typed here: its place, unit and instrument are offered."""
    return (
        Reading.objects
        .current()
        .filter(batch=batch, step=step, quantity=quantity, lab_result=None)
        .select_related("instrument")
        .order_by("-occurred_at", "-pk")
        .first()
    )


def last_seen(batches: list[Batch]) -> dict[tuple[int, str], datetime]:
    """Return when each step of each batch was last read, typed or logged."""
    seen: dict[tuple[int, str], datetime] = {}
    for model, column in ((Reading, "occurred_at"), (Trace, "last_at")):
        found = (
            model.objects
            .current()
            .filter(batch__in=batches)
            .values_list("batch_id", "step")
            .annotate(last=Max(column))
        )
        for batch_id, step, last in found:
            key = (batch_id, step)
            seen[key] = max(last, seen.get(key, last))
    return seen
