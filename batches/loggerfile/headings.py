"""What a heading says: unit, order of the date, time zone, and what a column is for."""

import re
from collections.abc import Sequence

_END = r"(?![^\W_])"
_UNIT_PATTERNS = (
    (
        "degF",
        re.compile(
            rf"[°º˚]\s*F(?![^\W\d_])|℉|(?<![^\W_])deg(?:rees?)?\.?[\s_]?F{_END}"
            rf"|fahrenheit|[(\[]\s*(?:oF|F°)\s*[)\]]|(?<![^\W_])F[°º˚]",
            re.IGNORECASE,
        ),
    ),
    (
        "degC",
        re.compile(
            rf"[°º˚]\s*C(?![^\W\d_])|℃|(?<![^\W_])deg(?:rees?)?\.?[\s_]?C{_END}"
            rf"|celsius|centigrade|[(\[]\s*(?:oC|C°)\s*[)\]]|(?<![^\W_])C[°º˚]",
            re.IGNORECASE,
        ),
    ),
    (
        "percent",
        re.compile(
            r"%\s*r\.?\s?[hf]\b|\br\.?[hf]\.?\b[\s(\[]*%|%\s*rel|\brh\b(?![-_]?\s?\d\d)"
            r"|rel(?:ative|\.)?\s*(?:humid|feuchte|luftf)|humid\w*[\s,(\[_-]*%"
            r"|relativ\w*\s+(?:luft)?feucht|feucht\w*[\s,(\[_-]*%"
            r"|humedad[\w\s]*[\s,(\[_-]*%|humidit[ée][\w\s]*[\s,(\[_-]*%",
            re.IGNORECASE,
        ),
    ),
)
_LETTER_PATTERN = re.compile(
    r"(?:[(\[]\s*(?P<bracketed>[A-Za-z])\s*[)\]]"
    rf"|(?<![^\W_])temp(?:erature)?s?\.?[\s_,/-]*(?P<trailing>[A-Za-z]){_END})"
)
_UNIT_BY_LETTER = {"f": "degF", "c": "degC"}
_UNIT_CELL = {
    "degF": "f °f ºf ˚f ℉ degf deg_f f° fahrenheit of",
    "degC": "c °c ºc ˚c ℃ degc deg_c c° celsius oc",
    "percent": "% %rh rh% rh %r.h. %rf",
}
UNIT_BY_CELL = {
    word: unit for unit, words in _UNIT_CELL.items() for word in words.split()
}
_FORMAT_CELL = re.compile(
    r"[(\[]?(?:[dmyhsjtaon:./\-\s]{2,}|-+|n/?a|utc|gmt|local|min|s)?[)\]]?",
    re.IGNORECASE,
)
_DATE_ORDER = re.compile(
    r"(?<![^\W_])(?P<order>(?P<first>d{1,2}|t{2}|m{1,2}|yyyy|jjjj)(?P<sep>[-/.\s])"
    r"(?:d{1,2}|t{2}|m{1,2})(?P=sep)(?:d{1,2}|t{2}|y{4}|y{2}|j{4}|j{2}))(?![^\W_])",
    re.IGNORECASE,
)
_ORDER_BY_LETTERS = {
    "dmy": "day-first",
    "tmj": "day-first",
    "mdy": "month-first",
    "ymd": "year-first",
    "jmt": "year-first",
}
_OFFSET = re.compile(
    r"(?<![^\W\d_])(?:UTC|GMT)(?:\s*(?P<sign>[+\-−±])\s*(?P<h>\d{1,2})(?::?(?P<m>\d{2}))?)?"
    r"(?![^\W_])",
    re.IGNORECASE,
)
_ABBREVIATION = re.compile(r"[(\[,]\s*(?P<abbr>[A-Z]{3,5})\s*(?:[)\]]|$)")

DATE_WORDS = re.compile(r"dat(?:e|um|a|o)\b|fecha|day|tag", re.IGNORECASE)
TIME_WORDS = re.compile(
    r"\b(?:time|zeit|uhrzeit|heure|hora|ora|klokken|kl|tid|clock)\b", re.IGNORECASE
)
SENSOR_NAME_WORDS = re.compile(
    r"(?:sensor|channel|probe|logger|device|instrument|location|point|measuring point"
    r"|tag|kanal|fühler|sonde|capteur|canal|sonda|series|parameter|ch|name)"
    r"[\s_-]*(?:id|no\.?|nr\.?|name|number|label|#)?",
    re.IGNORECASE,
)
UNIT_WORDS = re.compile(
    r"units?|uom|einheit|unité|unidad|unit of measure", re.IGNORECASE
)
COUNTER_WORDS = re.compile(
    r"(?:no|nr|n°|nº|#|id|index|idx|record|rec|row|sample|seq|sequence|count|obs|line"
    r"|reading|entry|log|scan|lfd)[\s_.#]*(?:no|nr|number|id|#|count)?\.?",
    re.IGNORECASE,
)
OTHER_MEASURE = re.compile(
    r"batter|\bbatt?\b|volt|\bm?v\b|rssi|signal|dbm|\blat\b|\blon\b|latitude|longitude"
    r"|altitude|pressure|\b[hk]?pa\b|mbar|\bpsi\b|co2|co₂|\bppm\b|\blux\b|light"
    r"|g/m[³3]|kelvin|[(\[]k[)\]]|serial|\bs/?n\b|firmware|version|\bevent|\bmarker"
    r"|alarm count|amp(?:ere)?s?\b|\bwatt|energy|speed|\bweight|\bkg\b",
    re.IGNORECASE,
)
ELAPSED_WORDS = re.compile(
    r"elapsed|duration|since start|run\s?time|\bminute[sn]?\b|\bseconds?\b|sekunden"
    r"|\bhours?\b|stunden|[(\[]\s*(?:min|s|sec|h|hrs?)\s*[)\]]|^(?:t|time|zeit)\b",
    re.IGNORECASE,
)
_ELAPSED_UNITS = (
    ("min", re.compile(r"\bmin(?:ute)?[sn]?\b", re.IGNORECASE)),
    ("s", re.compile(r"\bs\b|\bsec(?:ond)?s?\b|\bsekunden\b", re.IGNORECASE)),
    ("h", re.compile(r"\bh\b|\bhours?\b|\bhrs?\b|\bstunden\b", re.IGNORECASE)),
)
_BRACKETED = re.compile(r"\s*[(\[][^)\]]*[)\]]\s*$")
_TRAILING_UNIT = re.compile(
    r"[\s,;:_/-]*(?:[°º˚]\s*[CF]|℃|℉|deg\s?[CF]|%\s*RH|%)\s*$", re.IGNORECASE
)
NOTE_WORDS = re.compile(
    r"comment|note|remark|event|status|state|alarm|message|user|operator|bemerkung"
    r"|kommentar|remarque|nota\b|observaci",
    re.IGNORECASE,
)
STATUS_WORDS = frozenset([
    "ok",
    "normal",
    "alarm",
    "good",
    "valid",
    "invalid",
    "high",
    "low",
    "on",
    "off",
    "true",
    "false",
    "yes",
    "no",
    "open",
    "closed",
    "event",
    "error",
    "warning",
    "ja",
    "nein",
    "oui",
    "non",
    "start",
    "stop",
    "running",
])


def units_in(heading: str) -> frozenset[str]:
    """Give the units that a heading names, of those we take."""
    return frozenset(
        unit for unit, pattern in _UNIT_PATTERNS if pattern.search(heading)
    )


def unit_by_letter(heading: str, headings: Sequence[str]) -> str | None:
    """Give the unit that a lone letter names, as in Temp (F).

    Nothing where another heading is the same but for the letter: then the letter may
    be the name of the sensor.
    """
    found = _split_at_letter(heading)
    if found is None or found[1] not in _UNIT_BY_LETTER:
        return None
    for other in headings:
        sibling = _split_at_letter(other)
        if sibling and sibling[0] == found[0] and sibling[1] != found[1]:
            return None
    return _UNIT_BY_LETTER[found[1]]


def _split_at_letter(heading: str) -> tuple[str, str] | None:
    match = _LETTER_PATTERN.search(heading)
    if match is None:
        return None
    group = "bracketed" if match["bracketed"] else "trailing"
    start, end = match.span(group)
    return (heading[:start] + heading[end:]).casefold(), match[group].lower()


def unit_of_cell(cell: str) -> str | None:
    """Give the unit that a cell with nothing but a unit names."""
    bare = cell.strip().strip("()[]").strip().casefold().replace(" ", "")
    if bare in UNIT_BY_CELL:
        return UNIT_BY_CELL[bare]
    found = units_in(cell) if len(cell) < len("temperature in degrees") else frozenset()
    return next(iter(found)) if len(found) == 1 else None


def is_format_cell(cell: str) -> bool:
    """Say whether a cell under a heading only names a format, as dd/mm/yyyy does."""
    return bool(_FORMAT_CELL.fullmatch(cell.strip()))


def order_in(heading: str) -> str | None:
    """Give the order of the date that a heading spells out, as in (DD/MM/YYYY)."""
    match = _DATE_ORDER.search(heading)
    if match is None:
        return None
    letters = re.sub(r"(.)\1*", r"\1", re.sub(r"\W", "", match["order"].lower()))
    return _ORDER_BY_LETTERS.get(letters)


def offset_in(heading: str) -> str | None:
    """Give the offset from UTC that a heading states, as +hh:mm or UTC."""
    match = _OFFSET.search(heading)
    if match is None:
        return None
    if not match["sign"] or match["sign"] == "±":
        return "UTC"
    sign = "+" if match["sign"] == "+" else "-"
    return f"{sign}{int(match['h']):02}:{match['m'] or '00'}"


def abbreviation_in(heading: str) -> str | None:
    """Give a time-zone abbreviation in brackets, as in (PDT)."""
    match = _ABBREVIATION.search(heading)
    return match["abbr"] if match else None


def elapsed_unit_in(heading: str) -> str | None:
    """Give the unit of a column that counts from the start."""
    for unit, pattern in _ELAPSED_UNITS:
        if pattern.search(heading):
            return unit
    return None


def name_without_unit(heading: str) -> str:
    """Give the heading without the unit at its end, for use as a name."""
    bracketed = _BRACKETED.search(heading)
    is_unit = bracketed is not None and unit_of_cell(bracketed.group()) is not None
    bare = _BRACKETED.sub("", heading) if is_unit else heading
    return _TRAILING_UNIT.sub("", bare).strip(" ,;:-") or heading
