"""How a row is made or changed: with its event in the trail, or not at all."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import models, transaction

from batches.acts import act_of, check_act, producer_id_of
from batches.canonical import canonical, content_of
from batches.errors import RecordError
from batches.models import Batch, Member, Producer
from batches.models.append_only import Correctable
from batches.models.entry import Entry
from batches.recording import guards, trail

_ENTERED = ("recorded_at", "signed_at", "created_at")  # columns: the instant of entry


def locked(batch: Batch) -> Batch:
    """Return the batch again, held until the transaction ends, with its premises."""
    trail.hold(batch.producer_id)
    return (
        Batch.objects
        .select_for_update(of=("self",), no_key=True)
        .select_related("premises", "product", "producer")
        .get(pk=batch.pk, producer=batch.producer_id)
    )


def held(row: models.Model) -> Any:
    """Return a row again as it is now, held until the transaction ends."""
    trail.hold(producer_id_of(row))
    return type(row)._base_manager.select_for_update(no_key=True).get(pk=row.pk)


def add(
    model: type[models.Model],
    signature: Mapping[str, Any] | None = None,
    /,
    **fields: Any,
) -> Any:
    """Make one row and its event, or refuse it in the words of the field at fault.

    ``signature`` says who wrote it down, where the model has no columns for that.
    """
    row = model(**fields)
    act, signed_by = act_of(row), _signed(fields if signature is None else signature)
    _clean(row)
    with transaction.atomic(savepoint=False):
        if isinstance(row, Producer):
            row.save()
            trail.hold(row.pk)
        else:
            trail.hold(producer_id_of(row))
            row.save()
        after = canonical(content_of(row))
        trail.append(row, act=act, signed=signed_by, after=after)
    return row


def change(
    row: models.Model, *, act: str, by: Member, at: datetime, **fields: Any
) -> Any:
    """Change columns of a row that may change; return it as it is now.

    The trail keeps what it said before and after. Where nothing changes nothing is
    written, so that a form sent twice is one act.
    """
    check_act(act)
    with transaction.atomic(savepoint=False):
        changed = held(row)
        before = canonical(content_of(changed))
        for name, value in fields.items():
            setattr(changed, changed._meta.get_field(name).name, value)
        _clean(changed)
        after = canonical(content_of(changed))
        if after != before:
            changed.save(update_fields=list(fields))
            signed_by = trail.Signed(by, by.name, at)
            trail.append(changed, act=act, signed=signed_by, before=before, after=after)
    return changed


def note(
    row: models.Model, *, act: str, by: Member | None, at: datetime, by_name: str = ""
) -> None:
    """Put into the trail that something happened to a row without changing it.

    ``by_name`` names somebody who is no member, such as the holder of a link.
    """
    guards.check_aware("at", at)
    who = trail.Signed(by, by.name if by is not None else by_name, at)
    with transaction.atomic(savepoint=False):
        trail.hold(producer_id_of(row))
        trail.append(row, act=act, signed=who)


def _clean(row: models.Model) -> None:
    unchecked = {
        field.name
        for field in row._meta.fields
        if field.is_relation or isinstance(field, models.FileField | models.BinaryField)
    }
    try:
        row.clean_fields(exclude=unchecked)
    except ValidationError as error:
        field, messages = next(iter(error.message_dict.items()))
        raise RecordError(field, " ".join(messages), "invalid") from error


def _signed(columns: Mapping[str, Any]) -> trail.Signed:
    at = next((columns[name] for name in _ENTERED if name in columns), None)
    by_name = columns.get("by_name", "")
    if at is None or not by_name:
        raise TypeError(
            "A new row says who wrote it down: add **rows.signed(by, at), or "
            "rows.signed(by, at) before the columns where it has none for that."
        )
    return trail.Signed(columns.get("by"), by_name, at)


def repeated(
    model: type[models.Model], entry_id: UUID | str | None, content: dict[str, Any]
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


def seen(producer: Producer) -> dict[str, Any]:
    """Return the columns by which a signature says which trail was signed.

    Nobody else writes between this and the end of the transaction.
    """
    trail.hold(producer.pk)
    last = trail.head(producer)
    return {"trail_head_number": last.number, "trail_head_sha256": last.sha256}


def identified(entry_id: UUID | str | None) -> dict[str, Any]:
    """Return the column that recognises a retry, where the caller gave an id."""
    return {} if entry_id is None else {"entry_id": as_uuid(entry_id)}


def on_paper(initials: str | None, corrects: Entry | None) -> dict[str, Any]:
    """Return the columns that say whether an entry is copied from paper, and whose.

    A correction of what came from paper came from there too, unless it says whose.
    """
    if initials is None:
        return {
            "from_paper": corrects is not None and corrects.from_paper,
            "paper_initials": "" if corrects is None else corrects.paper_initials,
        }
    return {"from_paper": True, "paper_initials": initials.strip()}


def _zone(row: Correctable) -> Any:
    premises = getattr(row.batch if isinstance(row, Entry) else row, "premises", None)
    return None if premises is None else premises.zone
