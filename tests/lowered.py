"""Lowers the triggers of the record: to empty the tables of a test, or to tamper."""

from contextlib import contextmanager

from django.db import connection, transaction

from batches.fences import fences, raise_fences


def lower(connection):
    """Drop every trigger, as somebody could who may change the database's tables."""
    quote = connection.ops.quote_name
    with connection.cursor() as cursor:
        for fence in fences(connection):
            on = (
                f" ON {quote(fence.table)}" if connection.vendor == "postgresql" else ""
            )
            cursor.execute(f"DROP TRIGGER IF EXISTS {quote(fence.name)}{on}")


@contextmanager
def lowered(connection=connection):
    """Let rows be changed inside; outside the triggers stand again."""
    with transaction.atomic():
        lower(connection)
    try:
        yield
    finally:
        raise_fences(connection)


def flushing(execute_sql_flush):
    """Return how a database empties its tables between tests, past the triggers."""

    def flush(operations, sql_list):
        with lowered(operations.connection):
            execute_sql_flush(operations, sql_list)

    return flush
