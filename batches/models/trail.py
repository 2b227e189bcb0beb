"""The trail: every act of a producer's people, each one chained to the one before."""

from django.db import models

from batches.models.append_only import AppendOnly
from batches.models.producer import Member, Producer

LONGEST_WORDS = 200


class TrailEvent(AppendOnly):
    """One act upon one row: who, when, and what the row said before and after.

    ``before`` and ``after`` are canonical JSON, blank where there was no row; both are
    blank for an act that changed none. ``sha256`` is taken over ``previous_sha256`` and
    everything else, so an event that is changed no longer fits the one after it.
    """

    producer = models.ForeignKey(Producer, models.PROTECT, related_name="trail")
    number = models.PositiveBigIntegerField()
    act = models.CharField(max_length=60)
    subject = models.CharField(max_length=60)
    subject_key = models.CharField(max_length=40)
    words = models.CharField(max_length=LONGEST_WORDS, blank=True)
    by = models.ForeignKey(
        Member, models.PROTECT, null=True, blank=True, related_name="+"
    )
    by_name = models.CharField(max_length=120)
    at = models.DateTimeField()
    group = models.UUIDField()
    before = models.TextField(blank=True)
    after = models.TextField(blank=True)
    previous_sha256 = models.CharField(max_length=64)
    sha256 = models.CharField(max_length=64)

    class Meta(AppendOnly.Meta):
        indexes = [
            models.Index(fields=["producer", "subject", "subject_key"]),
            models.Index(fields=["sha256"]),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["producer", "number"], name="trail_number_once_per_producer"
            ),
            models.UniqueConstraint(
                fields=["producer", "previous_sha256"], name="trail_never_forks"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.act}"
