"""What the guidance holds as plain values, each number with its own digits."""

from typing import Any

from safety.judge.export import limit_entry
from safety.judge.listing import Considered, Entry, cell_words
from safety.limits.entries import Interval
from safety.limits.intervals import interval_of
from safety.limits.load import Default
from safety.limits.model import Published, Source
from safety.limits.printed import Figure, Table

FORMAT = "brinewright.guidance/1"


def entry_values(entry: Entry) -> dict[str, Any]:
    """Return an entry as plain values; every key of its kind is there."""
    return {
        "id": entry.id,
        "kind": entry.kind,
        "words": entry.words,
        "reason": entry.reason,
        "basis": entry.basis,
        "checked": entry.checked.isoformat(),
        "control_points": list(entry.places),
        "compared": entry.compared.as_json() if entry.compared else None,
        "source": _source(entry.source),
        "note": entry.note,
        **_own(entry),
    }


def considered_values(considered: Considered) -> dict[str, Any]:
    """Return a limit as plain values with what the facts of a product say of it."""
    return entry_values(considered.entry) | {
        "applies": considered.applies.value,
        "governs": considered.governs.value,
        "missing": list(considered.missing),
        "why": considered.why,
    }


def _source(source: Source) -> dict[str, Any]:
    return {
        "id": source.id,
        "publisher": source.publisher,
        "title": source.title,
        "section": source.section,
        "edition": source.edition,
        "date": source.date.isoformat(),
        "standing": source.standing,
        "jurisdiction": source.jurisdiction,
    }


def _own(entry: Entry) -> dict[str, Any]:
    match entry.held:
        case Published():
            return _limit(entry.held)
        case Figure():
            return {
                "value": entry.held.value,
                "up_to": entry.held.up_to,
                "unit": entry.held.unit,
                "printed_also": dict(entry.held.also),
            }
        case Table():
            return _table(entry.held)
        case Interval():
            return {
                "check_every_min": entry.held.check_every_min,
                "check_every_ceiling_min": entry.held.ceiling_min,
                "cannot_show": entry.held.cannot_show,
            }
        case Default():
            return {"value": entry.held.value, "unit": entry.held.unit}


def _limit(published: Published) -> dict[str, Any]:
    interval = interval_of(published)
    return {
        "limit": limit_entry(published.limit),
        "applies_when": {k: list(v) for k, v in published.applies_when.items()},
        "chosen_by": dict(published.chosen_by),
        "programmes": list(published.programmes),
        "continuous_recorder": published.continuous_recorder,
        "interval": interval.id if interval else None,
        "interval_basis": published.interval_basis,
        "since": published.since.isoformat() if published.since else None,
        "until": published.until.isoformat() if published.until else None,
        "replaces": published.replaces,
        "same_as": published.same_as,
    }


def _table(table: Table) -> dict[str, Any]:
    return {
        "keys": list(table.keys),
        "between_rows": table.between_rows,
        "columns": [
            {"name": one.name, "title": one.title, "holds": one.holds, "unit": one.unit}
            for one in table.columns
        ],
        "rows": [
            {name: cell_words(cell) for name, cell in row.items()} for row in table.rows
        ],
    }
