"""Writes: an estimate is put beside a batch."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db import transaction

from batches.models import Batch, Estimate, Member
from batches.recording import guards, rows


@transaction.atomic
def attach_estimate(
    batch: Batch,
    *,
    calculator: str,
    title: str,
    query: str,
    inputs: Mapping[str, str],
    result: Mapping[str, Any],
    by: Member,
    at: datetime,
    entry_id: UUID | str | None = None,
) -> Estimate:
    """Keep an answer of a calculator beside a batch, with what it was worked out from."""
    batch = rows.locked(batch)
    guards.check_may(by, batch.producer, "record")
    content = {"batch": batch, "calculator": calculator, "query": query}
    if (before := rows.repeated(Estimate, entry_id, content)) is not None:
        return before
    return rows.add(
        Estimate,
        **content,
        title=title,
        inputs=dict(inputs),
        result=dict(result),
        version=settings.BRINEWRIGHT_VERSION,
        **rows.identified(entry_id),
        **rows.signed(by, at),
    )
