"""Who makes the food, who writes the record, and where."""

from typing import ClassVar
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import models

from batches import roles
from batches.models.exact import ExactDecimalField
from safety.quantities import TEMPERATURE_UNITS


class Producer(models.Model):
    """One firm; everything else belongs to exactly one producer."""

    ACT: ClassVar[str] = "producer.opened"
    CHANGES: ClassVar[tuple[str, ...]] = ("producer.changed",)

    name = models.CharField(max_length=120)
    slug = models.SlugField(max_length=60, unique=True)
    created_at = models.DateTimeField()

    def __str__(self) -> str:
        return self.name


class Member(models.Model):
    """A person who works with one producer's records, in one role.

    Whoever wrote records stays for ever; ``ended_at`` says since when not any more.
    """

    ACT: ClassVar[str] = "member.added"
    CHANGES: ClassVar[tuple[str, ...]] = (
        "member.changed",
        "member.ended",
        "member.resumed",
        "member.second-step-off",
        "member.second-step-on",
    )
    NOTES: ClassVar[tuple[str, ...]] = (
        "member.account-made",
        "member.code-refused",
        "member.locked-out",
        "member.password-changed",
        "member.password-given",
        "member.recovery-codes-renewed",
        "member.sign-in-refused",
        "member.signed-in",
    )

    class Role(models.TextChoices):
        OWNER = "owner", "Owner"
        MAKER = "maker", "Maker"
        REVIEWER = "reviewer", "Reviewer"
        INSPECTOR = "inspector", "Inspector"

    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="memberships"
    )
    producer = models.ForeignKey(Producer, models.PROTECT, related_name="members")
    name = models.CharField(max_length=120)
    initials = models.CharField(max_length=8)
    role = models.CharField(max_length=12, choices=Role.choices)
    temperature_unit = models.CharField(
        max_length=8, choices=[(unit, unit) for unit in TEMPERATURE_UNITS]
    )
    created_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    must_change_password = models.BooleanField(default=False)
    second_step_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["user", "producer"], name="member_once_per_producer"
            )
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def may_record(self) -> bool:
        """Say whether this person may record what was seen."""
        return self.may("record")

    @property
    def acts(self) -> frozenset[str]:
        """Return what this person may do, for templates: ``"check" in member.acts``."""
        return frozenset(act for act in roles.ACTS if self.may(act))

    def may(self, act: str) -> bool:
        """Say whether this person may do this, by `batches.roles`."""
        return self.ended_at is None and roles.may(self.role, act)


class Premises(models.Model):
    """A place where food is made; its wall time is the time on its pages."""

    ACT: ClassVar[str] = "premises.added"
    CHANGES: ClassVar[tuple[str, ...]] = ("premises.changed",)

    class Paper(models.TextChoices):
        LETTER = "letter", "Letter"
        A4 = "a4", "A4"

    producer = models.ForeignKey(Producer, models.PROTECT, related_name="premises")
    name = models.CharField(max_length=120)
    address = models.TextField(blank=True)
    time_zone = models.CharField(max_length=64)
    elevation_m = ExactDecimalField()
    jurisdiction = models.CharField(max_length=6)
    paper = models.CharField(max_length=8, choices=Paper.choices)

    class Meta:
        verbose_name_plural = "premises"
        constraints = [
            models.UniqueConstraint(
                fields=["producer", "name"], name="premises_name_once_per_producer"
            )
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def zone(self) -> ZoneInfo:
        """Return the time zone of the place."""
        return ZoneInfo(self.time_zone)
