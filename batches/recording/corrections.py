"""Writes: taking back what was recorded; corrections with new content are writes too."""

from datetime import datetime
from typing import Any

from django.db import transaction

from batches.errors import RecordError
from batches.models import (
    Batch,
    Dispatch,
    InstrumentCheck,
    LabResult,
    Member,
    NamedDate,
    Packing,
    StepMark,
)
from batches.models.append_only import Correctable
from batches.recording import guards, rows
from batches.recording.dispatches import check_still_there
from batches.recording.entries import act_of_date

_OF_THE_ROW_ITSELF = {
    "id",
    "entry_id",
    "recorded_at",
    "by",
    "by_name",
    "corrects",
    "reason",
    "withdrawn",
}


@transaction.atomic
def withdraw(row: Correctable, *, reason: str, by: Member, at: datetime) -> Any:
    """Take a row back: a new row says so and why; the old one stays readable."""
    _lock_and_check(row, by)
    reason = guards.check_text("reason", reason, "why it is taken back")
    newer = type(row).objects.filter(corrects=row.pk).first()
    if newer is not None and (newer.withdrawn, newer.reason, newer.by_id) == (
        True,
        reason,
        by.pk,
    ):
        return newer
    rows.check_newest(row)
    if row.withdrawn:
        raise RecordError(
            "corrects", "This entry was already taken back.", "already-withdrawn"
        )
    if isinstance(row, StepMark):
        _check_no_end_alone(row)
    if isinstance(row, Dispatch | Packing):
        check_still_there(row)
    if isinstance(row, LabResult):
        withdraw_readings(row, reason=reason, by=by, at=at)
    return _taken_back(row, reason, by, at)


def withdraw_readings(
    result: LabResult, *, reason: str, by: Member, at: datetime
) -> None:
    """Take back the figures of a laboratory's report."""
    for reading in result.readings.current():
        _taken_back(reading, reason, by, at)


def _taken_back(row: Correctable, reason: str, by: Member, at: datetime) -> Any:
    content = {
        field.name: getattr(row, field.name)
        for field in row._meta.concrete_fields
        if field.name not in _OF_THE_ROW_ITSELF
    }
    return rows.add(
        type(row),
        **content,
        corrects=row,
        reason=reason,
        withdrawn=True,
        **rows.signed(by, at),
    )


def _lock_and_check(row: Correctable, by: Member) -> None:
    if isinstance(row, InstrumentCheck):
        instrument = rows.held(row.instrument)
        guards.check_may(by, instrument.producer, "check")
        return
    guards.check_may(by, rows.locked(_batch(row)).producer, _act(row))


def _act(row: Correctable) -> str:
    if isinstance(row, NamedDate):
        return act_of_date(row.what)
    return "record"


def _batch(row: Any) -> Batch:
    return row.batch


def _check_no_end_alone(mark: StepMark) -> None:
    if mark.edge != StepMark.Edge.START:
        return
    ends = mark.batch.stepmarks.current().filter(step=mark.step, edge=StepMark.Edge.END)
    if ends.exists():
        raise RecordError(
            "corrects",
            f"{guards.check_step(mark.step)} has an end. Take that back first.",
            "end-alone",
        )
