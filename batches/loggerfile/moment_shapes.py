"""Which shapes of cells are dates, times of day or instants, and where their parts are."""

import re
from dataclasses import dataclass
from functools import lru_cache

from batches.loggerfile.bounds import MAX_CELL_CHARACTERS, SHAPES_REMEMBERED
from batches.loggerfile.months import month_number
from batches.loggerfile.shapes import Span

_BLANK = r"[^\S\t]"
"""White space, but not the tab that may part columns."""
_NUMERIC = (
    r"(?P<a>0000|00?)(?P<sep>[-/]|\.\s?)(?P<b>00?)(?P=sep)(?P<c>0000|00?)(?:\.(?!0))?"
)
_MONTH = r"(?P<month>[^\W\d_]{3,10})\.?"
_DAY_MONTH_YEAR = (
    rf"(?P<d>00?)(?:[-/.\s]{{1,2}}(?:de\s)?)?{_MONTH}"
    r"(?:[-/.,]\s?|\s(?:de\s)?)(?P<y>0000|00)(?!0)"
)
_MONTH_DAY_YEAR = rf"{_MONTH}[-\s](?P<d>00?)(?:st|nd|rd|th)?(?:,\s?|[-\s])(?P<y>0000)"
_YEAR_MONTH_DAY = rf"(?P<y>0000)[-/\s]{_MONTH}[-/\s](?P<d>00?)"
_COMPACT = r"(?P<y>0000)(?P<m>00)(?P<d>00)"
_WEEKDAY = r"(?:[^\W\d_]{2,10}\.?,?\s+)?"

_HALF = r"(?:\s*(?P<half>[AaPp])\.?\s?[Mm]\.?)?"
_ZONE = (
    r"(?:\s*(?:(?P<utc>[Zz]|UTC|GMT)(?!\s?[+\-−0])"
    r"|(?:UTC|GMT)?\s?(?P<sign>[+\-−])(?P<zh>00?)(?::?(?P<zm>00))?"
    r"|(?P<abbr>(?!UTC|GMT)[A-Z]{3,5})))?"
)
_CLOCK = (
    r"(?P<h>00?)(?::(?P<mi>00?)(?::(?P<s>00?)(?:[.,:](?P<f>0{1,9}))?)?"
    r"|[.h](?P<mi2>00)(?:[.m](?P<s2>00)s?)?)" + _HALF + _ZONE
)
_DOTLESS_CLOCK = (
    r"(?P<h>00?):(?P<mi>00?)(?::(?P<s>00?)(?:[.,:](?P<f>0{1,9}))?)?" + _HALF + _ZONE
)
_COMPACT_CLOCK = r"(?P<h>00)(?P<mi>00)(?P<s>00)?(?:\.(?P<f>0{1,9}))?" + _ZONE
_BETWEEN = rf"(?:[Tt_]|,?{_BLANK}+(?:-{_BLANK}+)?|,)"

_DATES = (_NUMERIC, _DAY_MONTH_YEAR, _MONTH_DAY_YEAR, _YEAR_MONTH_DAY)


def _patterns(*sources: str) -> tuple[re.Pattern[str], ...]:
    return tuple(re.compile(source) for source in sources)


_DATE_PATTERNS = _patterns(
    _COMPACT,
    *_DATES,
    *(_WEEKDAY + date for date in (_NUMERIC, _DAY_MONTH_YEAR, _MONTH_DAY_YEAR)),
)
_INSTANT_PATTERNS = _patterns(
    *(date + _BETWEEN + _CLOCK for date in _DATES),
    *(_WEEKDAY + date + _BETWEEN + _CLOCK for date in _DATES),
    *(_DOTLESS_CLOCK + rf",?{_BLANK}+" + date for date in (_NUMERIC, _DAY_MONTH_YEAR)),
    _COMPACT + r"[Tt_\s]?" + _COMPACT_CLOCK,
    _COMPACT + r"[Tt_\s]" + _DOTLESS_CLOCK,
)
_TIME_PATTERN = re.compile(_DOTLESS_CLOCK)
_DOTTED_TIME_PATTERN = re.compile(r"(?P<h>00?)\.(?P<mi>00)\.(?P<s>00)")


@dataclass(frozen=True, slots=True)
class DateFields:
    """Where a shape has its date: three numbers in the order of the text.

    ``month`` is the month where it is written as a word, else 0; the parts are then
    year, (empty) and day. ``is_year_first`` holds where the year has four digits and
    comes first, or where the order is plain for another reason.
    """

    parts: tuple[Span, Span, Span]
    month: int
    is_year_first: bool


@dataclass(frozen=True, slots=True)
class TimeFields:
    """Where a shape has its time of day, AM or PM, and offset from UTC."""

    hour: Span
    minute: Span
    second: Span | None
    fraction: Span | None
    half: str
    zone: str
    """Empty, ``UTC``, ``offset`` or an abbreviation as written."""
    zone_sign: int
    zone_hour: Span | None
    zone_minute: Span | None


@dataclass(frozen=True, slots=True)
class MomentFields:
    """What a shape says about a moment: a date, a time of day or both."""

    date: DateFields | None
    time: TimeFields | None


@lru_cache(maxsize=SHAPES_REMEMBERED)
def instant_fields(shape: str) -> MomentFields | None:
    """Find date and time of day in a shape that has both."""
    if len(shape) > MAX_CELL_CHARACTERS or "0" not in shape:
        return None
    for pattern in _INSTANT_PATTERNS:
        match = pattern.fullmatch(shape)
        if match and (date := _date_fields(match)):
            return MomentFields(date, _time_fields(match))
    return None


@lru_cache(maxsize=SHAPES_REMEMBERED)
def date_fields(shape: str) -> MomentFields | None:
    """Find the date in a shape that has nothing else."""
    if len(shape) > MAX_CELL_CHARACTERS or "0" not in shape:
        return None
    for pattern in _DATE_PATTERNS:
        match = pattern.fullmatch(shape)
        if match and (date := _date_fields(match)):
            return MomentFields(date, None)
    return None


@lru_cache(maxsize=SHAPES_REMEMBERED)
def time_fields(shape: str) -> MomentFields | None:
    """Find the time of day in a shape that has nothing else."""
    match = _TIME_PATTERN.fullmatch(shape) or _DOTTED_TIME_PATTERN.fullmatch(shape)
    return MomentFields(None, _time_fields(match)) if match else None


def _date_fields(match: re.Match[str]) -> DateFields | None:
    found = match.groupdict()
    if found.get("month"):
        month = month_number(found["month"])
        day, year = match.span("d"), match.span("y")
        parts = year, (0, 0), day
        return DateFields(parts, month, is_year_first=True) if month else None
    if found.get("m"):
        parts = match.span("y"), match.span("m"), match.span("d")
        return DateFields(parts, 0, is_year_first=True)
    first, last = len(found["a"]), len(found["c"])
    is_year_first = first > len("yy")
    if (is_year_first and last > len("yy")) or (first == 1 and last == 1):
        return None
    return DateFields(
        (match.span("a"), match.span("b"), match.span("c")), 0, is_year_first
    )


def _time_fields(match: re.Match[str]) -> TimeFields:
    found = match.groupdict()

    def span(*names: str) -> Span | None:
        for name in names:
            if found.get(name):
                return match.span(name)
        return None

    zone = found.get("abbr") or ("UTC" if found.get("utc") else "")
    return TimeFields(
        hour=match.span("h"),
        minute=span("mi", "mi2") or (0, 0),
        second=span("s", "s2"),
        fraction=span("f"),
        half=(found.get("half") or "").lower(),
        zone="offset" if found.get("sign") else zone,
        zone_sign=1 if found.get("sign") == "+" else -1,
        zone_hour=span("zh"),
        zone_minute=span("zm"),
    )
