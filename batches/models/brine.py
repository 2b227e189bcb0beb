"""The brine of a batch: what was weighed into it, and when the fish was lifted out."""

from typing import ClassVar

from django.db import models

from batches.models.entry import Entry
from batches.models.exact import ExactDecimalField


class BrineMix(Entry):
    """Water and salt of a brine by weight, and what a salometer read in it."""

    ACT: ClassVar[str] = "brine.mixed"

    occurred_at = models.DateTimeField()
    water = ExactDecimalField()
    salt = ExactDecimalField()
    mass_unit = models.CharField(max_length=8)
    salometer = ExactDecimalField(null=True, blank=True)
    temperature = ExactDecimalField(null=True, blank=True)
    temperature_unit = models.CharField(max_length=8, blank=True)
    is_corrected = models.BooleanField(default=False)

    def __str__(self) -> str:
        read = "" if self.salometer is None else f", salometer {self.salometer:f}"
        return f"{self.salt:f} {self.mass_unit} salt in {self.water:f} {self.mass_unit} water{read}"


class SoakBreak(Entry):
    """A time within the soak for which the fish lay outside the brine."""

    ACT: ClassVar[str] = "soak.interrupted"

    occurred_at = models.DateTimeField()
    back_at = models.DateTimeField()

    class Meta(Entry.Meta):
        constraints = [
            *Entry.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(back_at__gt=models.F("occurred_at")),
                name="soak_break_ends_after_it_began",
            ),
        ]

    def __str__(self) -> str:
        minutes = (self.back_at - self.occurred_at).total_seconds() / 60
        return f"out of the brine for {minutes:.0f} min"
