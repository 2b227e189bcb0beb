"""What went wrong, what was held, what was answered, decided and released."""

import uuid
from typing import ClassVar

from django.db import models

from batches.models.append_only import AppendOnly
from batches.models.batch import Batch
from batches.models.exact import ExactDecimalField
from batches.models.lot import Lot
from batches.models.plan import Reassessment
from batches.models.producer import Member, Producer


class Told(AppendOnly):
    """A row that a person wrote once, recognised when its form is sent again."""

    producer = models.ForeignKey(Producer, models.PROTECT, related_name="%(class)ss")
    entry_id = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(Member, models.PROTECT, related_name="+")
    by_name = models.CharField(max_length=120)

    class Meta(AppendOnly.Meta):
        abstract = True


class Deviation(Told):
    """A limit that a batch or a lot missed or does not show; its words are copies.

    What became of it is said by rows of their own, never by a change of this one.
    """

    ACT: ClassVar[str] = "deviation.opened"

    class Status(models.TextChoices):
        MISSED = "missed", "missed"
        NOT_SHOWN = "not shown", "not shown"
        BY_HAND = "by hand", "opened by hand"

    number = models.PositiveIntegerField()
    batch = models.ForeignKey(
        Batch, models.PROTECT, null=True, blank=True, related_name="deviations"
    )
    lot = models.ForeignKey(
        Lot, models.PROTECT, null=True, blank=True, related_name="deviations"
    )
    control_point = models.CharField(max_length=24, blank=True)
    limit_id = models.CharField(max_length=120, blank=True)
    place = models.CharField(max_length=200, blank=True)
    status = models.CharField(max_length=9, choices=Status.choices)
    limit_words = models.TextField(blank=True)
    observed_words = models.TextField()
    observed_at = models.DateTimeField()
    detected_at = models.DateTimeField()
    detected_how = models.TextField(blank=True)

    class Meta(Told.Meta):
        indexes = [models.Index(fields=["batch", "control_point", "limit_id"])]
        constraints = [
            models.UniqueConstraint(
                fields=["producer", "number"], name="deviation_number_once"
            ),
            models.CheckConstraint(
                condition=models.Q(batch__isnull=False, lot__isnull=True)
                | models.Q(batch__isnull=True, lot__isnull=False),
                name="deviation_of_batch_or_lot",
            ),
        ]

    def __str__(self) -> str:
        return f"DV-{self.number}"


class Hold(Told):
    """That a batch or a lot was set apart; it lasts until it is lifted."""

    ACT: ClassVar[str] = "hold.placed"

    deviation = models.ForeignKey(Deviation, models.PROTECT, related_name="holds")
    batch = models.ForeignKey(
        Batch, models.PROTECT, null=True, blank=True, related_name="holds"
    )
    lot = models.ForeignKey(
        Lot, models.PROTECT, null=True, blank=True, related_name="holds"
    )
    where = models.CharField(max_length=120, blank=True)
    tag = models.CharField(max_length=60, blank=True)
    reason = models.TextField()
    kg = ExactDecimalField(null=True, blank=True)
    packages = models.PositiveIntegerField(null=True, blank=True)
    held_at = models.DateTimeField()

    class Meta(Told.Meta):
        constraints = [
            models.CheckConstraint(
                condition=models.Q(batch__isnull=False, lot__isnull=True)
                | models.Q(batch__isnull=True, lot__isnull=False),
                name="hold_of_batch_or_lot",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.batch or self.lot} held for {self.deviation}"


class Disposition(Told):
    """What becomes of the food, or of a part of it: decided by a named person."""

    ACT: ClassVar[str] = "deviation.decided"

    class Kind(models.TextChoices):
        RELEASE = "release", "Release after evaluation"
        REWORK = "rework", "Work it again"
        DIVERT = "divert", "Divert to another use"
        DESTROY = "destroy", "Destroy"
        RETURN = "return", "Send back to the supplier"

    deviation = models.ForeignKey(
        Deviation, models.PROTECT, related_name="dispositions"
    )
    kind = models.CharField(max_length=8, choices=Kind.choices)
    kg = ExactDecimalField(null=True, blank=True)
    packages = models.PositiveIntegerField(null=True, blank=True)
    reason = models.TextField()
    basis = models.TextField(blank=True)
    decided_by = models.CharField(max_length=120)
    function = models.CharField(max_length=120)
    qualification = models.TextField(blank=True)
    decided_at = models.DateTimeField()
    judged_status = models.CharField(max_length=16, blank=True)
    judged_words = models.TextField(blank=True)

    class Meta(Told.Meta):
        pass

    def __str__(self) -> str:
        return f"{self.deviation}: {self.kind}"


class TakingBack(Told):
    """That a decision was mistyped and does not count, with why; it stays on record."""

    ACT: ClassVar[str] = "decision.taken-back"

    disposition = models.OneToOneField(
        Disposition, models.PROTECT, related_name="taking_back"
    )
    reason = models.TextField()

    class Meta(Told.Meta):
        pass

    def __str__(self) -> str:
        return f"{self.disposition}, taken back"


class Lifting(AppendOnly):
    """That a hold ended, because the last decision that it waited for was made."""

    ACT: ClassVar[str] = "hold.lifted"

    producer = models.ForeignKey(Producer, models.PROTECT, related_name="+")
    hold = models.OneToOneField(Hold, models.PROTECT, related_name="lifting")
    disposition = models.ForeignKey(
        Disposition, models.PROTECT, related_name="liftings"
    )
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(Member, models.PROTECT, related_name="+")
    by_name = models.CharField(max_length=120)

    class Meta(AppendOnly.Meta):
        pass

    def __str__(self) -> str:
        return f"{self.hold}, lifted"


class Response(Told):
    """One answer to a deviation: by whom, at which instant, in which words."""

    ACT: ClassVar[str] = "deviation.answered"

    class Kind(models.TextChoices):
        CONTAINMENT = "containment", "Contained"
        EVALUATION = "evaluation", "Evaluated"
        DISPOSITION = "disposition", "Decision carried out"
        CAUSE = "cause", "Cause found and put right"
        PREVENTION = "prevention", "So that it does not happen again"
        EVIDENCE = "evidence", "Evidence"
        REASSESSMENT = "reassessment", "Plan looked at again"
        CLOSING = "closing", "Closed"

    deviation = models.ForeignKey(Deviation, models.PROTECT, related_name="responses")
    kind = models.CharField(max_length=12, choices=Kind.choices)
    text = models.TextField()
    done_by = models.CharField(max_length=120)
    done_at = models.DateTimeField()
    due_on = models.DateField(null=True, blank=True)
    kg = ExactDecimalField(null=True, blank=True)
    packages = models.PositiveIntegerField(null=True, blank=True)
    is_foreseen = models.BooleanField(null=True, blank=True)
    is_settled = models.BooleanField(default=False)
    reassessment = models.ForeignKey(
        Reassessment, models.PROTECT, null=True, blank=True, related_name="responses"
    )

    class Meta(Told.Meta):
        constraints = [
            models.UniqueConstraint(
                fields=["deviation"],
                condition=models.Q(kind="closing"),
                name="deviation_closed_once",
            )
        ]

    def __str__(self) -> str:
        return f"{self.deviation}: {self.kind}"


class Photo(AppendOnly):
    """A picture that shows what was answered, written anew as JPEG and kept.

    The bytes lie in the file storage under the producer and their SHA-256.
    """

    ACT: ClassVar[str] = "photo.stored"

    producer = models.ForeignKey(Producer, models.PROTECT, related_name="photos")
    response = models.ForeignKey(Response, models.PROTECT, related_name="photos")
    name = models.CharField(max_length=255)
    size = models.PositiveIntegerField()
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)
    content = models.FileField(max_length=255)
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(Member, models.PROTECT, related_name="+")
    by_name = models.CharField(max_length=120)

    class Meta(AppendOnly.Meta):
        pass

    def __str__(self) -> str:
        return self.name


class Rework(Told):
    """That food of one batch was worked again as another."""

    ACT: ClassVar[str] = "batch.reworked"

    disposition = models.ForeignKey(Disposition, models.PROTECT, related_name="reworks")
    from_batch = models.ForeignKey(Batch, models.PROTECT, related_name="reworked_to")
    to_batch = models.OneToOneField(Batch, models.PROTECT, related_name="reworked_from")
    kg = ExactDecimalField()
    packages = models.PositiveIntegerField(null=True, blank=True)

    class Meta(Told.Meta):
        pass

    def __str__(self) -> str:
        return f"{self.from_batch} to {self.to_batch}"
