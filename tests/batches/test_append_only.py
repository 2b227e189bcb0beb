"""Three fences: no route through models, parents or SQL changes what is recorded."""

import asyncio

import pytest
from django.db import IntegrityError, transaction
from django.db.models import ProtectedError

from batches.acts import append_only_models
from batches.errors import AppendOnly, RecordError
from batches.models import BatchLot, Reading
from tests import factories
from tests.batches.any_row import AnyRow

BY_FACTORY = [
    factories.BatchFactory,
    factories.BatchLotFactory,
    factories.FollowUpFactory,
    factories.InstrumentCheckFactory,
    factories.LabResultFactory,
    factories.LoggerFileFactory,
    factories.LotFactory,
    factories.NamedDateFactory,
    factories.ReadingFactory,
    factories.RemarkFactory,
    factories.ReviewFactory,
    factories.StatementFactory,
    factories.StepMarkFactory,
    factories.TraceFactory,
]
HAVE_FACTORIES = {made._meta.model for made in BY_FACTORY}
ALL = BY_FACTORY + [
    AnyRow(model) for model in append_only_models() if model not in HAVE_FACTORIES
]

ROUTES = {
    "save": lambda row: row.save(),
    "save one column": lambda row: row.save(
        update_fields=[row._meta.concrete_fields[1].name]
    ),
    "save_base": lambda row: row.save_base(force_update=True),
    "save_base raw": lambda row: row.save_base(raw=True),
    "delete": lambda row: row.delete(),
    "update": lambda row: type(row).objects.update(id=row.pk),
    "filtered update": lambda row: type(row).objects.filter(pk=row.pk).update(id=1),
    "update through the base manager": lambda row: type(row)._base_manager.update(
        id=row.pk
    ),
    "update through the default manager": (
        lambda row: type(row)._default_manager.update(id=row.pk)
    ),
    "asynchronous update": lambda row: asyncio.run(
        type(row).objects.aupdate(id=row.pk)
    ),
    "bulk update": lambda row: type(row).objects.bulk_update([row], ["id"]),
    "upsert": lambda row: type(row).objects.bulk_create(
        [row], update_conflicts=True, unique_fields=["id"], update_fields=["id"]
    ),
    "skipping upsert": lambda row: type(row).objects.bulk_create(
        [row], ignore_conflicts=True
    ),
    "update or create": lambda row: type(row).objects.update_or_create(pk=row.pk),
    "delete of a queryset": lambda row: type(row).objects.filter(pk=row.pk).delete(),
    "raw delete of a queryset": lambda row: (
        type(row).objects.all()._raw_delete("default")
    ),
}


@pytest.mark.django_db
@pytest.mark.parametrize("route", ROUTES.values(), ids=ROUTES.keys())
@pytest.mark.parametrize("factory", ALL, ids=lambda made: made._meta.model.__name__)
def test_recorded_row_refuses_every_route(factory, route):
    row = factory()
    before = type(row).objects.filter(pk=row.pk).values().get()
    with pytest.raises(AppendOnly) as refusal:
        route(row)
    assert "correction" in str(refusal.value)
    assert type(row).objects.filter(pk=row.pk).values().get() == before


@pytest.mark.django_db
def test_copy_with_the_same_key_does_not_overwrite():
    row = factories.ReadingFactory()
    forged = Reading(**{
        field.attname: getattr(row, field.attname) for field in row._meta.fields
    })
    forged.place = "elsewhere"
    with pytest.raises(IntegrityError), transaction.atomic():
        forged.save()


@pytest.mark.django_db
def test_parent_with_records_cannot_be_deleted_behind_their_back():
    entry = factories.ReadingFactory()
    with pytest.raises((AppendOnly, ProtectedError)):
        entry.batch.premises.delete()
    assert Reading.objects.filter(pk=entry.pk).exists()


@pytest.mark.django_db
def test_lots_of_a_batch_cannot_be_set_anew():
    row = factories.BatchLotFactory()
    with pytest.raises(AppendOnly), transaction.atomic():
        row.batch.lots.clear()
    assert BatchLot.objects.filter(pk=row.pk).exists()


@pytest.mark.django_db
def test_plain_bulk_insert_is_allowed():
    batch = factories.BatchFactory()
    Reading.objects.bulk_create(
        factories.ReadingFactory.build_batch(2, batch=batch, by=batch.by)
    )
    assert batch.readings.count() == 2


def test_refusal_is_a_record_error_that_says_what_to_do():
    error = AppendOnly("Reading", "delete rows")
    assert isinstance(error, RecordError)
    assert error.code == "append-only"
    assert str(error).startswith("Reading: cannot delete rows.")
