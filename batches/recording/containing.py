"""Writes: a batch that a failed check put in doubt is contained, once."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID, uuid5

from django.db import transaction

from batches.containing import Wanted, state_for, wanted
from batches.errors import RecordError
from batches.lookback import touched, touched_batch
from batches.lookups.deviations import open_holds_of, state_of, states_of
from batches.models import Batch, Deviation, Hold, InstrumentCheck, Member, Response
from batches.recording import guards, rows
from batches.recording.deviations import hold, open_deviation, respond


@dataclass(frozen=True, slots=True)
class Contained:
    """What containing a batch came to: its deviations, and the hold if one was made."""

    batch: Batch
    deviations: tuple[Deviation, ...]
    hold: Hold | None = None


@transaction.atomic
def contain(
    check: InstrumentCheck,
    batch: Batch,
    *,
    by: Member,
    at: datetime,
    entry_id: UUID | str | None = None,
) -> Contained:
    """Open what a check made doubtful in a batch, and hold the batch; a second is none.

    Where the batch is on hold already, that hold contains the new deviations too. A
    batch without doubt is left as it is.
    """
    batch = rows.locked(batch)
    guards.check_member(by, batch.producer)
    _check_touched(check, batch)
    wants = wanted(touched_batch(batch, check, now=at), check)
    deviations = _opened(check, batch, wants, by=by, at=at)
    waiting = [one for one in deviations if state_of(one).contained_at is None]
    if not waiting:
        return Contained(batch, deviations)
    reason = _reason(check, batch)
    held = next(iter(open_holds_of(batch)), None)
    made = None
    if held is None:
        told = {} if entry_id is None else {"entry_id": _own_id(entry_id, batch)}
        made = held = hold(
            batch, reason=reason, deviation=waiting.pop(0), by=by, at=at, **told
        )
    for deviation in waiting:
        respond(
            deviation,
            kind=Response.Kind.CONTAINMENT,
            text=f"Held with {held.deviation}: {reason}",
            by=by,
            at=at,
        )
    return Contained(batch, deviations, made)


def contain_all(
    check: InstrumentCheck,
    *,
    by: Member,
    at: datetime,
    entry_id: UUID | str | None = None,
) -> list[Contained]:
    """Contain every batch that a check put in doubt, each by itself; return those."""
    guards.check_member(by, check.instrument.producer)
    done = [
        contain(check, batch, by=by, at=at, entry_id=entry_id)
        for batch in touched(check)
    ]
    return [one for one in done if one.deviations]


def _check_touched(check: InstrumentCheck, batch: Batch) -> None:
    code = check.instrument.code
    if batch not in touched(check):
        raise RecordError(
            "batch",
            f"{batch.code} was not read with {code} in the time for which this check "
            "speaks. Choose one of the batches of its page.",
            "not-touched",
        )


def _opened(
    check: InstrumentCheck,
    batch: Batch,
    wants: tuple[Wanted, ...],
    *,
    by: Member,
    at: datetime,
) -> tuple[Deviation, ...]:
    states = states_of(Deviation.objects.filter(batch=batch))
    opened = []
    for want in wants:
        state = state_for(want, states, check)
        opened.append(
            state.deviation
            if state is not None
            else open_deviation(
                batch,
                control_point=want.control_point,
                limit_id=want.limit_id,
                status=want.status,
                place=want.place,
                words=want.words,
                observed_at=check.occurred_at,
                detected_at=max(at, check.occurred_at),
                detected_how=f"by looking back from a check of {check.instrument.code}",
                by=by,
                at=at,
            )
        )
    return tuple(opened)


def _reason(check: InstrumentCheck, batch: Batch) -> str:
    then = guards.wall(check.occurred_at, batch.premises.zone)
    return f"In doubt since the check of {check.instrument.code} at {then}."


def _own_id(entry_id: UUID | str, batch: Batch) -> UUID:
    return uuid5(rows.as_uuid(entry_id), str(batch.pk))
