"""How a row is made: the batch locked, a retry recognised, a correction allowed."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import models

from batches.errors import RecordError
from batches.models import Batch, Member
from batches.models.append_only import Correctable
from batches.models.entry import Entry
from batches.recording import guards


def locked(batch: Batch) -> Batch:
    """Return the batch again, held until the transaction ends, with its premises."""
    return (
        Batch.objects
        .select_for_update(of=("self",))
        .select_related("premises", "product", "producer")
        .get(pk=batch.pk, producer=batch.producer_id)
    )


def add(model: type[models.Model], **fields: Any) -> Any:
    """Make one row, or refuse it in the words of the field that does not fit."""
    row = model(**fields)
    relations = {field.name for field in model._meta.fields if field.is_relation}
    files = {
        field.name
        for field in model._meta.fields
        if isinstance(field, models.FileField | models.BinaryField)
    }
    try:
        row.clean_fields(exclude=relations | files)
    except ValidationError as error:
        field, messages = next(iter(error.message_dict.items()))
        raise RecordError(field, " ".join(messages), "invalid") from error
    row.save()
    return row


def repeated(
    model: type[Entry], entry_id: UUID | str | None, content: dict[str, Any]
) -> Any | None:
    """Return the row that this entry made before, None if it is new.

    The same id with other content is refused: one of the two would be lost.
    """
    if entry_id is None:
        return None
    row = model.objects.filter(entry_id=as_uuid(entry_id)).first()
    if row is None:
        return None
    if any(getattr(row, name) != value for name, value in content.items()):
        raise RecordError(
            "entry_id",
            "This entry was already recorded with other words or figures. "
            "Open the page again and enter it anew.",
            "entry-id-used",
        )
    return row


def as_uuid(entry_id: UUID | str) -> UUID:
    """Return the id of an entry, or refuse what cannot be one."""
    try:
        return entry_id if isinstance(entry_id, UUID) else UUID(str(entry_id))
    except ValueError as error:
        raise RecordError(
            "entry_id",
            f"{entry_id!r} is not the id of an entry. Open the page again.",
            "bad-entry-id",
        ) from error


def check_correction(
    row: Correctable | None, reason: str, *, of: Any, kind: type[Correctable]
) -> str:
    """Return the reason of a correction, or refuse one that may not be made.

    ``of`` is what the new row belongs to: a batch, or an instrument.
    """
    if row is None:
        return ""
    owner = "batch_id" if isinstance(row, Entry) else "instrument_id"
    if not isinstance(row, kind) or getattr(row, owner) != of.pk:
        raise RecordError(
            "corrects",
            "A correction belongs to the same batch and the same kind of entry as "
            "what it corrects. Open the entry again from its batch.",
            "wrong-row",
        )
    check_newest(row)
    return guards.check_text("reason", reason, "why it is corrected")


def check_newest(row: Correctable) -> None:
    """Refuse to correct a row that was already corrected, and point at the newest."""
    newer = type(row).objects.filter(corrects=row.pk).first()
    if newer is None:
        return
    while further := type(row).objects.filter(corrects=newer.pk).first():
        newer = further
    deed = "taken back" if newer.withdrawn else "corrected"
    raise RecordError(
        "corrects",
        f"This entry was already {deed} by {newer.by_name} on "
        f"{guards.wall(newer.recorded_at, _zone(newer))} ({newer}). "
        "Correct that newer one.",
        "already-corrected",
    )


def signed(by: Member, at: datetime) -> dict[str, Any]:
    """Return the columns that say who wrote a row down, and when."""
    guards.check_aware("at", at)
    return {"by": by, "by_name": by.name, "recorded_at": at}


def identified(entry_id: UUID | str | None) -> dict[str, Any]:
    """Return the column that recognises a retry, where the caller gave an id."""
    return {} if entry_id is None else {"entry_id": as_uuid(entry_id)}


def _zone(row: Correctable) -> Any:
    return row.batch.premises.zone if isinstance(row, Entry) else None
