"""Recalls and drills: when begun, whom they asked, how they ended."""

from typing import ClassVar

from django.db import models

from batches.models.batch import Batch
from batches.models.deviation import Told
from batches.models.packing import Buyer
from batches.models.producer import Member


class RecallCase(Told):
    """That somebody began to find all packages of some batches, in earnest or as a drill."""

    ACT: ClassVar[str] = "recall.begun"

    number = models.PositiveIntegerField()
    is_drill = models.BooleanField()
    code = models.CharField(max_length=120)
    reason = models.TextField()
    ask_percent = models.PositiveSmallIntegerField(default=100)
    began_at = models.DateTimeField()

    class Meta(Told.Meta):
        constraints = [
            models.UniqueConstraint(
                fields=["producer", "number"], name="recall_number_once"
            )
        ]

    def __str__(self) -> str:
        return f"{'Drill' if self.is_drill else 'Recall'} {self.number}"


class RecallBatch(Told):
    """That a batch is among those whose packages are looked for."""

    ACT: ClassVar[str] = "recall-batch.named"

    case = models.ForeignKey(RecallCase, models.PROTECT, related_name="batches")
    batch = models.ForeignKey(Batch, models.PROTECT, related_name="recall_cases")

    class Meta(Told.Meta):
        constraints = [
            models.UniqueConstraint(
                fields=["case", "batch"], name="batch_once_per_recall"
            )
        ]

    def __str__(self) -> str:
        return f"{self.case}: {self.batch}"


class RecallContact(Told):
    """That somebody was told, or asked whether the telling had worked; what they said."""

    ACT: ClassVar[str] = "recall.asked"

    case = models.ForeignKey(RecallCase, models.PROTECT, related_name="contacts")
    buyer = models.ForeignKey(
        Buyer, models.PROTECT, null=True, blank=True, related_name="recall_contacts"
    )
    whom = models.CharField(max_length=200, blank=True)
    how = models.CharField(max_length=120, blank=True)
    reached = models.BooleanField()
    still_there = models.PositiveIntegerField(null=True, blank=True)
    destroyed = models.PositiveIntegerField(null=True, blank=True)
    note = models.TextField(blank=True)
    contacted_at = models.DateTimeField()

    class Meta(Told.Meta):
        pass

    def __str__(self) -> str:
        return f"{self.case}: {self.buyer or self.whom}"


class RecallEnd(Told):
    """How it ended, signed: the account as it was then, and the trail that was signed."""

    ACT: ClassVar[str] = "recall.ended"

    case = models.OneToOneField(RecallCase, models.PROTECT, related_name="end")
    account = models.JSONField()
    learned = models.TextField(blank=True)
    meaning = models.TextField()
    title = models.CharField(max_length=120)
    role = models.CharField(max_length=12, choices=Member.Role.choices)
    ended_at = models.DateTimeField()
    trail_head_number = models.PositiveBigIntegerField(default=0)
    trail_head_sha256 = models.CharField(max_length=64, blank=True)

    class Meta(Told.Meta):
        pass

    def __str__(self) -> str:
        return f"{self.case}, ended"
