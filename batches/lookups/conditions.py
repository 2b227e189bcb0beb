"""Reads: which conditions of cleanliness are looked at at a place, and on which rounds."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from batches.logbook import CONDITIONS, Condition
from batches.models import (
    ConditionTiming,
    HiddenCondition,
    Premises,
    SanitationRound,
)

MONTH = str(SanitationRound.Moment.MONTH)
OF_A_DAY = tuple(each for each in SanitationRound.Moment.values if each != MONTH)


@dataclass(frozen=True, slots=True)
class Asked:
    """What a place set for itself: conditions left out, and rounds chosen otherwise."""

    zone: ZoneInfo
    hidden: tuple[HiddenCondition, ...]
    timings: tuple[ConditionTiming, ...]

    def as_of(self, instant: datetime) -> "Asked":
        """Return the same with what was written until an instant."""
        return Asked(
            self.zone,
            tuple(row for row in self.hidden if row.recorded_at <= instant),
            tuple(row for row in self.timings if row.recorded_at <= instant),
        )

    def moments_of(self, condition: Condition, day: date) -> tuple[str, ...]:
        """Return on which rounds of a day a condition is looked at; none if left out."""
        if any(row.condition == condition.id for row in self._begun(self.hidden, day)):
            return ()
        set_here = [
            row
            for row in self._begun(self.timings, day)
            if row.condition == condition.id
        ]
        if not set_here:
            return condition.moments
        return tuple(max(set_here, key=lambda row: (row.occurred_at, row.pk)).moments)

    def conditions(self, moment: str, day: date) -> tuple[Condition, ...]:
        """Return the conditions to be looked at on one round of a day."""
        return tuple(
            each for each in CONDITIONS if moment in self.moments_of(each, day)
        )

    def rounds(self, day: date) -> tuple[str, ...]:
        """Return the rounds of a day on which anything is to be looked at."""
        return tuple(moment for moment in OF_A_DAY if self.conditions(moment, day))

    def timing(self, condition: str) -> ConditionTiming | None:
        """Return what was last set for a condition; None where nothing was."""
        own = [row for row in self.timings if row.condition == condition]
        return max(own, key=lambda row: (row.occurred_at, row.pk), default=None)

    def _begun(self, rows: Iterable, day: date) -> list:
        return [
            row for row in rows if row.occurred_at.astimezone(self.zone).date() <= day
        ]


def conditions_asked(premises: Premises) -> Asked:
    """Return what a place set for its rounds, in two queries."""
    return Asked(
        premises.zone,
        tuple(HiddenCondition.objects.current().filter(premises=premises)),
        tuple(
            ConditionTiming.objects
            .current()
            .filter(premises=premises)
            .order_by("occurred_at", "pk")
        ),
    )


def day_at(premises: Premises, instant: datetime) -> date:
    """Return the day of an instant at a place."""
    return instant.astimezone(premises.zone).date()


def is_month_open(premises: Premises, *, now: datetime) -> bool:
    """Say whether this month's round is asked for at a place and was not made yet."""
    today = day_at(premises, now)
    if not conditions_asked(premises).conditions(MONTH, today):
        return False
    first = datetime(today.year, today.month, 1, tzinfo=premises.zone)
    made = SanitationRound.objects.current().filter(premises=premises, moment=MONTH)
    return not made.filter(occurred_at__gte=first).exists()
