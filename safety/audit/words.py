"""How the checks name instants, lengths of time and entries."""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

from safety.audit.record import Entry, RecordedReading
from safety.controls import CONTROL_POINTS
from safety.judge.evidence import Amount
from safety.quantities import QUANTITIES
from safety.units import symbol

_MINUTE = timedelta(minutes=1)
_SHOWN = 12  # entries that a sentence names before it says how many more


def instant(at: datetime) -> str:
    """Return day and wall time, with seconds where there are any."""
    return f"{at:%Y-%m-%d %H:%M:%S}" if at.second else f"{at:%Y-%m-%d %H:%M}"


def length(span: timedelta) -> str:
    """Return a length of time in days and hours, hours and minutes, or minutes."""
    minutes = span // _MINUTE
    hours, rest = divmod(minutes, 60)
    days, left = divmod(hours, 24)
    if days:
        return f"{days} d {left} h"
    return f"{hours} h {rest} min" if hours else f"{minutes} min"


def step_title(step: str) -> str:
    """Return the name of a step as its pages print it."""
    return CONTROL_POINTS[step].title if step in CONTROL_POINTS else step


def quantity_title(quantity: str) -> str:
    """Return the name of a quantity in a sentence."""
    return QUANTITIES[quantity].title.lower() if quantity in QUANTITIES else quantity


def figure(reading: RecordedReading) -> str:
    """Return what was typed, with its unit."""
    sign = symbol(reading.unit)
    return f"{reading.typed} {sign}" if sign else reading.typed


def entry(each: Entry) -> str:
    """Return one entry by its instant, place and what it says."""
    at = each.observed_at or each.entered_at
    what = figure(each) if isinstance(each, RecordedReading) else each.what
    place = f" {each.place}" if each.place else ""
    return f"{instant(at)}{place} {what}"


def entries(found: Iterable[Entry]) -> tuple[str, ...]:
    """Return entries by their instants, no more than a page can hold."""
    found = tuple(found)
    shown = tuple(entry(each) for each in found[:_SHOWN])
    more = len(found) - len(shown)
    return (*shown, f"and {more} more") if more else shown


def counted(number: int, one: str, several: str) -> str:
    """Return a number with the words that go with it."""
    return f"{number} {one if number == 1 else several}"


def listed(words: Sequence[str]) -> str:
    """Return words as a list in a sentence."""
    if len(words) <= 1:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def series(reading: RecordedReading) -> str:
    """Return which series a reading belongs to."""
    place = f" at {reading.place}" if reading.place else ""
    title = step_title(reading.step)
    return f"{title}: {quantity_title(reading.quantity)}{place}"


def amount(value: Amount) -> str:
    """Return a value with its unit."""
    return f"{value.value} {symbol(value.unit)}".strip()
