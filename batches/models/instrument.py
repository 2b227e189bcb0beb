"""What measured, and how it was checked."""

from typing import ClassVar

from django.db import models

from batches.models.append_only import Correctable
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
    """One comparison of an instrument with a known truth; never changed."""

    ACT: ClassVar[str] = "check.recorded"

    class Method(models.TextChoices):
        ICE_POINT = "ice-point", "Ice point"
        BOILING_POINT = "boiling-point", "Boiling point"
        REFERENCE = "reference", "Reference"

    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="checks")
    method = models.CharField(max_length=16, choices=Method.choices)
    shown = ExactDecimalField()
    true = ExactDecimalField()
    unit = models.CharField(max_length=8)
    occurred_at = models.DateTimeField()
    adjusted = models.BooleanField(default=False)
    note = models.TextField(blank=True)

    class Meta(Correctable.Meta):
        indexes = [models.Index(fields=["instrument", "occurred_at"])]

    def __str__(self) -> str:
        return f"{self.method}: {self.shown} for {self.true} {self.unit}"
