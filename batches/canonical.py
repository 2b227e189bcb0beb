"""Rows and events as text of one form only: equal text means equal content."""

import hashlib
import json
from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID

from django.db import models

START_OF_TRAIL = "0" * 64  # what the first event of a producer follows


def canonical(content: Any) -> str:
    """Return plain values as JSON with sorted keys and no room for choice."""
    return json.dumps(
        content, ensure_ascii=False, separators=(",", ":"), sort_keys=True
    )


def sha256_of(text: str) -> str:
    """Return the SHA-256 of a text, as 64 hexadecimal digits."""
    return hashlib.sha256(text.encode()).hexdigest()


def content_of(row: models.Model) -> dict[str, Any]:
    """Return every column of a row as plain values; bytes and files by their SHA-256."""
    return {
        field.attname: _plain(field, getattr(row, field.attname))
        for field in row._meta.concrete_fields
    }


def default_of(field: models.Field) -> Any:
    """Return what a column says that was added after a row was made."""
    return _plain(field, field.get_default())


def link(previous_sha256: str, event: dict[str, Any]) -> str:
    """Return the hash that chains an event to the one before it."""
    return sha256_of(previous_sha256 + canonical(event))


def told_by(event: Any) -> dict[str, Any]:
    """Return what an event says, without its place in the table and its hashes."""
    return {
        "producer": event.producer_id,
        "number": event.number,
        "act": event.act,
        "subject": event.subject,
        "subject_key": event.subject_key,
        "words": event.words,
        "by": event.by_id,
        "by_name": event.by_name,
        "at": event.at.isoformat(),
        "group": str(event.group),
        "before": event.before,
        "after": event.after,
    }


def _plain(field: models.Field, value: Any) -> Any:
    if value is None:
        return None
    if isinstance(field, models.FileField):
        return _file(field, str(value))
    if isinstance(field, models.BinaryField):
        return _digest_of_bytes(bytes(value))
    if isinstance(field, models.JSONField):
        return value
    return _text(field.get_prep_value(value))


def _text(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, UUID):
        return str(value)
    return value


def _digest_of_bytes(data: bytes) -> dict[str, Any]:
    return {"sha256": hashlib.sha256(data).hexdigest(), "size": len(data)}


def _file(field: models.FileField, name: str) -> dict[str, Any]:
    """Return what the storage holds under that name now, not what was meant."""
    try:
        with field.storage.open(name) as stored:
            digest = hashlib.file_digest(stored, "sha256").hexdigest()
    except OSError:
        digest = "missing"
    return {"name": name, "sha256": digest}
