"""The second and third fence: parents hold their rows, and the database refuses."""

from types import SimpleNamespace

import pytest
from django.apps import apps
from django.core.checks import Tags, run_checks
from django.core.management import CommandError, call_command
from django.db import IntegrityError, connection, models, transaction
from django.db.models import ProtectedError

from batches.acts import append_only_models
from batches.errors import AppendOnly
from batches.fences import fences, missing
from batches.models import Reading
from batches.upgrading import after_migrating
from batches.verifying import verify
from tests import factories
from tests.batches.test_append_only import ALL
from tests.lowered import lower

pytestmark = pytest.mark.django_db

REFUSED = "rows of the record are only added"
Q = connection.ops.quote_name


def sql(text, *values):
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(text, values)


def present(row):
    return type(row).objects.filter(pk=row.pk).values().get()


def columns_of(row):
    fields = row._meta.concrete_fields
    names = ", ".join(Q(field.column) for field in fields)
    values = [
        field.get_db_prep_save(getattr(row, field.attname), connection)
        for field in fields
    ]
    return names, ", ".join(["%s"] * len(fields)), values


def past_python(row, deed):
    """Change a row through Django's own queryset, which knows nothing of our fences."""
    plain = models.QuerySet(type(row))
    with transaction.atomic():
        deed(plain.filter(pk=row.pk), plain, row)


def overwrite(_, plain, row):
    copy = type(row)(**{f.attname: getattr(row, f.attname) for f in row._meta.fields})
    plain.bulk_create(
        [copy],
        update_conflicts=True,
        unique_fields=["id"],
        update_fields=[row._meta.concrete_fields[1].name],
    )


PAST_PYTHON = {
    "update": lambda rows, plain, row: rows.update(id=row.pk),
    "bulk update": lambda rows, plain, row: plain.bulk_update(
        [row], [row._meta.concrete_fields[1].name]
    ),
    "upsert": overwrite,
    "delete": lambda rows, plain, row: rows._raw_delete("default"),
    "save over it": lambda rows, plain, row: models.Model.save_base(
        row, force_update=True
    ),
}
BY_HAND = {
    "update": "UPDATE {table} SET id = id WHERE id = {pk}",
    "update of all": "UPDATE {table} SET id = id",
    "delete": "DELETE FROM {table} WHERE id = {pk}",
    "delete of all": "DELETE FROM {table}",
}
every_row = pytest.mark.parametrize(
    "factory", ALL, ids=lambda made: made._meta.model.__name__
)


@every_row
@pytest.mark.parametrize("deed", PAST_PYTHON.values(), ids=PAST_PYTHON.keys())
def test_database_refuses_what_gets_past_the_models(factory, deed):
    row = factory()
    before = present(row)
    with pytest.raises(IntegrityError, match=REFUSED):
        past_python(row, deed)
    assert present(row) == before


@every_row
@pytest.mark.parametrize("text", BY_HAND.values(), ids=BY_HAND.keys())
def test_database_refuses_sql_by_hand(factory, text):
    row = factory()
    before = present(row)
    with pytest.raises(IntegrityError, match=REFUSED):
        sql(text.format(table=Q(row._meta.db_table), pk=row.pk))
    assert present(row) == before


@every_row
def test_row_is_not_replaced_by_one_of_the_same_key(factory):
    row = factory()
    before = present(row)
    names, marks, values = columns_of(row)
    table = Q(row._meta.db_table)
    text = f"INSERT INTO {table} ({names}) VALUES ({marks}) "  # noqa: S608
    if connection.vendor == "sqlite":
        text = text.replace("INSERT", "REPLACE", 1)
    else:
        text += "ON CONFLICT (id) DO UPDATE SET id = excluded.id"
    with pytest.raises(IntegrityError, match=REFUSED):
        sql(text, *values)
    assert present(row) == before


@every_row
def test_plain_insert_is_what_the_database_allows(factory):
    row = factory()
    assert present(row)["id"] == row.pk


@pytest.mark.django_db(transaction=True)
def test_tables_are_not_truncated():
    row = factories.ReadingFactory()
    if connection.vendor == "postgresql":
        with pytest.raises(IntegrityError, match=REFUSED):
            sql("TRUNCATE batches_reading")
        with pytest.raises(IntegrityError, match=REFUSED):
            sql("SET session_replication_role = replica; DELETE FROM batches_reading")
    else:
        with pytest.raises(IntegrityError, match=REFUSED):
            sql("DELETE FROM batches_reading")  # SQLite's way to empty a table
    assert present(row)["id"] == row.pk


def test_sqlite_fires_triggers_when_a_row_is_replaced():
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA recursive_triggers")
            assert cursor.fetchone() == (1,)
    else:
        assert connection.vendor == "postgresql"


def fields_that_point_at_records():
    for model in apps.get_models(include_auto_created=True):
        for field in model._meta.concrete_fields:
            target = field.related_model if field.is_relation else None
            ours = {model._meta.app_label, target and target._meta.app_label}
            if target is not None and "batches" in ours:
                yield pytest.param(field, id=str(field))


@pytest.mark.parametrize("field", [*fields_that_point_at_records()])
def test_no_parent_takes_its_rows_along_when_it_goes(field):
    assert field.remote_field.on_delete is models.PROTECT


def test_user_of_a_member_cannot_be_deleted():
    entry = factories.ReadingFactory()
    with pytest.raises((AppendOnly, ProtectedError)):
        entry.by.user.delete()
    assert Reading.objects.filter(pk=entry.pk).exists()


def test_every_append_only_table_is_fenced():
    assert append_only_models()
    assert missing(connection) == []


def problems():
    return run_checks(tags=[Tags.database], databases=["default"])


def test_missing_trigger_is_named_with_what_to_do():
    with connection.cursor() as cursor:
        one = "batches_reading_no_delete"
        if connection.vendor == "postgresql":
            one = "batches_reading_no_change"
            cursor.execute(f"DROP TRIGGER {one} ON batches_reading")
        else:
            cursor.execute(f"DROP TRIGGER {one}")
    (problem,) = problems()
    assert problem.id == "batches.E002"
    assert one in problem.msg
    assert "raise_fences" in problem.hint
    call_command("raise_fences")
    assert problems() == []


def test_hollowed_out_trigger_counts_as_missing():
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(
                "ALTER TABLE batches_lot DISABLE TRIGGER batches_lot_no_change"
            )
        else:
            cursor.execute("DROP TRIGGER batches_lot_no_update")
            cursor.execute(
                "CREATE TRIGGER batches_lot_no_update BEFORE UPDATE ON batches_lot "
                "BEGIN SELECT 1; END"
            )
    assert [fence.table for fence in missing(connection)] == ["batches_lot"]


def migrated(name):
    """Tell the records that this migration of theirs was just applied."""
    step = SimpleNamespace(app_label="batches", name=name)
    after_migrating(using="default", plan=[(step, False)])


def test_migration_that_made_a_table_anew_gets_its_triggers_back():
    lower(connection)
    assert missing(connection) != []
    migrated("0099_change_a_column")
    assert missing(connection) == []


def test_without_a_migration_nothing_is_mended_in_silence():
    lower(connection)
    after_migrating(using="default", plan=[])
    assert missing(connection) != []


def test_upgrade_begins_the_trail_with_the_rows_that_are_there():
    producer = factories.ReadingFactory().batch.producer
    migrated("0003_add_trail")
    report = verify(producer)
    assert report.faults == []
    assert report.rows > 0


def test_hollowed_out_function_counts_as_missing():
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute(
                "CREATE OR REPLACE FUNCTION batches_refuse_change() RETURNS trigger "
                "LANGUAGE plpgsql AS $$ BEGIN RETURN NEW; END $$"
            )
        assert len(missing(connection)) == len(fences(connection))
        call_command("raise_fences")
    assert missing(connection) == []


def test_site_does_not_start_on_an_unguarded_record():
    lower(connection)
    with pytest.raises(CommandError, match="raise_fences"):
        call_command("start", "--prepare", verbosity=0)
