"""What a reviewer reads: each kind of row of a batch, and of a week. A kind is a line here."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Model, QuerySet

from batches.lookups.logbook import MODELS
from batches.models import (
    Batch,
    BrineMix,
    Deviation,
    Dispatch,
    Disposition,
    Hold,
    InstrumentCheck,
    InstrumentUse,
    LabRead,
    LabResult,
    Lifting,
    MarketCount,
    MarketDay,
    NamedDate,
    Packing,
    Photo,
    Reading,
    RecallCase,
    RecallContact,
    RecallEnd,
    Release,
    Remark,
    Response,
    Rework,
    SanitationAnswer,
    SoakBreak,
    Statement,
    StepMark,
    StockCount,
    TakingBack,
    Trace,
)
from batches.reviewing import STEP_ROWS


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of row that is read: ``owner`` leads from it to its batch or producer.

    ``where`` narrows it; ``related`` are read with it, and its ``parts``. A row of a week
    that belongs to one of another kind, named before it, lies in that one's week:
    ``follows`` names the kind, and the column with its key.
    """

    model: type[Model]
    owner: str
    related: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    where: Mapping[str, Any] = field(default_factory=dict)
    follows: tuple[str, str] | None = None
    is_weekly: bool = False

    def rows(self) -> QuerySet[Any]:
        """Return all rows of the kind in the order written, with who wrote them."""
        found = self.model._default_manager.filter(**self.where)
        found = found.select_related("by", *self.related).order_by("pk")
        return found.prefetch_related(*self.parts)


OF_BATCH: dict[str, Kind] = {
    "batch": Kind(Batch, "pk"),
    STEP_ROWS: Kind(StepMark, "batch"),
    "reading": Kind(Reading, "batch"),
    "trace": Kind(Trace, "batch"),
    "statement": Kind(Statement, "batch"),
    "date": Kind(NamedDate, "batch"),
    "remark": Kind(Remark, "batch"),
    "lab-result": Kind(LabResult, "batch"),
    "packing": Kind(Packing, "batch"),
    "dispatch": Kind(Dispatch, "batch", ("buyer", "market")),
    "market-count": Kind(MarketCount, "batch", ("market",)),
    "stock-count": Kind(StockCount, "batch"),
    "brine": Kind(BrineMix, "batch"),
    "soak-break": Kind(SoakBreak, "batch"),
    "lab-read": Kind(LabRead, "result__batch"),
    "deviation": Kind(Deviation, "batch"),
    "hold": Kind(Hold, "batch", ("deviation",)),
    "response": Kind(Response, "deviation__batch", ("deviation",)),
    "photo": Kind(Photo, "response__deviation__batch", ("response__deviation",)),
    "disposition": Kind(Disposition, "deviation__batch", ("deviation",)),
    "taking-back": Kind(
        TakingBack, "disposition__deviation__batch", ("disposition__deviation",)
    ),
    "lifting": Kind(Lifting, "hold__batch", ("hold__deviation",)),
    "rework": Kind(Rework, "from_batch", ("to_batch", "disposition__deviation")),
    "release": Kind(Release, "batch"),
}


def _of_lot(model: type[Model], to_lot: str, *related: str) -> Kind:
    """Return a kind of rows about a lot: no batch has them, so a week does."""
    where = {f"{to_lot}__isnull": False}
    return Kind(model, "producer", related, where=where, is_weekly=True)


def _of_logbook(kind: str, *related: str, parts: tuple[str, ...] = ()) -> Kind:
    related = ("premises", *related)
    return Kind(MODELS[kind], "producer", related, parts, is_weekly=True)


OF_WEEK: dict[str, Kind] = {
    "check": Kind(
        InstrumentCheck, "instrument__producer", ("instrument",), is_weekly=True
    ),
    "sanitation": _of_logbook("sanitation", parts=("answers",)),
    "sanitation-answer": Kind(
        SanitationAnswer,
        "round__producer",
        follows=("sanitation", "round_id"),
        is_weekly=True,
    ),
    "receiving": _of_logbook("receiving", "lot"),
    "origins": _of_logbook("origins", "lot"),
    "raw-fish": _of_logbook("raw-fish", "lot"),
    "training": _of_logbook("training"),
    "complaints": _of_logbook("complaints", "batch"),
    "follow-ups": _of_logbook("follow-ups", "complaint", "visit"),
    "maintenance": _of_logbook("maintenance"),
    "tests": _of_logbook("tests"),
    "gauges": _of_logbook("gauges"),
    "changes": _of_logbook("changes", "product"),
    "recalls": _of_logbook("recalls", "batch"),
    "conditions": _of_logbook("conditions"),
    "visits": _of_logbook("visits"),
    "documents": _of_logbook("documents"),
    "instrument-use": Kind(
        InstrumentUse,
        "instrument__producer",
        ("instrument", "check_row"),
        is_weekly=True,
    ),
    "market-day": Kind(MarketDay, "producer", is_weekly=True),
    "recall-begun": Kind(RecallCase, "producer", is_weekly=True),
    "recall-asked": Kind(RecallContact, "producer", ("case", "buyer"), is_weekly=True),
    "recall-ended": Kind(RecallEnd, "producer", ("case",), is_weekly=True),
    "timings": _of_logbook("timings"),
    "lot-deviation": _of_lot(Deviation, "lot", "lot"),
    "lot-hold": _of_lot(Hold, "lot", "deviation"),
    "lot-response": _of_lot(Response, "deviation__lot", "deviation"),
    "lot-photo": _of_lot(Photo, "response__deviation__lot", "response__deviation"),
    "lot-disposition": _of_lot(Disposition, "deviation__lot", "deviation"),
    "lot-taking-back": _of_lot(
        TakingBack, "disposition__deviation__lot", "disposition__deviation"
    ),
    "lot-lifting": _of_lot(Lifting, "hold__lot", "hold__deviation"),
}
