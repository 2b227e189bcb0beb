"""Local times to UTC, without guessing in the hours that a clock skips or repeats."""

import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone, tzinfo
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import numpy as np
import numpy.typing as npt

from batches.loggerfile.bounds import US_PER_DAY, US_PER_MINUTE

Micros = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]

EPOCH = datetime(1970, 1, 1)  # noqa: DTZ001 - the zero of local times
_OFFSET = re.compile(r"(?:UTC|GMT)?\s*([+\-−])(\d{1,2})(?::?(\d{2}))?", re.IGNORECASE)
_MICROSECOND = timedelta(microseconds=1)


@dataclass(frozen=True, slots=True, eq=False)
class UtcTimes:
    """Local times as UTC, read as the earlier and as the later of two passes."""

    earlier_us: Micros
    later_us: Micros
    is_skipped: Flags
    """The clock never showed this time: it was put forward."""
    is_twice: Flags
    """The clock showed this time twice: it was put back."""


def zone_from(text: str) -> tzinfo | None:
    """Give the time zone that a name or an offset stands for, None if there is none."""
    if text.strip().upper() in {"UTC", "GMT", "Z"}:
        return UTC
    match = _OFFSET.fullmatch(text.strip())
    if match:
        span = timedelta(hours=int(match[2]), minutes=int(match[3] or 0))
        if span >= timedelta(days=1):
            return None
        return timezone(span if match[1] == "+" else -span)
    try:
        return ZoneInfo(text.strip())
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return None


def utc_from_local(local_us: Micros, zone: tzinfo) -> UtcTimes:
    """Turn local microseconds since 1970 into UTC."""
    days, codes = np.unique(local_us // US_PER_DAY, return_inverse=True)
    edges = [_offset_us(int(day) * US_PER_DAY, zone, 0) for day in days]
    ends = [_offset_us(int(day + 1) * US_PER_DAY, zone, 0) for day in days]
    offset = np.array(edges, np.int64)[codes]
    changes = np.array([a != b for a, b in zip(edges, ends, strict=True)], bool)[codes]
    earlier, later = local_us - offset, local_us - offset
    is_skipped = np.zeros(len(local_us), bool)
    is_twice = np.zeros(len(local_us), bool)
    at = np.flatnonzero(changes)
    if len(at):
        minutes, back = np.unique(local_us[at] // US_PER_MINUTE, return_inverse=True)
        before, after = (
            np.array(
                [_offset_us(int(m) * US_PER_MINUTE, zone, fold) for m in minutes],
                np.int64,
            )[back]
            for fold in (0, 1)
        )
        earlier[at] = local_us[at] - before
        later[at] = local_us[at] - after
        is_skipped[at] = before < after
        is_twice[at] = before > after
    return UtcTimes(earlier, later, is_skipped, is_twice)


def local_datetime(at_us: int, zone: tzinfo) -> datetime:
    """Give a UTC instant as a date and time in a zone."""
    return (EPOCH.replace(tzinfo=UTC) + at_us * _MICROSECOND).astimezone(zone)


def micros_of(moment: datetime) -> int:
    """Give the microseconds since 1970 of a date and time, local or UTC as it stands."""
    return (moment.replace(tzinfo=None) - EPOCH) // _MICROSECOND


def abbreviation_offset_us(
    local_us: int, zone: tzinfo, abbreviation: str
) -> int | None:
    """Give the offset of a local time whose text names summer or winter time."""
    local = EPOCH + local_us * _MICROSECOND
    for fold in (0, 1):
        aware = local.replace(tzinfo=zone, fold=fold)
        offset = aware.utcoffset()
        if aware.tzname() == abbreviation and offset is not None:
            return offset // _MICROSECOND
    return None


def _offset_us(local_us: int, zone: tzinfo, fold: int) -> int:
    local = (EPOCH + local_us * _MICROSECOND).replace(tzinfo=zone, fold=fold)
    offset = local.utcoffset() or timedelta(0)
    return offset // _MICROSECOND
