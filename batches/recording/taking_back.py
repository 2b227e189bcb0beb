"""Writes: a mistyped decision is taken back, while nothing rests on it."""

from datetime import datetime, tzinfo
from uuid import UUID

from django.db import transaction

from batches.errors import RecordError
from batches.lookups.deviations import DeviationState, is_taken_back, open_holds_of
from batches.models import (
    BatchLot,
    Dispatch,
    Disposition,
    Hold,
    Member,
    Release,
    Response,
    TakingBack,
)
from batches.recording import deviation_guards as ask
from batches.recording import guards, rows
from batches.recording.taking import GONE

AGAIN = "Open another deviation for what is wrong now. Nothing was taken back."


@transaction.atomic
def take_back_decision(
    disposition: Disposition,
    *,
    reason: str,
    by: Member,
    at: datetime,
    entry_id: UUID | str | None = None,
) -> TakingBack:
    """Take back a mistyped decision with a reason; the food is held as before it.

    Both stay on record. Refused once the deviation is closed, or food was released,
    worked again, sent out, made into a batch or carried away by it.
    """
    state, zone = ask.locked_state(disposition.deviation, by)
    content = {
        "disposition": disposition,
        "reason": guards.check_text("reason", reason, "what was mistyped"),
    }
    if (before := rows.repeated(TakingBack, entry_id, content)) is not None:
        return before
    disposition = Disposition.objects.get(pk=disposition.pk)
    if is_taken_back(disposition):
        raise RecordError(
            "",
            f"This decision was already taken back by {disposition.taking_back.by_name}.",
            "taken-back",
        )
    ask.check_not_closed(state)
    _check_nothing_rests_on(disposition, state, zone)
    made: TakingBack = rows.add(
        TakingBack,
        producer=state.deviation.producer,
        **content,
        **rows.identified(entry_id),
        **rows.signed(by, at),
    )
    _hold_again(made, state, by=by, at=at)
    return made


def _check_nothing_rests_on(
    disposition: Disposition, state: DeviationState, zone: tzinfo | None
) -> None:
    """Refuse where anything that was written since stands on the decision."""
    deviation, since = state.deviation, disposition.recorded_at
    rework = disposition.reworks.select_related("to_batch").first()
    if rework is not None:
        raise _too_late(f"batch {rework.to_batch.code} was started by it")
    for answer in state.answers(Response.Kind.DISPOSITION):
        if disposition.kind in GONE and answer.recorded_at >= since:
            when = guards.wall(answer.done_at, zone)
            raise _too_late(f"it is on record that it was carried out ({when})")
    if deviation.batch is not None:
        _check_batch_stayed(disposition)
    elif (used := _use_since(disposition)) is not None:
        raise _too_late(f"batch {used.batch.code} was started from the lot")


def _check_batch_stayed(disposition: Disposition) -> None:
    batch, since = disposition.deviation.batch, disposition.recorded_at
    release = Release.objects.filter(batch=batch, recorded_at__gte=since).first()
    if release is not None:
        raise _too_late(f"{batch.code} was released by {release.by_name}")
    sent = Dispatch.objects.current().filter(batch=batch, recorded_at__gte=since)
    if sent.exists():
        raise _too_late(f"packages of {batch.code} left, or are destroyed")


def _use_since(disposition: Disposition) -> BatchLot | None:
    found: BatchLot | None = (
        BatchLot.objects
        .filter(
            lot=disposition.deviation.lot,
            batch__recorded_at__gte=disposition.recorded_at,
        )
        .select_related("batch")
        .first()
    )
    return found


def _too_late(why: str) -> RecordError:
    return RecordError(
        "", f"This decision cannot be taken back any more: {why}. {AGAIN}", "too-late"
    )


def _hold_again(
    made: TakingBack, state: DeviationState, *, by: Member, at: datetime
) -> None:
    """Hold the food again, where the decision had ended its holds."""
    deviation = state.deviation
    thing = deviation.batch or deviation.lot
    since = made.disposition.recorded_at
    last = (
        thing.holds
        .filter(lifting__recorded_at__gte=since)
        .order_by("-recorded_at", "-pk")
        .first()
    )
    if last is None or open_holds_of(thing):
        return
    rows.add(
        Hold,
        producer=deviation.producer,
        deviation=deviation,
        where=last.where,
        tag=last.tag,
        reason=f"Held again: a decision on it was taken back. {made.reason}",
        held_at=at,
        kg=state.held("kg"),
        packages=state.held("packages"),
        **ask.named(thing),
        **rows.signed(by, at),
    )
