"""What a person wrote about a batch: the shared shape, and the short entries."""

import uuid
from datetime import datetime, timedelta
from typing import ClassVar

from django.db import models
from django.utils.translation import gettext as _

from batches.models.append_only import Correctable
from batches.models.batch import Batch
from safety.controls import STEPS

STEP_CHOICES = [(step, step) for step in STEPS]
LATE_AFTER = timedelta(minutes=30)  # own figure: written down this long after is late


class Entry(Correctable):
    """One thing said of one batch, by one person, at one instant; never changed.

    What was written on paper first (``from_paper``) has the initials that stand there,
    none where nobody signed it; ``by`` is who typed it in, ``recorded_at`` when.
    """

    batch = models.ForeignKey(Batch, models.PROTECT, related_name="%(class)ss")
    entry_id = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)

    from_paper = models.BooleanField(default=False)
    paper_initials = models.CharField(max_length=8, blank=True)

    class Meta(Correctable.Meta):
        abstract = True
        constraints = [
            *Correctable.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(from_paper=True) | models.Q(paper_initials=""),
                name="%(class)s_initials_of_paper",
            ),
        ]

    @property
    def claimed_at(self) -> datetime | None:
        """Return the instant at which it was seen or done, if the entry claims one."""
        return getattr(self, "occurred_at", None)

    @property
    def by_whom(self) -> str:
        """Return the initials beside an entry; of a copied one those on the paper, too."""
        typist = self.by.initials
        if not self.from_paper:
            return typist
        whose = {"whose": self.paper_initials, "typist": typist}
        if self.paper_initials:
            return _("from paper signed %(whose)s, typed in by %(typist)s") % whose
        return _("from paper without initials, typed in by %(typist)s") % whose

    @property
    def is_late(self) -> bool:
        """Say whether it was written down too long after the instant it claims."""
        claimed = self.claimed_at
        return claimed is not None and self.recorded_at - claimed > LATE_AFTER


class StepMark(Entry):
    """The start or the end of a step; a current step has at most one of each."""

    ACT: ClassVar[str] = "step.marked"

    class Edge(models.TextChoices):
        START = "start", "Start"
        END = "end", "End"

    step = models.CharField(max_length=24, choices=STEP_CHOICES)
    edge = models.CharField(max_length=5, choices=Edge.choices)
    occurred_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.step} {self.edge}"


class Statement(Entry):
    """A thing that must be on record, and whether it complies."""

    ACT: ClassVar[str] = "statement.made"

    what = models.CharField(max_length=60)
    complies = models.BooleanField()
    occurred_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.what}: {'complies' if self.complies else 'does not comply'}"


class NamedDate(Entry):
    """A date that a limit may name, such as the use-by date."""

    ACT: ClassVar[str] = "date.recorded"

    what = models.CharField(max_length=60)
    occurs_at = models.DateTimeField()

    def __str__(self) -> str:
        return self.what


class Remark(Entry):
    """Words about a batch or one of its steps, judged by nobody."""

    ACT: ClassVar[str] = "remark.made"

    step = models.CharField(max_length=24, choices=STEP_CHOICES, blank=True)
    text = models.TextField()
    occurred_at = models.DateTimeField()

    def __str__(self) -> str:
        return self.text
