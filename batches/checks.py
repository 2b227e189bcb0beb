"""Start-up checks of the records."""

from collections.abc import Sequence
from typing import Any

from django.core.checks import CheckMessage, Error, Tags, register
from django.db import connections

from batches.fences import are_expected, missing
from safety.errors import DataError
from safety.limits.load import catalogue


@register()
def check_limits(**kwargs: Any) -> list[CheckMessage]:
    """Refuse to start with a data file of published limits that is wrong."""
    try:
        catalogue()
    except DataError as error:
        return [
            Error(
                f"The published limits cannot be read. {error}",
                hint=f"Correct {error.file}, or restore it as it was released.",
                id="batches.E001",
            )
        ]
    return []


@register(Tags.database)
def check_fences(
    databases: Sequence[str] | None = None, **kwargs: Any
) -> list[CheckMessage]:
    """Name the triggers that are missing from a database that was given them."""
    problems: list[CheckMessage] = []
    for alias in databases or ():
        connection = connections[alias]
        if not are_expected(connection):
            continue
        gone = missing(connection)
        if gone:
            names = ", ".join(fence.name for fence in gone)
            problems.append(
                Error(
                    f"Database {alias!r}: rows of the record can be changed, because "
                    f"{len(gone)} triggers are missing or altered: {names}.",
                    hint="Type: python3 manage.py raise_fences. Then look whether "
                    "anything was changed: python3 manage.py verify_trail",
                    id="batches.E002",
                )
            )
    return problems
