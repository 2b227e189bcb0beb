"""Start-up checks of the records."""

from typing import Any

from django.core.checks import CheckMessage, Error, register

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
