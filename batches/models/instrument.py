"""What measured, how it was checked, and when it was out of use."""

import uuid
from decimal import Decimal
from typing import ClassVar

from django.db import models

from batches.models.append_only import AppendOnly, Correctable
from batches.models.exact import ExactDecimalField
from batches.models.producer import Producer
from safety.quantities import INSTRUMENT_KINDS


class Instrument(models.Model):
    """A thermometer, pH meter or aw meter; a blank tolerance is the published one."""

    ACT: ClassVar[str] = "instrument.added"
    CHANGES: ClassVar[tuple[str, ...]] = ("instrument.changed",)

    producer = models.ForeignKey(Producer, models.PROTECT, related_name="instruments")
    code = models.CharField(max_length=40)
    name = models.CharField(max_length=120, blank=True)
    measures = models.CharField(
        max_length=16, choices=[(kind, kind) for kind in INSTRUMENT_KINDS]
    )
    unit = models.CharField(max_length=8)
    tolerance = ExactDecimalField(null=True, blank=True)
    check_every_days = models.PositiveSmallIntegerField()
    created_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["producer", "code"], name="instrument_code_once_per_producer"
            )
        ]

    def __str__(self) -> str:
        return self.code


class InstrumentCheck(Correctable):
    """One comparison of an instrument with a known truth; never changed.

    ``true`` is the likeliest truth; where it is known only between two values, these
    are kept too, with what they rest on. ``shown`` is as found, ``as_left`` is what was
    read after an adjustment, at an instant of its own.
    """

    ACT: ClassVar[str] = "check.recorded"

    class Method(models.TextChoices):
        ICE_POINT = "ice-point", "Ice point"
        BOILING_POINT = "boiling-point", "Boiling point"
        REFERENCE = "reference", "Reference"

    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="checks")
    method = models.CharField(max_length=16, choices=Method.choices)
    shown = ExactDecimalField()
    true = ExactDecimalField()
    true_low = ExactDecimalField(null=True, blank=True)
    true_high = ExactDecimalField(null=True, blank=True)
    unit = models.CharField(max_length=8)
    occurred_at = models.DateTimeField()
    adjusted = models.BooleanField(default=False)
    as_left = ExactDecimalField(null=True, blank=True)
    as_left_at = models.DateTimeField(null=True, blank=True)
    note = models.TextField(blank=True)
    elevation_m = ExactDecimalField(null=True, blank=True)
    pressure = ExactDecimalField(null=True, blank=True)
    pressure_unit = models.CharField(max_length=8, blank=True)
    reference = models.CharField(max_length=120, blank=True)
    reference_instrument = models.ForeignKey(
        Instrument, models.PROTECT, null=True, blank=True, related_name="+"
    )
    certificate = models.CharField(max_length=200, blank=True)
    uncertainty = ExactDecimalField(null=True, blank=True)
    entry_id = models.UUIDField(unique=True, editable=False, null=True)

    class Meta(Correctable.Meta):
        indexes = [models.Index(fields=["instrument", "occurred_at"])]

    def __str__(self) -> str:
        return f"{self.method}: {self.shown} for {self.true} {self.unit}"

    @property
    def true_span(self) -> tuple[Decimal, Decimal]:
        """Return between which values the truth lay; the same twice where it is one."""
        low = self.true if self.true_low is None else self.true_low
        return low, self.true if self.true_high is None else self.true_high


class InstrumentUse(AppendOnly):
    """An instrument taken out of use, or put back; the last row says which holds."""

    ACT: ClassVar[str] = "instrument-use.recorded"

    OUT: ClassVar[str] = "out"
    IN: ClassVar[str] = "in"
    STATES: ClassVar[dict[str, str]] = {OUT: "Out of use", IN: "In use"}

    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="uses")
    state = models.CharField(max_length=3, choices=list(STATES.items()))
    reason = models.TextField()
    occurred_at = models.DateTimeField()
    check_row = models.ForeignKey(
        InstrumentCheck, models.PROTECT, null=True, blank=True, related_name="uses"
    )
    entry_id = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    recorded_at = models.DateTimeField()
    by = models.ForeignKey("batches.Member", models.PROTECT, related_name="+")
    by_name = models.CharField(max_length=120)

    class Meta(AppendOnly.Meta):
        indexes = [models.Index(fields=["instrument", "recorded_at"])]

    def __str__(self) -> str:
        return self.STATES[self.state].lower()
