"""Where a lot came from, as tracing asks it, and what was done with the raw fish in store."""

from typing import ClassVar

from django.db import models

from batches.models.exact import ExactDecimalField
from batches.models.logbook import LogEntry
from batches.models.lot import Lot


class LotOrigin(LogEntry):
    """What tracing asks about a lot: its code, its source, its harvest, its papers.

    What is blank is not known. Where no code came with the lot, ours is given to it
    (``is_own_code``): the rule allows that only where nobody had to give one before.
    """

    ACT: ClassVar[str] = "lot-origin.recorded"

    class Way(models.TextChoices):
        SHIPPED = "shipped", "From somebody who sent a traceability lot code with it"
        EXEMPT = "exempt", "From somebody who need not give a code, and gave none"
        LANDED = "landed", "Straight from a fishing vessel"
        FARMED = "farmed", "Straight from a fish farm, not packed before"

    lot = models.ForeignKey(Lot, models.PROTECT, related_name="origins")
    way = models.CharField(max_length=12, choices=Way.choices)
    code = models.CharField(max_length=60, blank=True)
    is_own_code = models.BooleanField(default=False)
    code_source = models.CharField(max_length=200, blank=True)
    market_name = models.CharField(max_length=80, blank=True)
    latin_name = models.CharField(max_length=80, blank=True)
    description = models.CharField(max_length=120, blank=True)
    source_place = models.CharField(max_length=200, blank=True)
    source_phone = models.CharField(max_length=40, blank=True)
    first_caught_on = models.DateField(null=True, blank=True)
    last_caught_on = models.DateField(null=True, blank=True)
    caught_where = models.CharField(max_length=120, blank=True)
    vessel = models.CharField(max_length=80, blank=True)
    landed_on = models.DateField(null=True, blank=True)
    farm_place = models.CharField(max_length=200, blank=True)
    farm_phone = models.CharField(max_length=40, blank=True)
    pond = models.CharField(max_length=60, blank=True)
    document = models.CharField(max_length=60, blank=True)
    document_number = models.CharField(max_length=60, blank=True)
    carrier = models.CharField(max_length=200, blank=True)

    def __str__(self) -> str:
        return f"{self.lot.code}: {self.get_way_display()}"


class LotHandling(LogEntry):
    """Raw fish of a lot frozen, thawed, trimmed, thrown away, or weighed in store.

    ``mass_kg`` of a weighing is what was still there; of all others what they concern,
    None where nobody weighed it.
    """

    ACT: ClassVar[str] = "lot-handling.recorded"

    class Kind(models.TextChoices):
        FROZEN = "frozen", "Put into the freezer"
        THAW_BEGUN = "thaw-begun", "Thawing began"
        THAW_ENDED = "thaw-ended", "Thawing ended"
        TRIMMED = "trimmed", "Trimmed off"
        DISCARDED = "discarded", "Thrown away"
        WEIGHED = "weighed", "Weighed: what is left"

    lot = models.ForeignKey(Lot, models.PROTECT, related_name="handlings")
    kind = models.CharField(max_length=12, choices=Kind.choices)
    mass_kg = ExactDecimalField(null=True, blank=True)
    place = models.CharField(max_length=60, blank=True)
    temperature = ExactDecimalField(null=True, blank=True)
    unit = models.CharField(max_length=8, blank=True)

    def __str__(self) -> str:
        mass = "" if self.mass_kg is None else f", {self.mass_kg} kg"
        return f"{self.lot.code}: {self.get_kind_display().lower()}{mass}"
