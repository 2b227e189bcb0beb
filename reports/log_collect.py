"""The entries of one kind over a period become a sheet; beside collect a door to the records."""

import hashlib
import json
from collections.abc import Iterable
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings

from batches.logbook import CONDITION_BY_ID, KINDS
from batches.logsheet import (
    BAD,
    NOT_LOOKED_AT,
    SATISFACTORY,
    cells,
    in_words,
    titles,
)
from batches.lookups import (
    conditions_asked,
    entries_of,
    followups_of,
    hidden_conditions,
    premises_of,
    versions,
    years_kept,
)
from batches.models import Premises, Producer
from reports.collect import NotOnRecord
from reports.log_sheets import LogRow, LogSheet
from reports.observed import Scribe

FOLLOWED = ("complaints", "visits")


def log_kinds() -> tuple[str, ...]:
    """Return the kinds of record there are."""
    return tuple(KINDS)


def log_sheet(
    producer: Producer,
    kind: str,
    *,
    since: date | None = None,
    until: date | None = None,
    paper: str = "",
    at: datetime,
) -> LogSheet:
    """Return every entry of a kind whose day lies in the period, oldest first.

    Corrected entries stand in it too, struck through.
    """
    if kind not in KINDS:
        raise NotOnRecord("There is no such kind of record.")
    places = list(premises_of(producer))
    zone = places[0].zone
    found = entries_of(producer, kind)
    replaced = set(
        found.filter(corrects__isnull=False).values_list("corrects_id", flat=True)
    )
    if since is not None:
        found = found.filter(occurred_at__gte=_midnight(since, zone))
    if until is not None:
        found = found.filter(occurred_at__lt=_midnight(until + timedelta(days=1), zone))
    entries = list(found.order_by("occurred_at", "pk"))
    columns = titles(kind)
    rows = tuple(
        LogRow(
            cells=_told(kind, row, replaced, len(places)),
            is_current=row.pk not in replaced and not row.withdrawn,
        )
        for row in entries
    )
    notes = (*_notes(kind, places), *_done(producer, kind, entries))
    years, cited = years_kept(producer)
    content = json.dumps([columns, [row.cells for row in rows], notes])
    return LogSheet(
        producer=producer.name,
        address="; ".join(_address(place) for place in places),
        kind=kind,
        title=KINDS[kind].title,
        period=_period(since, until),
        columns=columns,
        rows=rows,
        notes=(*notes, _why(kind), f"Kept for at least {years} year(s): {cited}."),
        printed=Scribe(zone).at(at),
        version=settings.BRINEWRIGHT_VERSION,
        paper=paper or places[0].paper,
        content_sha256=hashlib.sha256(content.encode()).hexdigest(),
    )


def _told(kind: str, row: Any, replaced: set[int], places: int) -> tuple[str, ...]:
    first, *rest = cells(kind, row, replaced)
    return (first if places == 1 else f"{first}, {row.premises.name}", *rest)


def _midnight(day: date, zone: ZoneInfo) -> datetime:
    return datetime(day.year, day.month, day.day, tzinfo=zone)


def _address(place: Premises) -> str:
    return ", ".join(place.address.splitlines()) or place.name


def _period(since: date | None, until: date | None) -> str:
    if since is None and until is None:
        return "from the first entry on"
    start = f"from {since:%Y-%m-%d}" if since else "from the first entry"
    return f"{start} to {until:%Y-%m-%d}" if until else f"{start} on"


def _why(kind: str) -> str:
    told = KINDS[kind]
    return f"{told.why} {told.cited} ({told.basis})" if told.cited else told.why


def _notes(kind: str, places: Iterable[Premises]) -> list[str]:
    if kind != "sanitation":
        return []
    key = (
        f"{SATISFACTORY} satisfactory, {BAD} not satisfactory, "
        f"{NOT_LOOKED_AT} not looked at, empty: not part of this round."
    )
    notes = [key]
    for place in places:
        for condition, row in hidden_conditions(place).items():
            notes.append(
                f"{place.name}: {CONDITION_BY_ID[condition].title} does not exist here: "
                f"{row.why} ({row.by_name}, {row.recorded_at:%Y-%m-%d})"
            )
        notes += [
            f"{place.name}: {CONDITION_BY_ID[row.condition].title} is looked at "
            f"{in_words(row.moments)} since {row.occurred_at:%Y-%m-%d} "
            f"({row.by_name}){f': {row.why}' if row.why else ''}"
            for row in conditions_asked(place).timings
        ]
    return notes


def _done(producer: Producer, kind: str, rows: Iterable[Any]) -> list[str]:
    """Return what was done about each complaint or visit, as one line each."""
    if kind not in FOLLOWED:
        return []
    followups = followups_of(producer)
    lines = []
    for row in rows:
        for key in versions(row):
            for done in followups.get((kind, key), []):
                about = (
                    f" Critical control point concerned: {done.get_about_plan_display()}."
                    if done.about_plan
                    else ""
                )
                lines.append(
                    f"{row}: {Scribe(done.premises.zone).at(done.occurred_at)}, "
                    f"{done.by_name}: {done.did}{about} {done.get_state_display()}."
                )
    return list(dict.fromkeys(lines))
