"""Writes: instruments taken out of use and put back."""

from datetime import datetime
from uuid import UUID

from django.db import transaction

from batches.errors import RecordError
from batches.models import Instrument, InstrumentCheck, InstrumentUse, Member
from batches.recording import guards, rows


@transaction.atomic
def take_out_of_use(
    instrument: Instrument,
    *,
    reason: str,
    occurred_at: datetime,
    by: Member,
    at: datetime,
    entry_id: UUID | str | None = None,
) -> InstrumentUse:
    """Put an instrument aside: it is no longer offered, and no check of it is due."""
    instrument = locked(instrument, by)
    return use(
        instrument, InstrumentUse.OUT, reason, occurred_at, by, at, None, entry_id
    )


@transaction.atomic
def put_back_in_use(
    instrument: Instrument,
    *,
    reason: str,
    occurred_at: datetime,
    by: Member,
    at: datetime,
    entry_id: UUID | str | None = None,
) -> InstrumentUse:
    """Put an instrument back into use; its checks count as they always did."""
    instrument = locked(instrument, by)
    return use(
        instrument, InstrumentUse.IN, reason, occurred_at, by, at, None, entry_id
    )


def locked(instrument: Instrument, by: Member) -> Instrument:
    """Return an instrument held until the transaction ends, for one of its people."""
    found: Instrument = rows.held(instrument)
    guards.check_may(by, found.producer, "check")
    return found


def use(
    instrument: Instrument,
    state: str,
    reason: str,
    occurred_at: datetime,
    by: Member,
    at: datetime,
    check: InstrumentCheck | None = None,
    entry_id: UUID | str | None = None,
) -> InstrumentUse:
    """Write down that a held instrument is in use or not, as a check may also do."""
    reason = guards.check_text("reason", reason, "why")
    guards.check_past("occurred_at", occurred_at, at=at)
    content = {"instrument_id": instrument.pk, "state": state}
    if (again := rows.repeated(InstrumentUse, entry_id, content)) is not None:
        return again
    last = instrument.uses.order_by("-recorded_at", "-pk").first()
    now = InstrumentUse.IN if last is None else last.state
    if now == state and check is None:
        raise RecordError(
            "",
            f"{instrument.code} is {InstrumentUse.STATES[state].lower()} already.",
            "no-change",
        )
    return rows.add(
        InstrumentUse,
        instrument=instrument,
        state=state,
        reason=reason,
        occurred_at=occurred_at,
        check_row=check,
        **rows.identified(entry_id),
        **rows.signed(by, at),
    )
