"""Estimates that somebody put beside a batch: planning, never evidence."""

import uuid
from typing import ClassVar

from django.db import models

from batches.models.append_only import AppendOnly
from batches.models.batch import Batch
from batches.models.producer import Member


class Estimate(AppendOnly):
    """One answer of a calculator, as it was worked out, with what it was worked out from.

    ``result`` holds plain values, worked out anew from ``inputs`` by the program of
    ``version``; no limit is ever judged by it.
    """

    ACT: ClassVar[str] = "estimate.attached"

    batch = models.ForeignKey(Batch, models.PROTECT, related_name="estimates")
    entry_id = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    calculator = models.CharField(max_length=40)
    title = models.CharField(max_length=120)
    query = models.TextField()
    inputs = models.JSONField()
    result = models.JSONField()
    version = models.CharField(max_length=40)
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(Member, models.PROTECT, related_name="+")
    by_name = models.CharField(max_length=120)

    def __str__(self) -> str:
        return f"estimate {self.title}, beside batch {self.batch.code}"
