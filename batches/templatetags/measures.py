"""Writes figures, instants and names the way people read them."""

import re
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.template import Library
from django.utils import timezone

from batches.planpage import days_since
from safety.controls import CONTROL_POINTS
from safety.errors import WrongUnit
from safety.facts import FACTS
from safety.quantities import QUANTITIES, TEMPERATURE_UNITS
from safety.units import convert, symbol

register = Library()

SEEN = re.compile(r"\bseen(?: (\d+))?")
SAME_MINUTE = timedelta(minutes=1)


def written(value: Decimal | str, unit: str) -> str:
    """Return a figure with its unit, digits as typed."""
    figure = format(value, "f") if isinstance(value, Decimal) else str(value)
    return f"{figure} {symbol(unit)}".strip().replace("-", "−", 1)


@register.simple_tag
def measure(value: Decimal, unit: str, preferred: str = "") -> str:
    """Return a figure as it was read, and in brackets as the member prefers it."""
    as_read = written(value, unit)
    if unit not in TEMPERATURE_UNITS or preferred in {"", unit}:
        return as_read
    try:
        other = convert(value, unit, preferred)
    except WrongUnit:
        return as_read
    return f"{as_read} ({written(f'{float(other):.1f}', preferred)})"


@register.filter
def clock(instant: datetime | None, zone: ZoneInfo) -> str:
    """Return the hour and minute on the wall of the premises."""
    return "" if instant is None else f"{instant.astimezone(zone):%H:%M}"


@register.filter
def day(instant: datetime | None, zone: ZoneInfo) -> str:
    """Return the day at the premises, as "8 Jul 2025"."""
    if instant is None:
        return ""
    there = instant.astimezone(zone)
    return f"{there.day} {there:%b %Y}"


@register.filter
def moment(instant: datetime | None, zone: ZoneInfo) -> str:
    """Return day and clock at the premises, as "8 Jul 2025, 12:13"."""
    return "" if instant is None else f"{day(instant, zone)}, {clock(instant, zone)}"


@register.filter
def when(instant: datetime | None, zone: ZoneInfo) -> str:
    """Return the clock at the premises, with the day and year that are not today's."""
    if instant is None:
        return ""
    today, there = timezone.now().astimezone(zone), instant.astimezone(zone)
    if there.date() == today.date():
        return clock(instant, zone)
    if there.year == today.year:
        return f"{short_day(instant, zone)} {clock(instant, zone)}"
    return moment(instant, zone)


@register.simple_tag
def beside(instant: datetime, zone: ZoneInfo, other: datetime | None = None) -> str:
    """Return the clock at the premises, with the day where it is not that of other."""
    if other and instant.astimezone(zone).date() == other.astimezone(zone).date():
        return clock(instant, zone)
    return when(instant, zone)


@register.filter
def entered_later(row: Any) -> bool:
    """Say whether a row was written down more than a minute after what it tells of."""
    claimed = row.claimed_at
    return claimed is not None and row.recorded_at - claimed > SAME_MINUTE


@register.filter
def sign(unit: str) -> str:
    """Return a unit as people write it."""
    return symbol(unit)


@register.filter
def quantity_title(name: str) -> str:
    """Return the words for a quantity."""
    return QUANTITIES[name].title if name in QUANTITIES else name


@register.filter
def point_title(name: str) -> str:
    """Return the words for a step or another control point."""
    return CONTROL_POINTS[name].title if name in CONTROL_POINTS else name


@register.filter
def fact_title(name: str) -> str:
    """Return the words for a fact of a product."""
    return FACTS[name].title if name in FACTS else name


@register.filter
def plain(slug: str) -> str:
    """Return a slug as words."""
    return slug.replace("-", " ")


@register.filter
def short_day(instant: datetime | None, zone: ZoneInfo) -> str:
    """Return the day at the premises without the year, as "8 Jul"."""
    if instant is None:
        return ""
    there = instant.astimezone(zone)
    return f"{there.day} {there:%b}"


@register.filter
def days_old(written: str) -> str:
    """Write how old what supports a cure schedule is today ("590 days old")."""
    return f"{days_since(written, timezone.localdate())} days old"


@register.filter
def known(basis: str) -> str:
    """Return how a figure is known, in words: "seen 2" is "read in 2 places"."""
    return SEEN.sub(lambda seen: _read(seen[1]), basis)


def _read(places: str | None) -> str:
    return "read" if places in {None, "1"} else f"read in {places} places"
