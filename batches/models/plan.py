"""The plan of a product: drafts, what an authority allowed, and what was signed."""

from typing import Any, ClassVar

from django.db import models

from batches.models.append_only import AppendOnly
from batches.models.producer import Member, Premises, Producer
from batches.models.product import Product


class AuthorityLetter(AppendOnly):
    """A process authority's letter, kept as it came; lets a plan loosen one limit."""

    ACT: ClassVar[str] = "letter.kept"

    producer = models.ForeignKey(Producer, models.PROTECT, related_name="letters")
    author = models.CharField(max_length=120)
    organisation = models.CharField(max_length=120)
    written_on = models.DateField()
    summary = models.TextField()
    name = models.CharField(max_length=255)
    size = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)
    content = models.FileField(max_length=255)
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(Member, models.PROTECT, related_name="+")
    by_name = models.CharField(max_length=120)

    class Meta(AppendOnly.Meta):
        pass

    def __str__(self) -> str:
        return f"{self.author}, {self.organisation}, {self.written_on}"


class PlanVersion(AppendOnly):
    """One saved state of a plan's draft; saving again adds the next revision.

    ``edits`` are what the owner decided on top of what the guidance drafts.
    """

    ACT: ClassVar[str] = "plan.drafted"

    producer = models.ForeignKey(Producer, models.PROTECT, related_name="plans")
    product = models.ForeignKey(Product, models.PROTECT, related_name="plans")
    premises = models.ForeignKey(Premises, models.PROTECT, related_name="plans")
    number = models.PositiveSmallIntegerField()
    revision = models.PositiveSmallIntegerField()
    edits = models.JSONField(default=dict)
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(Member, models.PROTECT, related_name="+")
    by_name = models.CharField(max_length=120)

    class Meta(AppendOnly.Meta):
        constraints = [
            models.UniqueConstraint(
                fields=["product", "number", "revision"], name="plan_revision_once"
            )
        ]

    def __str__(self) -> str:
        return f"v{self.number}"


class PlanSignature(AppendOnly):
    """A plan as it was signed: its whole content, frozen, and by whom; never changed.

    ``trail_head_sha256`` is the last event of the trail then: a copy of the record that
    lacks it is older than the signature, or another one.
    """

    ACT: ClassVar[str] = "plan.signed"

    producer = models.ForeignKey(Producer, models.PROTECT, related_name="signed_plans")
    product = models.ForeignKey(Product, models.PROTECT, related_name="signed_plans")
    premises = models.ForeignKey(Premises, models.PROTECT, related_name="signed_plans")
    version = models.OneToOneField(
        PlanVersion, models.PROTECT, related_name="signature"
    )
    number = models.PositiveSmallIntegerField()
    content = models.TextField()
    content_sha256 = models.CharField(max_length=64)
    meaning = models.TextField()
    title = models.CharField(max_length=120)
    role = models.CharField(max_length=12, choices=Member.Role.choices)
    trail_head_number = models.PositiveBigIntegerField(default=0)
    trail_head_sha256 = models.CharField(max_length=64, blank=True)
    signed_at = models.DateTimeField()
    by = models.ForeignKey(Member, models.PROTECT, related_name="+")
    by_name = models.CharField(max_length=120)

    class Meta(AppendOnly.Meta):
        constraints = [
            models.UniqueConstraint(
                fields=["product", "number"], name="plan_number_signed_once"
            )
        ]

    def __str__(self) -> str:
        return f"v{self.number}"


class Reassessment(AppendOnly):
    """That a signed plan was looked at again, by whom and with which result."""

    ACT: ClassVar[str] = "plan.reassessed"

    class Outcome(models.TextChoices):
        NO_CHANGE = "no-change", "No change is needed"
        NEW_VERSION = "new-version", "A new version is needed"

    producer = models.ForeignKey(Producer, models.PROTECT, related_name="+")
    signature = models.ForeignKey(
        PlanSignature, models.PROTECT, related_name="reassessments"
    )
    done_at = models.DateTimeField()
    outcome = models.CharField(max_length=12, choices=Outcome.choices)
    note = models.TextField(blank=True)
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(Member, models.PROTECT, related_name="+")
    by_name = models.CharField(max_length=120)

    class Meta(AppendOnly.Meta):
        pass

    def __str__(self) -> str:
        return f"{self.signature} {self.outcome}"


def no_edits() -> dict[str, Any]:
    """Return the edits of a plan that nobody has edited."""
    return {
        "description": {},
        "decisions": [],
        "figures": {},
        "letters": {},
        "own": [],
        "who": {},
        "schedule": {},
        "review": {},
    }
