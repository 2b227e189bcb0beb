"""The third fence: triggers by which the database itself refuses to change records."""

from dataclasses import dataclass

from django.db import DatabaseError
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations.recorder import MigrationRecorder

from batches.acts import append_only_models

APP = "batches"
MIGRATION = "raise_fences"  # how the migration that raises them ends
REFUSAL = "rows of the record are only added; write a correction instead"
FUNCTION = "batches_refuse_change"
ALWAYS = "A"  # PostgreSQL: fires whatever the session says of itself


@dataclass(frozen=True, slots=True)
class Fence:
    """One trigger: the table that it guards, its name, and the SQL that makes it."""

    table: str
    name: str
    sql: str


def raise_fences(connection: BaseDatabaseWrapper) -> list[Fence]:
    """Make every trigger that is missing; return those that were made."""
    gone = missing(connection)
    with connection.cursor() as cursor:
        if gone and connection.vendor == "postgresql":
            cursor.execute(_POSTGRESQL_FUNCTION)
        for fence in gone:
            cursor.execute(_drop(connection, fence))
            cursor.execute(fence.sql)
            if connection.vendor == "postgresql":
                cursor.execute(_always(connection, fence))
    return gone


def missing(connection: BaseDatabaseWrapper) -> list[Fence]:
    """Return the triggers that are not there, or are there but switched off."""
    standing = _standing(connection)
    tables = set(connection.introspection.table_names())
    return [
        fence
        for fence in fences(connection)
        if fence.table in tables and (fence.table, fence.name) not in standing
    ]


def are_expected(connection: BaseDatabaseWrapper) -> bool:
    """Say whether this database was already given its triggers once."""
    try:
        applied = MigrationRecorder(connection).applied_migrations()
    except DatabaseError:
        return False
    return any(app == APP and name.endswith(MIGRATION) for app, name in applied)


def fences(connection: BaseDatabaseWrapper) -> list[Fence]:
    """Return every trigger that the records need in this kind of database."""
    make = {"sqlite": _sqlite, "postgresql": _postgresql}.get(connection.vendor)
    if make is None:
        raise LookupError(
            f"There are no triggers for {connection.vendor}: the record would stand "
            "unguarded. Use SQLite or PostgreSQL."
        )
    quote = connection.ops.quote_name
    return [
        fence
        for model in append_only_models()
        for fence in make(model._meta.db_table, quote)
    ]


def _sqlite(table: str, quote) -> list[Fence]:
    return [
        Fence(
            table,
            name := f"{table}_no_{deed}",
            f"CREATE TRIGGER {quote(name)} BEFORE {deed.upper()} ON {quote(table)} "
            f"BEGIN SELECT RAISE(ABORT, '{table}: {REFUSAL}'); END",
        )
        for deed in ("update", "delete")
    ]


def _postgresql(table: str, quote) -> list[Fence]:
    deeds = {
        "change": "UPDATE OR DELETE ON {table} FOR EACH ROW",
        "truncate": "TRUNCATE ON {table} FOR EACH STATEMENT",
    }
    return [
        Fence(
            table,
            name := f"{table}_no_{deed}",
            f"CREATE TRIGGER {quote(name)} BEFORE {when.format(table=quote(table))} "
            f"EXECUTE FUNCTION {FUNCTION}()",
        )
        for deed, when in deeds.items()
    ]


_POSTGRESQL_FUNCTION = f"""
CREATE OR REPLACE FUNCTION {FUNCTION}() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION '%: {REFUSAL}', TG_TABLE_NAME
    USING ERRCODE = 'integrity_constraint_violation';
END $$
"""


def _drop(connection: BaseDatabaseWrapper, fence: Fence) -> str:
    """Return the SQL that clears away what is left of a trigger."""
    quote = connection.ops.quote_name
    on = f" ON {quote(fence.table)}" if connection.vendor == "postgresql" else ""
    return f"DROP TRIGGER IF EXISTS {quote(fence.name)}{on}"


def _always(connection: BaseDatabaseWrapper, fence: Fence) -> str:
    quote = connection.ops.quote_name
    return f"ALTER TABLE {quote(fence.table)} ENABLE ALWAYS TRIGGER {quote(fence.name)}"


def _standing(connection: BaseDatabaseWrapper) -> set[tuple[str, str]]:
    """Return the triggers that fire, as table and name; one altered does not count."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute(
                "SELECT tbl_name, name, sql FROM sqlite_master WHERE type = 'trigger'"
            )
            wanted = {(f.table, f.name): f.sql for f in fences(connection)}
            return {
                (table, name)
                for table, name, sql in cursor.fetchall()
                if wanted.get((table, name)) == sql
            }
        cursor.execute(
            "SELECT tables.relname, triggers.tgname FROM pg_trigger triggers "
            "JOIN pg_class tables ON tables.oid = triggers.tgrelid "
            "JOIN pg_proc functions ON functions.oid = triggers.tgfoid "
            "WHERE NOT triggers.tgisinternal AND triggers.tgenabled = %s "
            "AND functions.proname = %s AND functions.prosrc = %s",
            [ALWAYS, FUNCTION, _POSTGRESQL_FUNCTION.split("$$")[1]],
        )
        return set(cursor.fetchall())
