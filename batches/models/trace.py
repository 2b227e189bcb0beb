"""A logger's series, kept as two compressed arrays."""

import zlib
from datetime import UTC, datetime, timedelta
from functools import cached_property
from typing import ClassVar

import numpy as np
from django.db import models
from numpy.typing import NDArray

from batches.models.entry import STEP_CHOICES, Entry
from batches.models.exact import ExactDecimalField
from batches.models.instrument import Instrument
from batches.models.logger_file import LoggerFile
from batches.models.reading import QUANTITY_CHOICES

Integers = NDArray[np.int64]
_LITTLE = np.dtype("<i8")
_LEVEL = 1  # regular series are small at any level; the first is the fastest
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def instant_of(at_us: int) -> datetime:
    """Return the instant that lies some microseconds after 1970-01-01 UTC."""
    return _EPOCH + timedelta(microseconds=at_us)


def packed(values: Integers) -> bytes:
    """Return whole numbers as bytes: differences, little-endian, compressed."""
    differences = np.diff(values, prepend=np.int64(0))
    return zlib.compress(differences.astype(_LITTLE).tobytes(), _LEVEL)


def unpacked(data: bytes) -> Integers:
    """Return the whole numbers that `packed` was given."""
    differences = np.frombuffer(zlib.decompress(data), dtype=_LITTLE)
    return np.cumsum(differences, dtype=np.int64)


class Trace(Entry):
    """One sensor's series from a logger's file, in order of time; never changed.

    ``values`` are the figures times 10 to the power of ``decimals``; ``lowest`` and
    ``highest`` are figures as people read them.
    """

    ACT: ClassVar[str] = "trace.imported"

    step = models.CharField(max_length=24, choices=STEP_CHOICES)
    quantity = models.CharField(max_length=24, choices=QUANTITY_CHOICES)
    place = models.CharField(max_length=40, blank=True)
    unit = models.CharField(max_length=8)
    instrument = models.ForeignKey(
        Instrument, models.PROTECT, null=True, blank=True, related_name="traces"
    )
    logger_file = models.ForeignKey(LoggerFile, models.PROTECT, related_name="traces")
    decimals = models.PositiveSmallIntegerField()
    count = models.PositiveIntegerField()
    first_at = models.DateTimeField()
    last_at = models.DateTimeField()
    lowest = ExactDecimalField()
    highest = ExactDecimalField()
    at_us = models.BinaryField()
    values = models.BinaryField()

    class Meta(Entry.Meta):
        indexes = [models.Index(fields=["batch", "first_at"])]

    def __str__(self) -> str:
        return f"{self.quantity} {self.place} ({self.count})"

    def arrays(self) -> tuple[Integers, Integers]:
        """Return the instants (microseconds since 1970 UTC) and the scaled figures."""
        return self._arrays

    @cached_property
    def _arrays(self) -> tuple[Integers, Integers]:
        return unpacked(bytes(self.at_us)), unpacked(bytes(self.values))
