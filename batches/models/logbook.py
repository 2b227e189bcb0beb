"""The records kept beside the batches: cleaning, people, buyers, visitors, papers, repairs."""

import uuid
from datetime import datetime
from typing import ClassVar

from django.db import models

from batches.models.append_only import AppendOnly, Correctable
from batches.models.batch import Batch
from batches.models.entry import LATE_AFTER
from batches.models.exact import ExactDecimalField
from batches.models.lot import Lot
from batches.models.producer import Member, Premises, Producer


class YesNo(models.TextChoices):
    """An answer that may also be that nobody knows."""

    YES = "yes", "Yes"
    NO = "no", "No"
    UNKNOWN = "unknown", "Not known"


class LogEntry(Correctable):
    """One thing written down about a place of work; never changed."""

    ACT: ClassVar[str]

    producer = models.ForeignKey(Producer, models.PROTECT, related_name="%(class)ss")
    premises = models.ForeignKey(Premises, models.PROTECT, related_name="+")
    entry_id = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    occurred_at = models.DateTimeField()
    note = models.TextField(blank=True)

    class Meta(Correctable.Meta):
        abstract = True

    @property
    def claimed_at(self) -> datetime:
        """Return the instant at which it was seen or done."""
        return self.occurred_at

    @property
    def is_late(self) -> bool:
        """Say whether it was written down too long after the instant it claims."""
        return self.recorded_at - self.occurred_at > LATE_AFTER


class SanitationRound(LogEntry):
    """One walk past the conditions of cleanliness.

    ``asked`` are those that were to be looked at on it; None for an old row, in which
    nobody kept them.
    """

    ACT: ClassVar[str] = "sanitation.looked-at"

    class Moment(models.TextChoices):
        BEFORE = "before", "Before work"
        START = "start", "At the start of work"
        DURING = "during", "During work"
        AFTER = "after", "After work"
        MONTH = "month", "Once a month"

    moment = models.CharField(max_length=8, choices=Moment.choices)
    sanitizer = models.CharField(max_length=60, blank=True)
    sanitizer_ppm = ExactDecimalField(null=True, blank=True)
    asked = models.JSONField(null=True, blank=True)

    def __str__(self) -> str:
        return self.get_moment_display()


class SanitationAnswer(AppendOnly):
    """What one condition was like on one round; a bad one says what was done."""

    ACT: ClassVar[str] = "sanitation.answered"

    class Found(models.TextChoices):
        SATISFACTORY = "satisfactory", "Satisfactory"
        NOT_SATISFACTORY = "not-satisfactory", "Not satisfactory"

    round = models.ForeignKey(SanitationRound, models.PROTECT, related_name="answers")
    condition = models.CharField(max_length=40)
    found = models.CharField(max_length=16, choices=Found.choices)
    put_right = models.TextField(blank=True)
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(Member, models.PROTECT, related_name="+")
    by_name = models.CharField(max_length=120)

    class Meta(AppendOnly.Meta):
        constraints = [
            models.UniqueConstraint(
                fields=["round", "condition"], name="condition_once_per_round"
            ),
            models.CheckConstraint(
                condition=models.Q(found="satisfactory") | ~models.Q(put_right=""),
                name="bad_condition_says_what_was_done",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.condition}: {self.found}"


class HiddenCondition(LogEntry):
    """A condition that does not exist at these premises, and why."""

    ACT: ClassVar[str] = "condition.hidden"

    condition = models.CharField(max_length=40)
    why = models.TextField()

    def __str__(self) -> str:
        return f"{self.condition} is not looked at: {self.why}"


class TrainingRecord(LogEntry):
    """What somebody was taught, and what that lets them do."""

    ACT: ClassVar[str] = "training.recorded"

    person = models.CharField(max_length=120)
    course = models.CharField(max_length=200)
    certificate = models.CharField(max_length=60, blank=True)
    may_do = models.TextField(blank=True)
    again_by = models.DateField(null=True, blank=True)

    def __str__(self) -> str:
        return f"{self.person}: {self.course}"


class Complaint(LogEntry):
    """What somebody who bought or ate the food said was wrong with it."""

    ACT: ClassVar[str] = "complaint.received"

    said_by = models.CharField(max_length=120, blank=True)
    contact = models.CharField(max_length=200, blank=True)
    batch = models.ForeignKey(
        Batch, models.PROTECT, null=True, blank=True, related_name="complaints"
    )
    what_it_was = models.CharField(max_length=200)
    said = models.TextField()
    ill = models.CharField(max_length=8, choices=YesNo.choices)
    illness = models.TextField(blank=True)

    def __str__(self) -> str:
        return self.what_it_was


class Visit(LogEntry):
    """An inspection: who came, what was looked at and copied, what was promised."""

    ACT: ClassVar[str] = "visit.recorded"

    agency = models.CharField(max_length=120)
    people = models.CharField(max_length=200)
    purpose = models.CharField(max_length=200, blank=True)
    copied = models.TextField(blank=True)
    observed = models.TextField(blank=True)
    promised = models.TextField(blank=True)
    answer_by = models.DateField(null=True, blank=True)

    def __str__(self) -> str:
        return self.agency


class FollowUp(LogEntry):
    """What was done about a complaint or after a visit; the last one closes it."""

    ACT: ClassVar[str] = "followup.recorded"

    class AboutPlan(models.TextChoices):
        NONE = "none", "No"
        CONTROL_POINT = "control-point", "Yes: a critical control point did not hold"
        NEW = "new-control-point", "Yes: a control point is missing from the plan"

    class State(models.TextChoices):
        OPEN = "open", "More is to be done"
        CLOSED = "closed", "Nothing more is to be done"

    complaint = models.ForeignKey(
        Complaint, models.PROTECT, null=True, blank=True, related_name="followups"
    )
    visit = models.ForeignKey(
        Visit, models.PROTECT, null=True, blank=True, related_name="followups"
    )
    did = models.TextField()
    about_plan = models.CharField(max_length=20, blank=True, choices=AboutPlan.choices)
    state = models.CharField(max_length=8, choices=State.choices)

    class Meta(LogEntry.Meta):
        constraints = [
            *LogEntry.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(complaint__isnull=True, visit__isnull=False)
                | models.Q(complaint__isnull=False, visit__isnull=True),
                name="followup_of_one_thing",
            ),
        ]

    def __str__(self) -> str:
        return self.did


class SupplierDocument(LogEntry):
    """A paper of a supplier: what it says, until when, and the file if there is one.

    The bytes lie in the file storage under the producer and their SHA-256.
    """

    ACT: ClassVar[str] = "document.kept"

    supplier = models.CharField(max_length=120)
    what = models.CharField(max_length=200)
    number = models.CharField(max_length=60, blank=True)
    valid_until = models.DateField(null=True, blank=True)
    name = models.CharField(max_length=255, blank=True)
    size = models.PositiveIntegerField(default=0)
    sha256 = models.CharField(max_length=64, blank=True)
    content = models.FileField(max_length=255, blank=True)

    def __str__(self) -> str:
        return f"{self.supplier}: {self.what}"


class MaintenanceRecord(LogEntry):
    """Work on a piece of equipment, and when it is due again."""

    ACT: ClassVar[str] = "maintenance.recorded"

    equipment = models.CharField(max_length=120)
    did = models.TextField()
    done_by = models.CharField(max_length=120, blank=True)
    again_by = models.DateField(null=True, blank=True)

    def __str__(self) -> str:
        return self.equipment


class ReceivingCheck(LogEntry):
    """What a lot was like when it came in, and whether it was taken."""

    ACT: ClassVar[str] = "lot.checked"

    class Condition(models.TextChoices):
        ICED = "iced", "On ice"
        CHILLED = "chilled", "Chilled, without ice"
        FROZEN = "frozen", "Frozen"
        LIVE = "live", "Live"
        OTHER = "other", "Other, see the note"

    class Decision(models.TextChoices):
        ACCEPTED = "accepted", "Accepted"
        REJECTED = "rejected", "Rejected"

    lot = models.ForeignKey(Lot, models.PROTECT, related_name="receiving_checks")
    condition = models.CharField(max_length=8, choices=Condition.choices)
    temperature = ExactDecimalField(null=True, blank=True)
    unit = models.CharField(max_length=8, blank=True)
    papers = models.CharField(max_length=200, blank=True)
    decision = models.CharField(max_length=8, choices=Decision.choices)

    def __str__(self) -> str:
        return f"{self.lot}: {self.get_decision_display().lower()}"
