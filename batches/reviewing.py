"""What a reviewer reads, as one text with one number; and what the signature means."""

import hashlib
import json
from collections.abc import Iterable, Mapping
from datetime import UTC, date, datetime
from decimal import Decimal
from functools import lru_cache
from typing import Any
from uuid import UUID

from django.db import models

from batches.models import Batch, PlanSignature
from batches.planning import BY_OTHER, content, planned
from safety.facts import Answer, holds
from safety.limits import all_published, get
from safety.limits.model import Published, WithinLimit

FORMAT = "brinewright.review/1"
REVIEW = "record-review"  # what a limit calls the date of a review
STEP_ROWS = "step"  # what a review calls the marks of steps that it read
KEPT = 64  # answers kept in mind
RULE = "us-cfr.21-123.record-review"
MEANING = (
    "I have read these records: whether they are complete, whether what was recorded is "
    "within the limits, whether instruments were checked, and whether what was done "
    "about every miss fits it."
)


def days_of(batch: Batch) -> tuple[int, str]:
    """Return within how many days its records are read, and the id of who says so."""
    if batch.plan is None:
        return days_published()
    return _days_planned(batch.plan.content) or days_published()


def is_by_other_planned(batch: Batch) -> bool:
    """Say whether the signed plan of a batch forbids to review entries of one's own."""
    return batch.plan is not None and _by_other_planned(batch.plan.content)


@lru_cache(maxsize=KEPT)
def _by_other_planned(text: str) -> bool:
    return content(PlanSignature(content=text))["edits"].get("review", {}) == BY_OTHER


@lru_cache(maxsize=KEPT)
def _days_planned(content: str) -> tuple[int, str] | None:
    for each in planned(PlanSignature(content=content)):
        if isinstance(each.limit, WithinLimit) and each.limit.what == REVIEW:
            return int(each.limit.days), each.limit.id
    return None


def days_published() -> tuple[int, str]:
    """Return within how many days records are read by the published rule, and its id."""
    limit = rule().limit
    if not isinstance(limit, WithinLimit):
        raise TypeError(f"{RULE} is no limit of days.")
    return int(limit.days), limit.id


def rule() -> Published:
    """Return the published rule, with its source."""
    return get(RULE)


def anchor_of(facts: Mapping[str, Any]) -> str | None:
    """Return the step whose end the published rule counts from; None with no rule."""
    for published in _rules():
        if isinstance(published.limit, WithinLimit):
            answer, _ = holds(published.applies_when, facts)
            if answer is not Answer.NO:
                return published.limit.of.rpartition(".")[0]
    return None


@lru_cache(maxsize=1)
def _rules() -> tuple[Published, ...]:
    return tuple(
        each
        for each in all_published()
        if isinstance(each.limit, WithinLimit) and each.limit.what == REVIEW
    )


# ------------------------------------------------------------ what is read


def content_of(
    batch: Batch,
    rows: Mapping[str, Iterable[Any]],
    *,
    lots: Iterable[Any],
    instruments: Iterable[Any],
    checks: Iterable[Any],
) -> str:
    """Return everything on record of a batch as one text: the same rows, the same text.

    ``rows`` are all that were ever written, corrected and taken back ones too.
    """
    return _written({
        "format": FORMAT,
        "batch": batch.code,
        "producer": batch.producer.slug,
        "plan": None if batch.plan is None else batch.plan.content_sha256,
        "lots": [plain(used) | {"lot": plain(used.lot)} for used in lots],
        "instruments": [plain(each) for each in instruments],
        "checks": _plain_rows(checks),
        "rows": {kind: _plain_rows(found) for kind, found in rows.items()},
    })


def week_content_of(
    producer: str, week_of: date, rows: Mapping[str, Iterable[Any]]
) -> str:
    """Return everything on record of a week as one text."""
    return _written({
        "format": FORMAT,
        "producer": producer,
        "week": week_of.isoformat(),
        "rows": {kind: _plain_rows(found) for kind, found in rows.items()},
    })


def sha256_of(content: str) -> str:
    """Return the number of what was read."""
    return hashlib.sha256(content.encode()).hexdigest()


def plain(row: models.Model) -> dict[str, Any]:
    """Return every column of a row as text, whole numbers and lists; bytes as a number."""
    return {
        field.attname: _value(getattr(row, field.attname))
        for field in row._meta.concrete_fields
    }


def _plain_rows(rows: Iterable[Any]) -> list[dict[str, Any]]:
    return [plain(row) for row in sorted(rows, key=lambda row: row.pk)]


def _value(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    if isinstance(value, Decimal):
        return format(value, "f")
    if isinstance(value, bytes | bytearray | memoryview):
        return hashlib.sha256(bytes(value)).hexdigest()
    if isinstance(value, date | UUID | models.fields.files.FieldFile):
        return str(value)
    return value


def _written(document: Mapping[str, Any]) -> str:
    return json.dumps(
        document, sort_keys=True, ensure_ascii=False, separators=(",", ":")
    )
