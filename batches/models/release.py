"""What was judged when somebody signed, and the signed release of a batch."""

from typing import ClassVar

from django.db import models

from batches.models.append_only import AppendOnly
from batches.models.batch import Batch
from batches.models.deviation import Deviation, Told
from batches.models.producer import Member, Producer


class FindingSet(AppendOnly):
    """All that was judged of a batch at the instant of a signature, and of which file.

    ``batch_sha256`` is that of the batch file's canonical text; ``version`` is the tool's.
    """

    ACT: ClassVar[str] = "findings.stored"

    producer = models.ForeignKey(Producer, models.PROTECT, related_name="+")
    batch = models.ForeignKey(Batch, models.PROTECT, related_name="finding_sets")
    outcome = models.CharField(max_length=16)
    judged_at = models.DateTimeField()
    batch_sha256 = models.CharField(max_length=64)
    version = models.CharField(max_length=40)
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(Member, models.PROTECT, related_name="+")
    by_name = models.CharField(max_length=120)

    class Meta(AppendOnly.Meta):
        pass

    def __str__(self) -> str:
        return f"{self.batch}: {self.outcome}"


class FindingRow(AppendOnly):
    """One finding as it was judged at signing, with a copy of the limit's words."""

    ACT: ClassVar[str] = "finding.stored"

    finding_set = models.ForeignKey(FindingSet, models.PROTECT, related_name="rows")
    control_point = models.CharField(max_length=24)
    limit_id = models.CharField(max_length=120)
    place = models.CharField(max_length=200, blank=True)
    status = models.CharField(max_length=16)
    limit_text = models.TextField(blank=True)
    source_text = models.TextField(blank=True)
    observed = models.JSONField(default=dict, blank=True)
    because = models.TextField(blank=True)
    cautions = models.JSONField(default=list, blank=True)
    deviation = models.ForeignKey(
        Deviation, models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta(AppendOnly.Meta):
        pass

    def __str__(self) -> str:
        return f"{self.control_point} {self.limit_id}: {self.status}"


class Release(Told):
    """A person's signed decision that a batch may leave; nothing else releases one.

    ``trail_head_sha256`` is the last event of the trail then: a copy of the record that
    is older than the signature cannot have it.
    """

    ACT: ClassVar[str] = "batch.released"

    batch = models.ForeignKey(Batch, models.PROTECT, related_name="releases")
    findings = models.OneToOneField(FindingSet, models.PROTECT, related_name="release")
    meaning = models.TextField()
    title = models.CharField(max_length=120)
    role = models.CharField(max_length=12, choices=Member.Role.choices)
    cautions = models.JSONField(default=list, blank=True)
    signed_at = models.DateTimeField()
    trail_head_number = models.PositiveBigIntegerField(default=0)
    trail_head_sha256 = models.CharField(max_length=64, blank=True)

    class Meta(Told.Meta):
        pass

    def __str__(self) -> str:
        return f"{self.batch} released"
