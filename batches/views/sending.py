"""From a filled-in form to the record, or back to the form with what was refused."""

from collections.abc import Callable
from datetime import datetime
from typing import Any, TypeVar
from uuid import UUID

from django import forms
from django.utils import timezone

from batches.errors import RecordError
from batches.forms.instants import InstantForm
from batches.forms.shape import add_record_error
from batches.models import Batch
from batches.models.entry import Entry

Row = TypeVar("Row")

# What a field of the record is called in the forms, where the two differ.
FORM_FIELD = {
    "started_at": "occurred_at",
    "received_at": "occurred_at",
    "sampled_at": "occurred_at",
    "occurs_at": "occurred_at",
    "corrects": "reason",
}


def attempt(form: forms.Form, write: Callable[[], Row]) -> Row | None:
    """Write, or put the refusal beside the field that it is about and return None."""
    try:
        return write()
    except RecordError as error:
        field = FORM_FIELD.get(error.field, error.field)
        add_record_error(form, RecordError(field, error.message, error.code))
    return None


def said_before(
    model: type[Entry], batch: Batch, entry_id: UUID, form: InstantForm
) -> dict[str, Any]:
    """Return the instant of the first sending, where a form is sent a second time.

    Without it a double tap on *Record*, a second apart, would look like two entries.
    """
    if not form.is_untouched:
        return {}
    before = model.objects.filter(batch=batch, entry_id=entry_id).first()
    instant = None if before is None else before.claimed_at
    return {} if instant is None else {"occurred_at": instant}


def now() -> datetime:
    """Return the instant of entry."""
    return timezone.now()
