"""Rows as they are now, held against what the trail last said of them."""

import json
from collections.abc import Callable
from typing import Any, Protocol

from django.db import models

from batches.acts import path_to_producer, rows_of, trailed_models
from batches.canonical import canonical, content_of, default_of, sha256_of
from batches.models import Producer, TrailEvent

CHUNK = 500
NAMED_AT_MOST = 100  # own figure: rows named one by one; the rest is counted
Progress = Callable[[int, int], None]


class Walked(Protocol):
    """What the walk through the trail knows: the last event of every row."""

    report: Any
    last: dict[tuple[str, str], tuple[int, str]]

    def fault(self, kind: str, where: str, what: str) -> None:
        """Note that something does not fit."""


def check_rows(walk: Walked, producer: Producer, progress: Progress | None) -> None:
    """Name rows that were changed, added or removed behind the back of the trail."""
    unseen = dict(walk.last)
    for model in trailed_models():
        label = model._meta.label
        rows = rows_of(model, producer)
        total = rows.count()
        for count, row in enumerate(rows.order_by("pk").iterator(CHUNK), start=1):
            walk.report.rows += 1
            _check_row(walk, row, unseen.pop((label, str(row.pk)), None))
            if progress is not None:
                progress(count, total)
    for (label, key), (number, _) in list(unseen.items())[:NAMED_AT_MOST]:
        walk.fault("row", f"{label} {key}", _whereabouts(producer, label, key, number))
    if len(unseen) > NAMED_AT_MOST:
        rest = len(unseen) - NAMED_AT_MOST
        walk.fault("row", f"{rest} further rows", "they are gone too.")


def _check_row(walk: Walked, row: models.Model, last: tuple[int, str] | None) -> None:
    where = f"{row._meta.label} {row.pk} ({str(row)[:60]!r})"
    if last is None:
        walk.fault("row", where, "it is there, but nobody entered it: the trail has no "
                   "event of it.")  # fmt: skip
        return
    number, digest = last
    now = content_of(row)
    if sha256_of(canonical(now)) == digest:
        return
    differences = _differences(walk.report.producer, number, row, now)
    if differences:
        walk.fault("row", where, f"it is not as event {number} left it: {differences}.")


def _differences(
    producer: Producer, number: int, row: models.Model, now: dict[str, Any]
) -> str:
    """Return what a row says now and said then; columns that are new hold a default."""
    event = TrailEvent.objects.filter(producer=producer, number=number).last()
    try:
        then = json.loads(event.after) if event is not None else {}
    except ValueError:
        return "the event cannot be read"
    defaults = {f.attname: default_of(f) for f in row._meta.concrete_fields}
    return "; ".join(
        f"{name} was {_short(then.get(name, defaults[name]))}, is {_short(value)}"
        for name, value in now.items()
        if canonical(value) != canonical(then.get(name, defaults[name]))
    )


def _short(value: Any) -> str:
    if isinstance(value, dict) and "sha256" in value:
        return f"bytes of SHA-256 {value['sha256'][:16]}"
    return canonical(value)[:80]


def _whereabouts(producer: Producer, label: str, key: str, number: int) -> str:
    """Say what became of a row that the trail knows: gone, or with another producer."""
    model = next((m for m in trailed_models() if m._meta.label == label), None)
    row = None if model is None else model._base_manager.filter(pk=key).first()
    if model is None or row is None:
        return f"it is gone, though event {number} wrote it."
    owner: Any = row
    for name in path_to_producer(model):
        owner = getattr(owner, name)
    return f"event {number} wrote it for {producer}, but it now belongs to {owner}."
