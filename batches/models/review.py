"""That somebody read the record, and signed it."""

import uuid
from datetime import date, timedelta
from typing import ClassVar

from django.db import models

from batches.models.append_only import AppendOnly
from batches.models.batch import Batch
from batches.models.producer import Member, Producer

TO_SUNDAY = timedelta(days=6)


class Review(AppendOnly):
    """One reading of a batch's record, or of a week's records, as it was signed.

    ``covers`` holds, for each kind of row, the newest key that was read: whatever is
    written later is still to be read. ``oldest_on`` is the day on which the oldest record
    that was new to this reading was made, ``due_on`` the day by which it was due: both
    are kept as they were then, so that a late reading stays late.
    """

    ACT: ClassVar[str] = "review.signed"

    producer = models.ForeignKey(Producer, models.PROTECT, related_name="reviews")
    batch = models.ForeignKey(
        Batch, models.PROTECT, null=True, blank=True, related_name="reviews"
    )
    week_of = models.DateField(null=True, blank=True)
    entry_id = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    signed_at = models.DateTimeField()
    read_on = models.DateField()
    oldest_on = models.DateField()
    due_on = models.DateField()
    limit_id = models.CharField(max_length=120)
    rows_read = models.PositiveIntegerField()
    own_rows = models.PositiveIntegerField()
    covers = models.JSONField()
    content_sha256 = models.CharField(max_length=64)
    meaning = models.TextField()
    note = models.TextField(blank=True)
    title = models.CharField(max_length=120)
    role = models.CharField(max_length=12, choices=Member.Role.choices)
    training = models.CharField(max_length=200, blank=True)
    trail_head_number = models.PositiveBigIntegerField(default=0)
    trail_head_sha256 = models.CharField(max_length=64, blank=True)
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(Member, models.PROTECT, related_name="+")
    by_name = models.CharField(max_length=120)

    class Meta(AppendOnly.Meta):
        indexes = [models.Index(fields=["producer", "week_of"])]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(batch__isnull=False, week_of__isnull=True)
                | models.Q(batch__isnull=True, week_of__isnull=False),
                name="review_of_batch_or_week",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.batch or self.week_of}, read {self.read_on}"

    @property
    def days_late(self) -> int:
        """Return by how many days it was late; 0 where it was in time."""
        return max(0, (self.read_on - self.due_on).days)

    @property
    def days_after(self) -> int:
        """Return how many days after the oldest of its records it was signed."""
        return (self.read_on - self.oldest_on).days

    @property
    def until(self) -> date | None:
        """Return the last day of its week; None for a batch."""
        return None if self.week_of is None else last_day_of(self.week_of)


def last_day_of(week_of: date) -> date:
    """Return the Sunday of the week that begins on that Monday."""
    return week_of + TO_SUNDAY


class ReviewRule(AppendOnly):
    """Whether a person may review entries of their own; the newest row counts."""

    ACT: ClassVar[str] = "review-rule.set"

    producer = models.ForeignKey(Producer, models.PROTECT, related_name="review_rules")
    by_other = models.BooleanField()
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(Member, models.PROTECT, related_name="+")
    by_name = models.CharField(max_length=120)

    class Meta(AppendOnly.Meta):
        pass

    def __str__(self) -> str:
        return "reviewed by another" if self.by_other else "reviewed by anybody"
