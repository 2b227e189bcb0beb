"""What came in."""

from typing import ClassVar

from django.db import models

from batches.models.append_only import AppendOnly
from batches.models.exact import ExactDecimalField
from batches.models.producer import Member, Producer


class Lot(AppendOnly):
    """One delivery of raw food, as it was received; never changed."""

    ACT: ClassVar[str] = "lot.received"

    producer = models.ForeignKey(Producer, models.PROTECT, related_name="lots")
    code = models.CharField(max_length=40)
    food = models.CharField(max_length=60)
    supplier = models.CharField(max_length=120)
    supplier_code = models.CharField(max_length=60, blank=True)
    received_at = models.DateTimeField()
    mass_kg = ExactDecimalField()
    note = models.TextField(blank=True)
    by = models.ForeignKey(Member, models.PROTECT, related_name="+")
    by_name = models.CharField(max_length=120)
    recorded_at = models.DateTimeField()

    class Meta(AppendOnly.Meta):
        constraints = [
            models.UniqueConstraint(
                fields=["producer", "code"], name="lot_code_once_per_producer"
            )
        ]

    def __str__(self) -> str:
        return self.code
