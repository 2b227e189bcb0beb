"""Writes: the records beside the batches; one function for each kind."""

from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal
from pathlib import PurePath
from typing import Any
from uuid import UUID

from django.db import transaction

from batches.errors import RecordError
from batches.logbook import CONDITION_BY_ID
from batches.models import (
    Batch,
    Complaint,
    FollowUp,
    HiddenCondition,
    Lot,
    MaintenanceRecord,
    Member,
    Premises,
    Producer,
    ReceivingCheck,
    SanitationAnswer,
    SanitationRound,
    SupplierDocument,
    TrainingRecord,
    Visit,
)
from batches.models.logbook import LogEntry, YesNo
from batches.recording import files, guards, rows, trail

Found = SanitationAnswer.Found


@transaction.atomic
def record_sanitation(
    premises: Premises,
    *,
    moment: str,
    answers: Mapping[str, tuple[str, str]],
    sanitizer: str = "",
    sanitizer_ppm: Decimal | str | None = None,
    **entry: Any,
) -> SanitationRound:
    """Write down a round: per condition what was found, and what was done if it was bad.

    A condition that is left out was not looked at, which is no answer.
    """
    given = {
        condition: (found, put_right.strip())
        for condition, (found, put_right) in answers.items()
    }
    if not given:
        raise RecordError(
            "",
            "Nothing was answered. Say of at least one condition what it was like.",
            "no-answer",
        )
    for condition, (found, put_right) in given.items():
        _check_answer(condition, found, put_right)
    if sanitizer_ppm is not None:
        sanitizer_ppm = guards.number("sanitizer_ppm", sanitizer_ppm)
        if sanitizer_ppm < 0:
            raise RecordError(
                "sanitizer_ppm", "A strength cannot be below zero.", "negative"
            )
    content = {
        "moment": guards.check_text("moment", moment, "when in the day"),
        "sanitizer": sanitizer.strip(),
        "sanitizer_ppm": sanitizer_ppm,
    }
    row, is_new = _logged(SanitationRound, premises, content, **entry)
    if not is_new:
        _check_same_answers(row, given)
        return row
    for condition, (found, put_right) in given.items():
        rows.add(
            SanitationAnswer,
            round=row,
            condition=condition,
            found=found,
            put_right=put_right,
            by=row.by,
            by_name=row.by_name,
            recorded_at=row.recorded_at,
        )
    return row


@transaction.atomic
def hide_condition(
    premises: Premises, *, condition: str, why: str, **entry: Any
) -> HiddenCondition:
    """Say that a condition does not exist at these premises; the reason is kept."""
    _check_condition(condition)
    hidden = HiddenCondition.objects.current().filter(
        premises=premises, condition=condition
    )
    if entry.get("corrects") is None and hidden.exists():
        raise RecordError(
            "condition", "This condition is already left out here.", "already-hidden"
        )
    why = guards.check_text("why", why, "why it does not exist here")
    return enter(HiddenCondition, premises, {"condition": condition, "why": why}, entry)


@transaction.atomic
def record_training(
    premises: Premises,
    *,
    person: str,
    course: str,
    certificate: str = "",
    may_do: str = "",
    again_by: date | None = None,
    **entry: Any,
) -> TrainingRecord:
    """Write down what somebody was taught."""
    content = {
        "person": guards.check_text("person", person, "who was trained"),
        "course": guards.check_text("course", course, "what was taught"),
        "certificate": certificate.strip(),
        "may_do": may_do.strip(),
        "again_by": again_by,
    }
    return enter(TrainingRecord, premises, content, entry)


@transaction.atomic
def record_complaint(
    premises: Premises,
    *,
    what_it_was: str,
    said: str,
    ill: str,
    illness: str = "",
    said_by: str = "",
    contact: str = "",
    batch: Batch | None = None,
    **entry: Any,
) -> Complaint:
    """Write down what a buyer said; who says somebody fell ill says how."""
    if batch is not None:
        guards.check_own(batch, premises.producer, "batch", "batch")
    if ill == YesNo.YES and not illness.strip():
        raise RecordError(
            "illness",
            "Somebody fell ill: say how many, with what, and how long after eating.",
            "illness-missing",
        )
    content = {
        "what_it_was": guards.check_text(
            "what_it_was", what_it_was, "what food it was"
        ),
        "said": guards.check_text("said", said, "what was said"),
        "ill": ill,
        "illness": illness.strip(),
        "said_by": said_by.strip(),
        "contact": contact.strip(),
        "batch": batch,
    }
    return enter(Complaint, premises, content, entry)


@transaction.atomic
def record_visit(
    premises: Premises,
    *,
    agency: str,
    people: str,
    purpose: str = "",
    copied: str = "",
    observed: str = "",
    promised: str = "",
    answer_by: date | None = None,
    **entry: Any,
) -> Visit:
    """Write down an inspection."""
    content = {
        "agency": guards.check_text("agency", agency, "which office came"),
        "people": guards.check_text("people", people, "who came"),
        "purpose": purpose.strip(),
        "copied": copied.strip(),
        "observed": observed.strip(),
        "promised": promised.strip(),
        "answer_by": answer_by,
    }
    return enter(Visit, premises, content, entry)


@transaction.atomic
def follow_up(
    of: Complaint | Visit, *, did: str, state: str, about_plan: str = "", **entry: Any
) -> FollowUp:
    """Write down what was done; a complaint closes only once the plan was thought of."""
    is_complaint = isinstance(of, Complaint)
    if is_complaint and state == FollowUp.State.CLOSED and not about_plan:
        raise RecordError(
            "about_plan",
            "Say whether it concerns a critical control point before you close it.",
            "plan-not-thought-of",
        )
    if of.withdrawn or type(of).objects.filter(corrects=of.pk).exists():
        raise RecordError(
            "", "This was corrected or taken back. Open the newest version.", "old"
        )
    content = {
        "complaint": of if is_complaint else None,
        "visit": None if is_complaint else of,
        "did": guards.check_text("did", did, "what was done"),
        "state": state,
        "about_plan": about_plan if is_complaint else "",
    }
    return enter(FollowUp, of.premises, content, entry)


@transaction.atomic
def keep_document(
    premises: Premises,
    *,
    supplier: str,
    what: str,
    number: str = "",
    valid_until: date | None = None,
    file: tuple[str, bytes] | None = None,
    **entry: Any,
) -> SupplierDocument:
    """Keep a supplier's paper; ``file`` is its name and bytes, if it is not on paper."""
    content: dict[str, Any] = {
        "supplier": guards.check_text("supplier", supplier, "whose paper it is"),
        "what": guards.check_text("what", what, "what the paper says"),
        "number": number.strip(),
        "valid_until": valid_until,
    }
    before = entry.get("corrects")
    if file is not None:
        content |= _kept(premises.producer, *file)
    elif isinstance(before, SupplierDocument):
        content |= {
            name: getattr(before, name) for name in ("name", "size", "sha256")
        } | {"content": before.content.name}
    return enter(SupplierDocument, premises, content, entry)


@transaction.atomic
def record_maintenance(
    premises: Premises,
    *,
    equipment: str,
    did: str,
    done_by: str = "",
    again_by: date | None = None,
    **entry: Any,
) -> MaintenanceRecord:
    """Write down work on a piece of equipment."""
    content = {
        "equipment": guards.check_text("equipment", equipment, "which equipment"),
        "did": guards.check_text("did", did, "what was done"),
        "done_by": done_by.strip(),
        "again_by": again_by,
    }
    return enter(MaintenanceRecord, premises, content, entry)


@transaction.atomic
def check_lot(
    premises: Premises,
    *,
    lot: Lot,
    condition: str,
    decision: str,
    temperature: Decimal | str | None = None,
    unit: str = "",
    papers: str = "",
    **entry: Any,
) -> ReceivingCheck:
    """Write down what a lot was like; a rejected one says why in the note."""
    guards.check_own(lot, premises.producer, "lot", "lot")
    if temperature is not None:
        temperature = guards.number("temperature", temperature)
        guards.check_plausible(
            "product-temperature", temperature, unit, field="temperature"
        )
    if decision == ReceivingCheck.Decision.REJECTED:
        guards.check_text("note", entry.get("note", ""), "why it was rejected")
    before = ReceivingCheck.objects.current().filter(lot=lot)
    if (
        entry.get("corrects") is None
        and before.exclude(entry_id=entry.get("entry_id")).exists()
    ):
        raise RecordError(
            "lot",
            f"Lot {lot.code} was already checked. Correct that check instead.",
            "already-checked",
        )
    content = {
        "lot": lot,
        "condition": condition,
        "temperature": temperature,
        "unit": unit if temperature is not None else "",
        "papers": papers.strip(),
        "decision": decision,
    }
    return enter(ReceivingCheck, premises, content, entry)


@transaction.atomic
def take_back(row: LogEntry, *, reason: str, by: Member, at: datetime) -> LogEntry:
    """Take an entry of the logbook back: a new row says so and why."""
    reason = guards.check_text("reason", reason, "why it is taken back")
    trail.hold(row.producer_id)
    guards.check_member(by, row.producer)
    rows.check_newest(row)
    if row.withdrawn:
        raise RecordError(
            "corrects", "This entry was already taken back.", "already-withdrawn"
        )
    own = {"id", "entry_id", "recorded_at", "by", "by_name"}
    own |= {"corrects", "reason", "withdrawn"}
    content = {
        field.name: getattr(row, field.name)
        for field in row._meta.concrete_fields
        if field.name not in own
    }
    return rows.add(
        type(row),
        **content,
        corrects=row,
        reason=reason,
        withdrawn=True,
        **rows.signed(by, at),
    )


def enter(
    model: type[LogEntry],
    premises: Premises,
    content: dict[str, Any],
    entry: dict[str, Any],
) -> Any:
    """Add an entry of a kind, or return the one that this very form made before."""
    return _logged(model, premises, content, **entry)[0]


def _logged(
    model: type[LogEntry],
    premises: Premises,
    content: dict[str, Any],
    *,
    occurred_at: datetime,
    by: Member,
    at: datetime,
    note: str = "",
    entry_id: UUID | str | None = None,
    corrects: LogEntry | None = None,
    reason: str = "",
) -> tuple[Any, bool]:
    """Add the row, unless this very entry made it before; say which of the two."""
    producer = premises.producer
    guards.check_member(by, producer)
    trail.hold(producer.pk)
    content = content | {
        "producer": producer,
        "premises": premises,
        "occurred_at": occurred_at,
        "note": note.strip(),
        "corrects": corrects,
        "reason": reason.strip(),
    }
    if (before := rows.repeated(model, entry_id, content)) is not None:
        return before, False
    guards.check_past("occurred_at", occurred_at, at=at, zone=premises.zone)
    _check_correction(model, producer, corrects, reason)
    signed = rows.signed(by, at)
    row = rows.add(model, **content, **rows.identified(entry_id), **signed)
    return row, True


def _check_correction(
    model: type[LogEntry], producer: Producer, row: LogEntry | None, reason: str
) -> None:
    if row is None:
        return
    if not isinstance(row, model) or row.producer_id != producer.pk:
        raise RecordError(
            "corrects",
            "A correction is of the same kind as what it corrects. "
            "Open the entry again from its list.",
            "wrong-row",
        )
    rows.check_newest(row)
    guards.check_text("reason", reason, "why it is corrected")


def _check_condition(condition: str) -> None:
    if condition not in CONDITION_BY_ID:
        raise RecordError(
            "condition",
            f"There is no condition called {condition!r}. "
            f"Conditions are: {', '.join(CONDITION_BY_ID)}.",
            "unknown-condition",
        )


def _check_answer(condition: str, found: str, put_right: str) -> None:
    _check_condition(condition)
    if found not in Found.values:
        raise RecordError(
            f"found_{condition}",
            f"{found!r} is no answer. Use {' or '.join(Found.values)}.",
            "unknown-answer",
        )
    if found == Found.NOT_SATISFACTORY and not put_right:
        raise RecordError(
            f"put_right_{condition}",
            f"{CONDITION_BY_ID[condition].title}: say what was wrong and what was done.",
            "not-put-right",
        )


def _check_same_answers(
    row: SanitationRound, given: Mapping[str, tuple[str, str]]
) -> None:
    """Refuse a retry whose answers differ: one of the two would be lost."""
    kept = {each.condition: (each.found, each.put_right) for each in row.answers.all()}
    if kept != dict(given):
        raise RecordError(
            "entry_id",
            "This round was already recorded with other answers. "
            "Open the page again and enter it anew.",
            "entry-id-used",
        )


def _kept(producer: Producer, name: str, data: bytes) -> dict[str, Any]:
    """Put a file into the storage under its SHA-256 and return its columns."""
    if not data:
        raise RecordError("file", f"{name} is empty. Choose another file.", "empty")
    path, digest = files.keep(producer, data)
    return {
        "name": PurePath(name).name,
        "size": len(data),
        "sha256": digest,
        "content": path,
    }
