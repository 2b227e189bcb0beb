"""Writes: on which rounds a condition of cleanliness is looked at at a place."""

from collections.abc import Sequence
from typing import Any

from django.db import transaction

from batches.errors import RecordError
from batches.logbook import CONDITION_BY_ID
from batches.models import ConditionTiming, Premises, SanitationRound
from batches.recording import guards
from batches.recording.logbook import check_condition, enter

MOMENTS = SanitationRound.Moment.values


@transaction.atomic
def time_condition(
    premises: Premises,
    *,
    condition: str,
    moments: Sequence[str],
    why: str = "",
    **entry: Any,
) -> ConditionTiming:
    """Say on which rounds a condition is looked at here from then on.

    Whoever leaves out a round on which it would be looked at says why.
    """
    check_condition(condition)
    chosen = [each for each in MOMENTS if each in moments]
    if not chosen or len(chosen) != len(set(moments)):
        raise RecordError(
            "moments",
            "Choose at least one round. If the condition does not exist here, say so "
            "with “Not here”.",
            "no-moment",
        )
    if set(CONDITION_BY_ID[condition].moments) - set(chosen):
        guards.check_text("why", why, "why it is looked at less often here")
    content = {"condition": condition, "moments": chosen, "why": why.strip()}
    return enter(ConditionTiming, premises, content, entry)
