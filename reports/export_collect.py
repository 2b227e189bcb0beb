"""What a producer owns, table by table and file by file; beside collect a door to the records."""

from collections.abc import Iterator
from contextlib import AbstractContextManager, nullcontext
from datetime import datetime
from typing import Any

from django.apps import apps
from django.conf import settings
from django.db import connection, models

from batches.acts import rows_of
from batches.judging import evidence_of
from batches.keeping.backup import snapshot
from batches.keeping.made import is_backup_due, last_backup
from batches.lookups import (
    batches_of,
    premises_of,
    records_of,
    studies_kept,
    years_kept,
)
from batches.models import Producer
from safety.judge.export import write_batch

ROWS_AT_ONCE = 500
SECRET = ("password", "secret", "token")


def one_instant() -> AbstractContextManager[None]:
    """Read all tables as they are at one instant, unless a transaction is open anyway."""
    return nullcontext() if connection.in_atomic_block else snapshot()


def keeping_of(producer: Producer, at: datetime) -> dict[str, Any]:
    """Return when the last backup was made, and for how long records are kept."""
    years, cited = years_kept(producer)
    return {
        "last": last_backup(),
        "is_due": is_backup_due(at),
        "every_days": settings.BRINEWRIGHT_BACKUP_DAYS,
        "years": years,
        "cited": cited,
        "studies": studies_kept(),
        "zone": premises_of(producer)[0].zone,
    }


def owned_models() -> list[type[models.Model]]:
    """Return the models of the records, by name; each belongs to a producer."""
    found = apps.get_app_config("batches").get_models()
    return sorted(found, key=lambda model: model._meta.model_name)


def owned(model: type[models.Model], producer: Producer) -> models.QuerySet:
    """Return the producer's own rows of a model, first made first."""
    return rows_of(model, producer).order_by("pk")


def columns_of(model: type[models.Model]) -> list[models.Field]:
    """Return the columns that are exported: no secrets, and no packed series."""
    return [
        field
        for field in model._meta.concrete_fields
        if not isinstance(field, models.BinaryField)
        and not any(word in field.attname.casefold() for word in SECRET)
    ]


def table(model: type[models.Model], producer: Producer) -> Iterator[list[Any]]:
    """Yield the producer's rows of a model, each as its values."""
    columns = columns_of(model)
    for row in owned(model, producer).iterator(chunk_size=ROWS_AT_ONCE):
        yield [_value(row, field) for field in columns]


def files_of(producer: Producer) -> Iterator[tuple[str, Any]]:
    """Yield the producer's files, each once: its path in the storage, and the file."""
    seen: set[str] = set()
    for model in owned_models():
        columns = [
            each
            for each in model._meta.concrete_fields
            if isinstance(each, models.FileField)
        ]
        if not columns:
            continue
        for row in owned(model, producer).iterator(chunk_size=ROWS_AT_ONCE):
            for each in columns:
                file = getattr(row, each.attname)
                if file and file.name not in seen:
                    seen.add(file.name)
                    yield file.name, file


def batch_codes(producer: Producer) -> list[str]:
    """Return the codes of all batches, first started first."""
    return list(batches_of(producer).order_by("pk").values_list("code", flat=True))


def batch_file(producer: Producer, code: str, at: datetime) -> bytes:
    """Return one batch in the open format."""
    batch = batches_of(producer).get(code=code)
    return write_batch(evidence_of(records_of(batch), judged_at=at), indent=1).encode()


def signed_plans_of(producer: Producer) -> list[tuple[int, int]]:
    """Return product and number of every signed plan."""
    return list(
        producer.signed_plans.order_by("product", "number").values_list(
            "product", "number"
        )
    )


def _value(row: models.Model, field: models.Field) -> Any:
    value = field.value_from_object(row)
    if isinstance(field, models.FileField):
        return value.name if value else ""
    return value
