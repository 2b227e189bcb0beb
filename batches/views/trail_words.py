"""An event of the trail put into words: what was said before, and what after."""

import json
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from batches.acts import trailed_models
from batches.models import TrailEvent

# Columns that every row has, and that the line above the details says already.
SAID_ABOVE = {"id", "producer_id", "by_id", "by_name", "recorded_at", "entry_id"}
DIGITS = 16  # of a hash: enough to tell two apart on a phone


@dataclass(frozen=True, slots=True)
class Said:
    """One column of a row: its name, and its words before and after."""

    name: str
    before: str
    after: str


def kinds() -> dict[str, str]:
    """Return the kinds of row in the trail, by label, as people call them."""
    return {
        model._meta.label: str(model._meta.verbose_name).capitalize()
        for model in trailed_models()
    }


def said_in(event: TrailEvent, zone: ZoneInfo) -> list[Said]:
    """Return the columns that an event wrote, or only those that it changed."""
    before = _columns(event.before)
    after = _columns(event.after)
    told = []
    for name in {**before, **after}:
        old, new = before.get(name), after.get(name)
        is_same = old == new if event.before else new in (None, "")
        if is_same or name in SAID_ABOVE:
            continue
        title = name.removesuffix("_id").replace("_", " ")
        told.append(Said(title, _words(old, zone), _words(new, zone)))
    return told


def _columns(text: str) -> dict[str, Any]:
    """Return the columns of a row; what a column holds by name stands by itself."""
    columns: dict[str, Any] = {}
    for name, value in (json.loads(text) if text else {}).items():
        if isinstance(value, dict) and "sha256" not in value:
            columns |= {f"{name}: {key}": each for key, each in value.items()}
        else:
            columns[name] = value
    return columns


def _words(value: Any, zone: ZoneInfo) -> str:
    if value is None or value == "":
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dict) and "sha256" in value:
        return f"bytes of SHA-256 {value['sha256'][:DIGITS]}…"
    if isinstance(value, dict | list):
        return json.dumps(value, ensure_ascii=False)
    return _instant(str(value), zone)


def _instant(text: str, zone: ZoneInfo) -> str:
    if "T" not in text or not text.endswith("+00:00"):
        return text
    try:
        instant = datetime.fromisoformat(text)
    except ValueError:
        return text
    return f"{instant.astimezone(zone):%Y-%m-%d %H:%M:%S}"
