"""What was made, and from which lots."""

from typing import ClassVar

from django.db import models

from batches.models.append_only import AppendOnly
from batches.models.exact import ExactDecimalField
from batches.models.lot import Lot
from batches.models.plan import PlanSignature
from batches.models.producer import Member, Premises, Producer
from batches.models.product import Product


class Batch(AppendOnly):
    """One batch as it was started; all that is seen of it are entries of their own.

    ``plan`` is the signed plan that was in force then; it keeps it for ever. By
    ``entry_id`` a form that is sent twice is known to be one batch.
    """

    ACT: ClassVar[str] = "batch.started"

    producer = models.ForeignKey(Producer, models.PROTECT, related_name="batches")
    premises = models.ForeignKey(Premises, models.PROTECT, related_name="batches")
    product = models.ForeignKey(Product, models.PROTECT, related_name="batches")
    entry_id = models.UUIDField(unique=True, null=True, editable=False)
    code = models.CharField(max_length=40)
    started_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(Member, models.PROTECT, related_name="+")
    by_name = models.CharField(max_length=120)
    plan_label = models.CharField(max_length=60, blank=True)
    plan = models.ForeignKey(
        PlanSignature, models.PROTECT, null=True, blank=True, related_name="batches"
    )
    note = models.TextField(blank=True)
    lots = models.ManyToManyField(Lot, through="BatchLot", related_name="batches")

    class Meta(AppendOnly.Meta):
        verbose_name_plural = "batches"
        indexes = [models.Index(fields=["producer", "-started_at"])]
        constraints = [
            models.UniqueConstraint(
                fields=["producer", "code"], name="batch_code_once_per_producer"
            )
        ]

    def __str__(self) -> str:
        return self.code


class BatchLot(AppendOnly):
    """How much of one lot went into one batch; never changed."""

    ACT: ClassVar[str] = "lot.used"

    batch = models.ForeignKey(Batch, models.PROTECT, related_name="batch_lots")
    lot = models.ForeignKey(Lot, models.PROTECT, related_name="batch_lots")
    mass_kg = ExactDecimalField()

    class Meta(AppendOnly.Meta):
        constraints = [
            models.UniqueConstraint(fields=["batch", "lot"], name="lot_once_per_batch")
        ]

    def __str__(self) -> str:
        return f"{self.mass_kg} kg of {self.lot_id} in {self.batch_id}"
