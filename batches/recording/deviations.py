"""Writes: deviations are opened, food is held, answers are given, cases are closed."""

from collections.abc import Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Max

from batches.deviating import answered as answered_by
from batches.deviating import covers, current_due, due_now, is_changed, judged_now
from batches.errors import RecordError
from batches.lookups import BatchRecords
from batches.lookups.deviations import DeviationState, state_of, states_of
from batches.models import (
    Batch,
    Deviation,
    Hold,
    Lot,
    Member,
    Producer,
    Reassessment,
    Response,
)
from batches.recording import deviation_guards as ask
from batches.recording import guards, rows
from batches.recording.photos import add_photo
from safety.controls import CONTROL_POINTS
from safety.judge.finding import Status

HELD_BY_HAND = "Held by a person’s decision: "
BY_JUDGE = "found by the judgement of the record"


@transaction.atomic
def open_deviation(
    batch: Batch | Lot,
    *,
    control_point: str,
    limit_id: str = "",
    status: str,
    words: str,
    observed_at: datetime,
    by: Member,
    at: datetime,
    limit_words: str = "",
    place: str = "",
    detected_at: datetime | None = None,
    detected_how: str = "",
    entry_id: UUID | str | None = None,
) -> Deviation:
    """Open a deviation of a batch or a lot; the same finding does not open twice.

    ``words`` are what was observed, ``limit_words`` what was asked.
    """
    thing, zone = ask.locked(batch)
    guards.check_member(by, thing.producer)
    content = {
        **ask.named(thing),
        "control_point": control_point,
        "limit_id": limit_id,
        "status": status.replace("-", " "),
        "observed_words": guards.check_text("words", words, "what was seen"),
    }
    before = rows.repeated(Deviation, entry_id, content)
    if before is None and limit_id:
        before = _open_already(content)
    if before is not None:
        return before
    if control_point and control_point not in CONTROL_POINTS:
        raise RecordError(
            "control_point", f"There is no control point {control_point!r}.", "unknown"
        )
    detected_at = detected_at or at
    for name, instant in (("observed_at", observed_at), ("detected_at", detected_at)):
        guards.check_past(name, instant, at=at, zone=zone)
    if detected_at < observed_at:
        raise RecordError(
            "detected_at",
            "It cannot be found before it happened. Check the two times.",
            "found-before",
        )
    return rows.add(
        Deviation,
        producer=thing.producer,
        number=_next_number(thing.producer),
        place=place,
        limit_words=limit_words.strip(),
        observed_at=observed_at,
        detected_at=detected_at,
        detected_how=detected_how.strip() or f"seen by {by.name}",
        **content,
        **rows.identified(entry_id),
        **rows.signed(by, at),
    )


@transaction.atomic
def open_due(
    batch: Batch, *, by: Member, at: datetime, is_missed_only: bool = False
) -> list[Deviation]:
    """Open a deviation for each finding that wants one and has none; return the new.

    What is missed wants one at once, what is not shown once the batch is finished.
    """
    batch = rows.locked(batch)
    guards.check_member(by, batch.producer)
    records, judgement = judged_now(batch, at)
    states = states_of(Deviation.objects.filter(batch=batch))
    opened = []
    for answer in answered_by(due_now(records, judgement), states):
        if answer.state is not None and not answer.is_changed:
            continue
        if is_missed_only and answer.due.status is not Status.MISSED:
            continue
        opened.append(
            open_deviation(
                batch,
                control_point=answer.due.control_point,
                limit_id=answer.due.limit_id,
                status=answer.due.status.value,
                words=answer.due.observed_words or "Nothing on record shows it.",
                limit_words=answer.due.limit_words,
                place=answer.due.place,
                observed_at=_seen_at(records, answer.due.control_point, at),
                detected_how=BY_JUDGE,
                by=by,
                at=at,
            )
        )
    return opened


@transaction.atomic
def hold(
    batch: Batch | Lot,
    *,
    reason: str,
    by: Member,
    at: datetime,
    where: str = "",
    tag: str = "",
    kg: Decimal | str | None = None,
    packages: int | None = None,
    deviation: Deviation | None = None,
    held_at: datetime | None = None,
    entry_id: UUID | str | None = None,
) -> Hold:
    """Set a batch or a lot apart; without a deviation one is opened by hand.

    Where deviations wait for a decision, the hold belongs to the oldest of them, and is
    written down as the containment of the others too.
    """
    thing, zone = ask.locked(batch)
    guards.check_member(by, thing.producer)
    reason = guards.check_text("reason", reason, "why it is held")
    content = {**ask.named(thing), "reason": reason}
    if (before := rows.repeated(Hold, entry_id, content)) is not None:
        return before
    held_at = held_at or at
    guards.check_past("held_at", held_at, at=at, zone=zone)
    amounts = ask.amounts(kg, packages)
    waiting = [] if deviation else _undecided(thing)
    if waiting:
        deviation = waiting[0].deviation
    if deviation is None:
        deviation = open_deviation(
            thing,
            control_point="",
            status=Deviation.Status.BY_HAND,
            words=f"{HELD_BY_HAND}{reason}",
            observed_at=held_at,
            detected_at=held_at,
            by=by,
            at=at,
        )
    ask.check_belongs(deviation, thing)
    state = state_of(deviation)
    ask.check_not_closed(state)
    ask.check_room(state, **amounts)
    for other in waiting[1:]:
        rows.add(
            Response,
            producer=thing.producer,
            deviation=other.deviation,
            kind=Response.Kind.CONTAINMENT,
            text=f"Held with {deviation}: {reason}",
            done_by=by.name,
            done_at=held_at,
            **amounts,
            **rows.signed(by, at),
        )
    return rows.add(
        Hold,
        producer=thing.producer,
        deviation=deviation,
        where=where.strip(),
        tag=tag.strip(),
        held_at=held_at,
        **amounts,
        **content,
        **rows.identified(entry_id),
        **rows.signed(by, at),
    )


@transaction.atomic
def respond(
    deviation: Deviation,
    *,
    kind: str,
    text: str,
    by: Member,
    at: datetime,
    done_by: str = "",
    done_at: datetime | None = None,
    due_on: date | None = None,
    kg: Decimal | str | None = None,
    packages: int | None = None,
    reassessment: Reassessment | None = None,
    photos: Sequence[tuple[str, bytes]] = (),
    entry_id: UUID | str | None = None,
) -> Response:
    """Answer a deviation: one thing that a named person did about it.

    ``photos`` are names and bytes as they were uploaded; they are written anew.
    """
    state, zone = ask.locked_state(deviation, by)
    content = {
        "deviation": state.deviation,
        "kind": kind,
        "text": guards.check_text("text", text, "what was done"),
    }
    producer = state.deviation.producer
    if (before := rows.repeated(Response, entry_id, content)) is not None:
        return before
    if kind not in Response.Kind.values or kind == Response.Kind.CLOSING:
        raise RecordError("kind", f"There is no such answer as {kind!r}.", "unknown")
    done_at = done_at or at
    ask.check_done(state, kind, done_at, at=at, zone=zone)
    ask.check_reassessment(state, reassessment)
    amounts = ask.amounts(kg, packages)
    if kind == Response.Kind.CONTAINMENT:
        ask.check_room(state, **amounts)
    made: Response = rows.add(
        Response,
        producer=producer,
        done_by=done_by.strip() or by.name,
        done_at=done_at,
        due_on=due_on,
        reassessment=reassessment,
        **amounts,
        **content,
        **rows.identified(entry_id),
        **rows.signed(by, at),
    )
    for name, data in photos:
        add_photo(made, name=name, data=data, by=by, at=at)
    return made


@transaction.atomic
def close_deviation(
    deviation: Deviation,
    *,
    text: str,
    by: Member,
    at: datetime,
    is_foreseen: bool | None = None,
    entry_id: UUID | str | None = None,
) -> Response:
    """Close a deviation: product, cause and, where unforeseen, the plan are answered.

    What was only not shown and is met by later evidence needs no decision: it is closed
    as settled, unless food is still held for it.
    """
    state, _ = ask.locked_state(deviation, by)
    content = {
        "deviation": state.deviation,
        "kind": Response.Kind.CLOSING,
        "text": guards.check_text("text", text, "why it can be closed"),
    }
    producer = state.deviation.producer
    if (before := rows.repeated(Response, entry_id, content)) is not None:
        return before
    ask.check_not_closed(state)
    is_settled = _is_settled(state, at)
    if not is_settled:
        ask.check_complete(state, is_foreseen)
    return rows.add(
        Response,
        producer=producer,
        done_by=by.name,
        done_at=at,
        is_foreseen=is_foreseen,
        is_settled=is_settled,
        **content,
        **rows.identified(entry_id),
        **rows.signed(by, at),
    )


def _seen_at(records: BatchRecords, control_point: str, at: datetime) -> datetime:
    """Return when anything was last seen in a step; else when anything was written."""
    seen = [
        row.occurred_at for row in records.readings.current if row.step == control_point
    ]
    seen += [row.last_at for row in records.traces.current if row.step == control_point]
    return min(max(seen, default=records.last_recorded_at), at)


def _is_settled(state: DeviationState, at: datetime) -> bool:
    """Say whether nothing but the wanting evidence was wrong, and it came since."""
    deviation = state.deviation
    return (
        deviation.batch is not None
        and deviation.status == Deviation.Status.NOT_SHOWN
        and not state.dispositions
        and not state.open_holds
        and current_due(deviation.batch, deviation, at) is None
    )


def _open_already(content: dict[str, Any]) -> Deviation | None:
    """Return the deviation that this very finding opened before, if it still counts."""
    owner = {name: content[name] for name in ("batch", "lot") if content.get(name)}
    same = Deviation.objects.filter(
        control_point=content["control_point"], limit_id=content["limit_id"], **owner
    )
    status, words = content["status"], content["observed_words"]
    for state in reversed(states_of(same)):
        if state.is_decided and status == Deviation.Status.BY_HAND:
            continue  # somebody wants it answered again
        if covers(state.deviation, status) and not is_changed(status, words, state):
            return state.deviation
    return None


def _undecided(thing: Batch | Lot) -> list[DeviationState]:
    """Return the deviations of a batch or lot that wait for a decision, oldest first."""
    return [one for one in states_of(thing.deviations.all()) if not one.is_decided]


def _next_number(producer: Producer) -> int:
    """Return the next free number; whoever asks holds the producer already."""
    last = Deviation.objects.filter(producer=producer).aggregate(Max("number"))
    return (last["number__max"] or 0) + 1
