"""What was read off an instrument or came from a laboratory."""

from datetime import datetime
from typing import ClassVar

from django.db import models

from batches.models.append_only import AppendOnly
from batches.models.entry import STEP_CHOICES, Entry
from batches.models.exact import ExactDecimalField
from batches.models.instrument import Instrument
from batches.models.producer import Member, Producer
from safety.quantities import QUANTITIES

QUANTITY_CHOICES = [(name, name) for name in QUANTITIES]


class LabResult(Entry):
    """A laboratory's report on samples of a batch; its figures are readings.

    ``mixed`` is how many pieces were mixed into each sample: a mixture tells their mean,
    and hides how much they differ.
    """

    ACT: ClassVar[str] = "lab-result.recorded"

    laboratory = models.CharField(max_length=120)
    reference = models.CharField(max_length=60, blank=True)
    mixed = models.PositiveSmallIntegerField(default=1)
    sampled_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True, blank=True)
    reported_at = models.DateTimeField(null=True, blank=True)
    read_at = models.DateTimeField(null=True, blank=True)
    note = models.TextField(blank=True)

    def __str__(self) -> str:
        return f"{self.laboratory} {self.reference}".strip()

    @property
    def claimed_at(self) -> datetime | None:
        """Return when somebody read the report: it cannot be written down before."""
        return self.read_at


class LabRead(AppendOnly):
    """That somebody read a laboratory's report that was on record unread."""

    ACT: ClassVar[str] = "lab-result.read"

    producer = models.ForeignKey(Producer, models.PROTECT, related_name="+")
    result = models.OneToOneField(LabResult, models.PROTECT, related_name="reading")
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(Member, models.PROTECT, related_name="+")
    by_name = models.CharField(max_length=120)

    class Meta(AppendOnly.Meta):
        pass

    def __str__(self) -> str:
        return f"{self.result}, read"


class Reading(Entry):
    """One typed figure, with its digits as typed, in the unit in which it was read."""

    ACT: ClassVar[str] = "reading.recorded"

    step = models.CharField(max_length=24, choices=STEP_CHOICES)
    quantity = models.CharField(max_length=24, choices=QUANTITY_CHOICES)
    place = models.CharField(max_length=40, blank=True)
    value = ExactDecimalField()
    unit = models.CharField(max_length=8)
    occurred_at = models.DateTimeField()
    instrument = models.ForeignKey(
        Instrument, models.PROTECT, null=True, blank=True, related_name="readings"
    )
    lab_result = models.ForeignKey(
        LabResult, models.PROTECT, null=True, blank=True, related_name="readings"
    )

    class Meta(Entry.Meta):
        indexes = [models.Index(fields=["batch", "occurred_at"])]

    def __str__(self) -> str:
        return f"{self.quantity} {self.typed} {self.unit}"

    @property
    def typed(self) -> str:
        """Return the figure with the digits that were typed ("145.0")."""
        return format(self.value, "f")

    @property
    def claimed_at(self) -> datetime | None:
        """Return when it was read; a laboratory's figure claims nothing by itself."""
        return None if self.lab_result_id else self.occurred_at
