"""Signatures given by password, wrong passwords, and links for inspectors."""

import uuid
from typing import ClassVar

from django.db import models

from batches.models.append_only import AppendOnly
from batches.models.batch import Batch
from batches.models.producer import Member, Producer


class _Said(AppendOnly):
    """What somebody of a producer did, at one instant; never changed."""

    producer = models.ForeignKey(Producer, models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(Member, models.PROTECT, related_name="+")
    by_name = models.CharField(max_length=120)

    class Meta(AppendOnly.Meta):
        abstract = True


class GivenSignature(_Said):
    """One signature: of what, with which meaning, under a number used once.

    ``content_sha256`` is that of what the person had read.
    """

    ACT: ClassVar[str] = "signature.given"

    number = models.UUIDField(unique=True)
    purpose = models.CharField(max_length=40)
    content_sha256 = models.CharField(max_length=64)
    meaning = models.TextField()
    role = models.CharField(max_length=12, choices=Member.Role.choices)

    class Meta(_Said.Meta):
        pass

    def __str__(self) -> str:
        return f"{self.purpose} {self.by_name}"


class WrongPassword(_Said):
    """That a member was asked for the password again and gave a wrong one."""

    ACT: ClassVar[str] = "password.refused"

    class Meta(_Said.Meta):
        indexes = [models.Index(fields=["by", "recorded_at"], name="wrong_password_by")]

    def __str__(self) -> str:
        return self.by_name


class SecondStepRule(_Said):
    """Whether all members sign in with a second step; the newest row counts."""

    ACT: ClassVar[str] = "second-step-rule.set"

    is_required = models.BooleanField()

    class Meta(_Said.Meta):
        pass

    def __str__(self) -> str:
        return "second step for all" if self.is_required else "second step as wanted"


class InspectorLink(_Said):
    """Reading rights for whoever has the link: one batch, or one period, for some days.

    The link itself is kept nowhere, only its SHA-256.
    """

    ACT: ClassVar[str] = "link.given"

    batch = models.ForeignKey(
        Batch, models.PROTECT, null=True, blank=True, related_name="+"
    )
    first_on = models.DateField(null=True, blank=True)
    last_on = models.DateField(null=True, blank=True)
    for_whom = models.CharField(max_length=100)
    expires_at = models.DateTimeField()
    token_sha256 = models.CharField(max_length=64, unique=True)
    entry_id = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)

    class Meta(_Said.Meta):
        constraints = [
            models.CheckConstraint(
                condition=models.Q(
                    batch__isnull=False, first_on__isnull=True, last_on__isnull=True
                )
                | models.Q(
                    batch__isnull=True, first_on__isnull=False, last_on__isnull=False
                ),
                name="link_for_batch_or_period",
            )
        ]

    def __str__(self) -> str:
        return self.for_whom

    @property
    def scope(self) -> str:
        """Return in words what the link shows."""
        if self.batch is not None:
            return f"batch {self.batch.code}"
        return f"batches started {self.first_on} to {self.last_on}"


class LinkRevocation(_Said):
    """That a link was taken back before its time."""

    ACT: ClassVar[str] = "link.revoked"

    link = models.OneToOneField(
        InspectorLink, models.PROTECT, related_name="revocation"
    )

    class Meta(_Said.Meta):
        pass

    def __str__(self) -> str:
        return str(self.link)


class LinkView(AppendOnly):
    """That a page was opened by a link; by whom, nobody knows but by the link's name."""

    ACT: ClassVar[str] = "link.viewed"

    producer = models.ForeignKey(Producer, models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()
    by_name = models.CharField(max_length=120)
    link = models.ForeignKey(InspectorLink, models.PROTECT, related_name="views")
    page = models.CharField(max_length=250)

    class Meta(AppendOnly.Meta):
        pass

    def __str__(self) -> str:
        return self.page
