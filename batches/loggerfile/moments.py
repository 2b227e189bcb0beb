"""Dates and times of day of whole columns, before time zone and order are settled."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from batches.loggerfile.bounds import (
    HOURS_PER_DAY,
    MICROSECOND_DIGITS,
    NOON_HOUR,
    US_PER_DAY,
    US_PER_HOUR,
    US_PER_MINUTE,
    US_PER_SECOND,
)
from batches.loggerfile.dates import WrittenDate, date_keys
from batches.loggerfile.moment_shapes import MomentFields, TimeFields
from batches.loggerfile.shapes import Digits, Rows, Shaped, Span, whole_number

NO_KEY = -1
NAIVE = np.iinfo(np.int64).min
"""No offset from UTC in the text."""

_MINUTES_PER_HOUR = US_PER_HOUR // US_PER_MINUTE
_SECONDS_PER_MINUTE = US_PER_MINUTE // US_PER_SECOND


@dataclass(eq=False)
class Moments:
    """What the cells of a column (or a date and a time column) say, row by row."""

    keys: npt.NDArray[np.int64]
    """Packed dates, NO_KEY where there is none."""
    day_us: npt.NDArray[np.int64]
    """Microseconds since midnight."""
    has_time: npt.NDArray[np.bool_]
    hours: npt.NDArray[np.int64]
    """As written, before AM or PM."""
    has_half: npt.NDArray[np.bool_]
    offset_us: npt.NDArray[np.int64]
    zones: dict[str, list[Rows]] = field(default_factory=dict)
    """Rows by the time-zone abbreviation in their text."""
    wrong: list[tuple[str, Rows]] = field(default_factory=list)


def read_moments(
    column: Shaped, fields_of: Callable[[str], MomentFields | None]
) -> Moments:
    """Read a column whose shapes are known to the given function."""
    size = len(column)
    moments = Moments(
        keys=np.full(size, NO_KEY, np.int64),
        day_us=np.zeros(size, np.int64),
        has_time=np.zeros(size, bool),
        hours=np.full(size, NO_KEY, np.int64),
        has_half=np.zeros(size, bool),
        offset_us=np.full(size, NAIVE, np.int64),
    )
    for group in column.groups():
        fields = fields_of(group.shape)
        if fields is None:
            continue
        digits = group.digits()
        if fields.date:
            moments.keys[group.rows] = date_keys(fields.date, digits)
        if fields.time:
            _read_time(moments, group.rows, fields.time, digits)
    _refuse_without_half(moments)
    return moments


def _read_time(
    moments: Moments, rows: Rows, fields: TimeFields, digits: Digits
) -> None:
    hour = whole_number(digits, fields.hour)
    minute = whole_number(digits, fields.minute)
    second = _optional(digits, fields.second)
    wrong = (minute >= _MINUTES_PER_HOUR) | (second >= _SECONDS_PER_MINUTE)
    moments.hours[rows] = hour
    if fields.half:
        wrong |= (hour < 1) | (hour > NOON_HOUR)
        hour = hour % NOON_HOUR + (NOON_HOUR if fields.half == "p" else 0)
        moments.has_half[rows] = True
    day_us = hour * US_PER_HOUR + minute * US_PER_MINUTE + second * US_PER_SECOND
    day_us += _fraction_us(digits, fields.fraction)
    wrong |= (hour >= HOURS_PER_DAY) & (day_us != US_PER_DAY)
    moments.day_us[rows] = day_us
    moments.has_time[rows] = ~wrong
    moments.wrong.append(("no such time of day", rows[wrong]))
    if fields.zone == "UTC":
        moments.offset_us[rows] = 0
    elif fields.zone == "offset":
        hours = _optional(digits, fields.zone_hour)
        minutes = _optional(digits, fields.zone_minute)
        offset = hours * US_PER_HOUR + minutes * US_PER_MINUTE
        moments.offset_us[rows] = fields.zone_sign * offset
    elif fields.zone:
        moments.zones.setdefault(fields.zone, []).append(rows)


def _optional(digits: Digits, span: Span | None) -> npt.NDArray[np.int64]:
    return (
        np.zeros(len(digits), np.int64) if span is None else whole_number(digits, span)
    )


def _fraction_us(digits: Digits, span: Span | None) -> npt.NDArray[np.int64]:
    if span is None:
        return np.zeros(len(digits), np.int64)
    start, end = span
    length = min(end - start, MICROSECOND_DIGITS)
    fraction = whole_number(digits, (start, start + length))
    return fraction * 10 ** (MICROSECOND_DIGITS - length)


def _refuse_without_half(moments: Moments) -> None:
    """Leave out times without AM or PM where others have it."""
    if not moments.has_half.any():
        return
    bare = moments.has_time & ~moments.has_half
    rows = np.flatnonzero(bare & (moments.hours >= 1) & (moments.hours <= NOON_HOUR))
    moments.has_time[rows] = False
    moments.wrong.append(("neither AM nor PM, though other rows have it", rows))


def joined(dates: Moments, times: Moments) -> Moments:
    """Put a column of dates and a column of times of day together."""
    return Moments(
        keys=dates.keys,
        day_us=times.day_us,
        has_time=times.has_time,
        hours=times.hours,
        has_half=times.has_half,
        offset_us=times.offset_us,
        zones=times.zones,
        wrong=times.wrong,
    )


def twelve_hour_row(moments: Moments) -> int | None:
    """Find a step from 12:xx to 1:xx in a column that never shows 0 or 13 to 23.

    Such a column looks like a 12-hour clock whose AM and PM were not exported.
    """
    hours = moments.hours
    if moments.has_half.any() or not moments.has_time.any():
        return None
    read = hours[moments.has_time]
    if read.min() < 1 or read.max() > NOON_HOUR:
        return None
    rows = np.flatnonzero(moments.has_time)
    steps = np.diff(moments.day_us[rows])
    if (steps < 0).sum() > max(1, (steps > 0).sum()):
        rows = rows[::-1]  # newest first
    hours, keys = hours[rows], moments.keys[rows]
    falls = (hours[:-1] == NOON_HOUR) & (hours[1:] < NOON_HOUR)
    found = np.flatnonzero(falls & (keys[1:] == keys[:-1]))
    return int(rows[found[0]]) if len(found) else None


def written_dates(
    moments: Moments, *, texts: Sequence[str], lines: npt.NDArray[np.int64]
) -> tuple[list[WrittenDate], npt.NDArray[np.intp]]:
    """Give the different dates, and which of them each row has (-1 for none)."""
    keys, first, codes = np.unique(moments.keys, return_index=True, return_inverse=True)
    if len(keys) and keys[0] == NO_KEY:
        keys, first, codes = keys[1:], first[1:], codes - 1
    dates = [
        WrittenDate(int(key), texts[row], int(lines[row]))
        for key, row in zip(keys, first, strict=True)
    ]
    return dates, codes
