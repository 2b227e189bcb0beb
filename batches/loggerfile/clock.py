"""Which clock the logger's times were written by, where the text does not say."""

import re
from dataclasses import dataclass
from datetime import datetime, tzinfo

from batches.loggerfile import headings as words
from batches.loggerfile.answers import Answers
from batches.loggerfile.bounds import EARLIEST_YEAR
from batches.loggerfile.errors import LoggerFileError
from batches.loggerfile.model import Choice, Question
from batches.loggerfile.months import MONTHS
from batches.loggerfile.notes import Notes
from batches.loggerfile.table import Table
from batches.loggerfile.zones import zone_from

_ZONE_NAME = re.compile(r"\b[A-Z][a-z]+/[A-Z][A-Za-z_]+(?:/[A-Z][A-Za-z_]+)?\b")
_ZONE_WORDS = re.compile(r"time\s?zone|zeitzone|fuseau|zona horaria", re.IGNORECASE)
_NO_ABBREVIATION = frozenset([
    "LOCAL",
    "TIME",
    "DATE",
    "YYYY",
    "HHMM",
    "HHMMSS",
    "AUTO",
])


@dataclass(frozen=True, slots=True)
class Clock:
    """A time zone, its name for people and how it is known."""

    zone: tzinfo
    name: str
    known_by: str


def premises_clock(time_zone: str) -> Clock:
    """Give the clock of the premises, for times that say nothing else."""
    zone = zone_from(time_zone)
    if zone is None:
        raise LoggerFileError(
            "time zone",
            f"“{time_zone}” is not a time zone.",
            "Give a name such as America/Chicago, UTC, or an offset such as +01:00.",
        )
    return Clock(zone, time_zone, "the premises' time zone")


def find_clock(
    table: Table,
    moment_columns: tuple[int, ...],
    *,
    answers: Answers,
    premises: Clock,
    notes: Notes,
) -> Clock:
    """Find the clock of times without an offset; ask where the file hints at another."""
    if answers.time_zone:
        zone = zone_from(answers.time_zone)
        if zone is not None:
            return Clock(zone, answers.time_zone, "you answered")
        notes.ask(
            ask_clock(f"“{answers.time_zone}” is not a time zone. ", premises, None)
        )
        return premises
    texts = [
        text
        for column in moment_columns
        for text in (table.headings[column], table.units_below[column])
    ]
    for text in texts:
        stated = words.offset_in(text)
        if stated and (zone := zone_from(stated)):
            return Clock(zone, stated, f"the heading “{text}” says so")
    for text in texts:
        abbreviation = words.abbreviation_in(text)
        if abbreviation and abbreviation not in _NO_ABBREVIATION:
            offset = _offset_of(abbreviation, premises)
            notes.ask(ask_clock("", premises, offset, raised_by=text))
    for text in table.preamble:
        _ask_of_preamble(text, premises, notes)
    return premises


def _ask_of_preamble(text: str, premises: Clock, notes: Notes) -> None:
    named = _ZONE_NAME.search(text)
    stated = named.group() if named and zone_from(named.group()) else None
    stated = stated or words.offset_in(text)
    if stated == premises.name or not (stated or _ZONE_WORDS.search(text)):
        return
    notes.ask(ask_clock("", premises, stated, raised_by=text))


def _offset_of(abbreviation: str, premises: Clock) -> str | None:
    """Give the offset that an abbreviation stands for in the premises' zone."""
    for month in range(len(MONTHS)):
        moment = datetime(EARLIEST_YEAR, month + 1, 1, tzinfo=premises.zone)
        if moment.tzname() == abbreviation:
            offset = moment.strftime("%z")
            return f"{offset[:3]}:{offset[3:5]}"
    return None


def ask_clock(
    prefix: str, premises: Clock, stated: str | None, *, raised_by: str = ""
) -> Question:
    """Ask by which clock the times were written."""
    choices = [Choice(premises.name, f"{premises.name}, the premises' time zone")]
    for value in (stated, "UTC"):
        if value and all(choice.value != value for choice in choices):
            choices.append(Choice(value, f"{value} all year"))
    return Question(
        "time-zone",
        f"{prefix}By which clock are the times of this file written?",
        tuple(choices),
        raised_by,
        kind="time-zone",
    )
