"""More records kept beside the batches: when to look, tests, gauges, changes, taking back."""

from typing import ClassVar

from django.db import models
from django.utils.translation import gettext_lazy as _

from batches.models.batch import Batch
from batches.models.exact import ExactDecimalField
from batches.models.logbook import LogEntry, YesNo
from batches.models.product import Product


class ConditionTiming(LogEntry):
    """On which rounds a condition of cleanliness is looked at here, from then on."""

    ACT: ClassVar[str] = "timing.set"

    condition = models.CharField(max_length=40)
    moments = models.JSONField()
    why = models.TextField(blank=True)

    def __str__(self) -> str:
        return f"{self.condition}: {', '.join(self.moments)}"


class SampleTest(LogEntry):
    """A sample of a surface, of water or ice: where drawn, looked for what, what it said."""

    ACT: ClassVar[str] = "sample.drawn"

    class Of(models.TextChoices):
        SURFACE = "surface", _("A surface, by swab")
        WATER = "water", _("Water")
        ICE = "ice", _("Ice")
        OTHER = "other", _("Something else, see the note")

    class Result(models.TextChoices):
        AWAITED = "awaited", _("Awaited")
        GOOD = "good", _("Not found, or within its limit")
        BAD = "bad", _("Found, or beyond its limit")

    of = models.CharField(max_length=8, choices=Of.choices)
    place = models.CharField(max_length=200)
    zone = models.CharField(max_length=20, blank=True)
    sought = models.CharField(max_length=120)
    samples = models.PositiveSmallIntegerField(default=1)
    laboratory = models.CharField(max_length=120, blank=True)
    number = models.CharField(max_length=60, blank=True)
    result = models.CharField(max_length=8, choices=Result.choices)
    put_right = models.TextField(blank=True)

    def __str__(self) -> str:
        return f"{self.sought}, {self.place}"


class GaugeCheck(LogEntry):
    """A scale or a salometer held against something known."""

    ACT: ClassVar[str] = "gauge.checked"

    class Kind(models.TextChoices):
        SCALE = "scale", _("A scale")
        SALOMETER = "salometer", _("A salometer")
        OTHER = "other", _("Something else, see the note")

    gauge = models.CharField(max_length=60)
    kind = models.CharField(max_length=12, choices=Kind.choices)
    standard = models.CharField(max_length=120)
    true = ExactDecimalField()
    shown = ExactDecimalField()
    unit = models.CharField(max_length=20)
    is_right = models.BooleanField()
    put_right = models.TextField(blank=True)
    again_by = models.DateField(null=True, blank=True)

    def __str__(self) -> str:
        return self.gauge


class WorkChange(LogEntry):
    """Something that changed in the work, and whether it could matter to the plan."""

    ACT: ClassVar[str] = "change.recorded"

    class Subject(models.TextChoices):
        MATERIAL = "material", _("Raw material, or where it comes from")
        FORMULA = "formula", _("Recipe")
        METHOD = "method", _("Way of working, or equipment")
        DISTRIBUTION = "distribution", _("How the food is stored or sent out")
        USE = "use", _("How the food is used, or by whom")
        PEOPLE = "people", _("People")
        OTHER = "other", _("Something else")

    subject = models.CharField(max_length=12, choices=Subject.choices)
    what = models.TextField()
    product = models.ForeignKey(
        Product, models.PROTECT, null=True, blank=True, related_name="+"
    )
    matters = models.CharField(max_length=8, choices=YesNo.choices)
    why = models.TextField(blank=True)

    def __str__(self) -> str:
        return self.what


class Recall(LogEntry):
    """Food taken back, or taking it back practised: why, how much was found, what came of it."""

    ACT: ClassVar[str] = "recall.recorded"

    class Kind(models.TextChoices):
        EXERCISE = "exercise", _("An exercise")
        WITHDRAWAL = "withdrawal", _("Taken back before anybody could eat it")
        RECALL = "recall", _("Taken back from buyers")

    kind = models.CharField(max_length=12, choices=Kind.choices)
    batch = models.ForeignKey(
        Batch, models.PROTECT, null=True, blank=True, related_name="recalls"
    )
    codes = models.CharField(max_length=200, blank=True)
    why = models.TextField()
    ended_at = models.DateTimeField(null=True, blank=True)
    made = models.PositiveIntegerField(null=True, blank=True)
    in_stock = models.PositiveIntegerField(null=True, blank=True)
    delivered = models.PositiveIntegerField(null=True, blank=True)
    used_up = models.PositiveIntegerField(null=True, blank=True)
    told = models.TextField(blank=True)
    shortfalls = models.TextField(blank=True)
    put_right = models.TextField(blank=True)

    def __str__(self) -> str:
        named = self.batch.code if self.batch else self.codes
        return f"{self.get_kind_display()}, {named}"
