"""Reads: the checks of one instrument, and the batches that were read with it."""

from dataclasses import dataclass
from datetime import datetime

from django.db.models import Exists, OuterRef, QuerySet

from batches.lookups.lists import batches_of
from batches.models import (
    Batch,
    Instrument,
    InstrumentCheck,
    InstrumentUse,
    Reading,
    Trace,
)


@dataclass(frozen=True, slots=True)
class Stretch:
    """From one instant to another, both included."""

    start: datetime
    end: datetime


def checks_of(instrument: Instrument) -> QuerySet[InstrumentCheck]:
    """Return all checks of an instrument, corrected ones too, newest first."""
    return (
        InstrumentCheck.objects
        .filter(instrument=instrument)
        .select_related("instrument", "reference_instrument", "corrects", "by")
        .order_by("-occurred_at", "-pk")
    )


def uses_of(instrument: Instrument) -> QuerySet[InstrumentUse]:
    """Return when an instrument was taken out of use and put back, newest first."""
    return InstrumentUse.objects.filter(instrument=instrument).order_by(
        "-recorded_at", "-pk"
    )


def batches_read_in(instrument: Instrument, stretch: Stretch) -> QuerySet[Batch]:
    """Return the batches with a reading of the instrument in a stretch of time.

    Also those whose reading was corrected since: leaving one out would cost more than
    judging one for nothing.
    """
    here = {"batch": OuterRef("pk"), "instrument": instrument}
    typed = Reading.objects.filter(
        **here, occurred_at__gte=stretch.start, occurred_at__lte=stretch.end
    )
    sampled = Reading.objects.filter(**here, lab_result__isnull=False)
    logged = Trace.objects.filter(
        **here, first_at__lte=stretch.end, last_at__gte=stretch.start
    )
    return (
        batches_of(instrument.producer)
        .filter(Exists(typed) | Exists(sampled) | Exists(logged))
        .order_by("started_at", "pk")
    )
