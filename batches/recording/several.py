"""Writes: one act about several deviations of the same food, all of it or nothing."""

from collections.abc import Callable, Sequence
from typing import Any
from uuid import UUID, uuid5

from django.db import transaction

from batches.models import Deviation
from batches.recording import rows


@transaction.atomic
def for_each(
    deviations: Sequence[Deviation],
    write: Callable[..., Any],
    *,
    entry_id: UUID | str,
    **told: Any,
) -> list[Any]:
    """Write the same about each deviation; a retry is recognised for each of them."""
    first = rows.as_uuid(entry_id)
    return [
        write(
            deviation,
            entry_id=first if place == 0 else uuid5(first, str(deviation.pk)),
            **told,
        )
        for place, deviation in enumerate(deviations)
    ]
