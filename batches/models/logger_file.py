"""The file of a logger, kept as it came."""

from typing import ClassVar

from django.db import models

from batches.models.append_only import AppendOnly
from batches.models.producer import Member, Producer


class LoggerFile(AppendOnly):
    """A logger's file as it was uploaded, and how it was understood; never changed.

    The bytes lie in the file storage under the producer and their SHA-256.
    """

    ACT: ClassVar[str] = "logger-file.stored"

    producer = models.ForeignKey(Producer, models.PROTECT, related_name="logger_files")
    name = models.CharField(max_length=255)
    size = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)
    content = models.FileField(max_length=255)
    understanding = models.JSONField(default=dict, blank=True)
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(Member, models.PROTECT, related_name="+")
    by_name = models.CharField(max_length=120)

    class Meta(AppendOnly.Meta):
        indexes = [models.Index(fields=["producer", "sha256"])]

    def __str__(self) -> str:
        return self.name
