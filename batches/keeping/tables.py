"""Which tables a backup holds, and how a row of one becomes a line of text and comes back."""

import json
from collections.abc import Iterable, Iterator
from typing import Any

from django.apps import apps
from django.db import models

# Made anew by the program itself (names of tables, of permissions) or of no use later.
LEFT_OUT = {"contenttypes.contenttype", "auth.permission", "sessions.session"}
PLAIN = (bool, int, str)


def label_of(model: type[models.Model]) -> str:
    """Return the name of a table as backups say it."""
    return model._meta.label_lower


def kept_models() -> list[type[models.Model]]:
    """Return the models of all tables that a backup holds, by name."""
    return sorted(
        (
            model
            for model in apps.get_models(include_auto_created=True)
            if model._meta.managed and not model._meta.proxy and is_kept(model)
        ),
        key=label_of,
    )


def is_kept(model: type[models.Model]) -> bool:
    """Say whether a table belongs into a backup: not what is left out, nor links to it."""
    if label_of(model) in LEFT_OUT:
        return False
    linked = {
        label_of(field.related_model)
        for field in model._meta.fields
        if field.is_relation
    }
    return not linked & LEFT_OUT


def columns_of(model: type[models.Model]) -> list[models.Field]:
    """Return the fields that are columns, by name."""
    return sorted(model._meta.concrete_fields, key=lambda field: field.attname)


def header(model: type[models.Model]) -> bytes:
    """Return the first line of a table: the names of its columns."""
    return _line([field.attname for field in columns_of(model)])


def row_line(row: models.Model, columns: Iterable[models.Field]) -> bytes:
    """Return one row as one line."""
    return _line([_as_text(field, row) for field in columns])


def rows_from(
    model: type[models.Model], lines: Iterable[bytes]
) -> Iterator[models.Model]:
    """Yield the rows that the lines after the header hold, ready to be inserted."""
    columns = columns_of(model)
    for line in lines:
        values = json.loads(line)
        yield model(**{
            field.attname: _as_value(field, value)
            for field, value in zip(columns, values, strict=True)
        })


def _line(values: list[Any]) -> bytes:
    """Return values as one line; keys in order, since each database has its own."""
    line = json.dumps(values, ensure_ascii=True, allow_nan=False, sort_keys=True)
    return line.encode() + b"\n"


def _as_text(field: models.Field, row: models.Model) -> Any:
    """Return a value that JSON keeps exactly; everything else as its own text."""
    value = field.value_from_object(row)
    if value is None or isinstance(field, models.JSONField):
        return value
    if isinstance(field, models.ForeignKey):
        field = field.target_field
        return value if isinstance(value, PLAIN) else str(value)
    if isinstance(value, PLAIN) and not isinstance(field, models.BinaryField):
        return value
    return field.value_to_string(row)


def _as_value(field: models.Field, value: Any) -> Any:
    if value is None or isinstance(field, models.JSONField):
        return value
    if isinstance(field, models.ForeignKey):
        return field.target_field.to_python(value)
    return field.to_python(value)
