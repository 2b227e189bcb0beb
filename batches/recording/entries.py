"""Writes: readings, statements, dates and remarks."""

from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import transaction

from batches.errors import RecordError
from batches.models import (
    Batch,
    Instrument,
    LabResult,
    Member,
    NamedDate,
    Reading,
    Remark,
    Statement,
)
from batches.models.entry import Entry
from batches.recording import guards, rows, steps
from batches.reviewing import REVIEW

DEEDS = (REVIEW,)  # dates of what was done, not of what is to come


@transaction.atomic
def record_reading(
    batch: Batch,
    *,
    step: str,
    quantity: str,
    value: Decimal | str,
    unit: str,
    occurred_at: datetime,
    by: Member,
    at: datetime,
    place: str = "",
    instrument: Instrument | None = None,
    lab_result: LabResult | None = None,
    corrects: Reading | None = None,
    reason: str = "",
    outside_window: bool = False,
    entry_id: UUID | str | None = None,
    paper_initials: str | None = None,
) -> Reading:
    """Write down one figure that was read.

    ``outside_window`` confirms a reading outside its step's window: it is kept and
    shown, but not judged. ``paper_initials`` are those on the paper from which it is
    copied, empty where nobody signed it; None where it is first written down here.
    """
    batch = rows.locked(batch)
    guards.check_member(by, batch.producer)
    figure = guards.number("value", value)
    content = {
        "batch": batch,
        "step": step,
        "quantity": quantity,
        "place": place.strip(),
        "value": figure,
        "unit": unit,
        "occurred_at": occurred_at,
        "instrument": instrument,
        "lab_result": lab_result,
        "corrects": corrects,
        "reason": reason.strip(),
    } | rows.on_paper(paper_initials, corrects)
    if (before := rows.repeated(Reading, entry_id, content)) is not None:
        return before
    rows.check_correction(corrects, reason, of=batch, kind=Reading)
    guards.check_step(step)
    guards.check_plausible(quantity, figure, unit)
    guards.check_instrument(instrument, batch.producer, quantity)
    _check_laboratory(lab_result, batch)
    guards.check_past("occurred_at", occurred_at, at=at, zone=batch.premises.zone)
    if not outside_window:
        _check_window(batch, step, occurred_at)
    return _add(Reading, content, by=by, at=at, entry_id=entry_id)


@transaction.atomic
def record_statement(
    batch: Batch,
    *,
    what: str,
    complies: bool,
    occurred_at: datetime,
    by: Member,
    at: datetime,
    corrects: Statement | None = None,
    reason: str = "",
    entry_id: UUID | str | None = None,
    paper_initials: str | None = None,
) -> Statement:
    """Put on record that a thing complies, or that it does not."""
    batch = rows.locked(batch)
    guards.check_member(by, batch.producer)
    content = {
        "batch": batch,
        "what": guards.check_text("what", what, "what is stated"),
        "complies": complies,
        "occurred_at": occurred_at,
        "corrects": corrects,
        "reason": reason.strip(),
    } | rows.on_paper(paper_initials, corrects)
    if (before := rows.repeated(Statement, entry_id, content)) is not None:
        return before
    rows.check_correction(corrects, reason, of=batch, kind=Statement)
    guards.check_past("occurred_at", occurred_at, at=at, zone=batch.premises.zone)
    _check_once(Statement, batch, what, corrects)
    return _add(Statement, content, by=by, at=at, entry_id=entry_id)


@transaction.atomic
def record_date(
    batch: Batch,
    *,
    what: str,
    occurs_at: datetime,
    by: Member,
    at: datetime,
    corrects: NamedDate | None = None,
    reason: str = "",
    entry_id: UUID | str | None = None,
    paper_initials: str | None = None,
) -> NamedDate:
    """Put a date on record, such as the use-by date; it may lie ahead.

    A date that says that something was done may not.
    """
    batch = rows.locked(batch)
    guards.check_may(by, batch.producer, act_of_date(what))
    content = {
        "batch": batch,
        "what": guards.check_text("what", what, "which date it is"),
        "occurs_at": occurs_at,
        "corrects": corrects,
        "reason": reason.strip(),
    } | rows.on_paper(paper_initials, corrects)
    if (before := rows.repeated(NamedDate, entry_id, content)) is not None:
        return before
    rows.check_correction(corrects, reason, of=batch, kind=NamedDate)
    guards.check_aware("occurs_at", occurs_at)
    if content["what"] == REVIEW and corrects is None:
        raise RecordError(
            "what",
            "That a record was reviewed is signed by whoever read it, on the page Review.",
            "signed-elsewhere",
        )
    if content["what"] in DEEDS:
        guards.check_past("occurs_at", occurs_at, at=at, zone=batch.premises.zone)
    _check_once(NamedDate, batch, what, corrects)
    return _add(NamedDate, content, by=by, at=at, entry_id=entry_id)


def act_of_date(what: str) -> str:
    """Return what somebody does who puts this date on record."""
    return "review" if what.strip() in DEEDS else "record"


@transaction.atomic
def record_remark(
    batch: Batch,
    *,
    text: str,
    occurred_at: datetime,
    by: Member,
    at: datetime,
    step: str = "",
    corrects: Remark | None = None,
    reason: str = "",
    entry_id: UUID | str | None = None,
    paper_initials: str | None = None,
) -> Remark:
    """Write down words about a batch, or about one of its steps."""
    batch = rows.locked(batch)
    guards.check_member(by, batch.producer)
    content = {
        "batch": batch,
        "step": step,
        "text": guards.check_text("text", text, "what happened"),
        "occurred_at": occurred_at,
        "corrects": corrects,
        "reason": reason.strip(),
    } | rows.on_paper(paper_initials, corrects)
    if (before := rows.repeated(Remark, entry_id, content)) is not None:
        return before
    rows.check_correction(corrects, reason, of=batch, kind=Remark)
    if step:
        guards.check_step(step)
    guards.check_past("occurred_at", occurred_at, at=at, zone=batch.premises.zone)
    return _add(Remark, content, by=by, at=at, entry_id=entry_id)


def _add(
    model: type[Entry],
    content: dict[str, Any],
    *,
    by: Member,
    at: datetime,
    entry_id: UUID | str | None,
) -> Any:
    return rows.add(
        model, **content, **rows.identified(entry_id), **rows.signed(by, at)
    )


def _check_window(batch: Batch, step: str, occurred_at: datetime) -> None:
    known = steps.edges(batch, step)
    start, end = known.get(steps.START), known.get(steps.END)
    title, zone = guards.check_step(step), batch.premises.zone
    if start is not None and occurred_at < start.occurred_at:
        edge = f"{title} started at {guards.wall(start.occurred_at, zone)}"
    elif end is not None and occurred_at > end.occurred_at:
        edge = f"{title} ended at {guards.wall(end.occurred_at, zone)}"
    else:
        return
    raise RecordError(
        "occurred_at",
        f"{edge}; this reading is of {guards.wall(occurred_at, zone)}. Check its time "
        "and its step, or correct that mark. It can also be kept as it is: then it is "
        "shown but not judged.",
        "outside-window",
    )


def _check_laboratory(lab_result: LabResult | None, batch: Batch) -> None:
    if lab_result is not None and lab_result.batch_id != batch.pk:
        raise RecordError(
            "lab_result", "There is no such laboratory result here.", "not-found"
        )


def _check_once(
    model: type[Statement | NamedDate],
    batch: Batch,
    what: str,
    corrects: Entry | None,
) -> None:
    others = model.objects.current().filter(batch=batch, what=what.strip())
    if corrects is not None:
        others = others.exclude(pk=corrects.pk)
    if others.exists():
        raise RecordError(
            "what",
            f"{what.strip()} is already on record for this batch. Correct that entry.",
            "already-recorded",
        )
