"""Instants of rows that only count seconds, minutes or hours from a start."""

from datetime import datetime

import numpy as np

from batches.loggerfile.answers import Answers
from batches.loggerfile.bounds import (
    EARLIEST_YEAR,
    LATEST_YEAR,
    MAX_DIGITS,
    US_PER_HOUR,
    US_PER_MINUTE,
    US_PER_SECOND,
)
from batches.loggerfile.clock import Clock
from batches.loggerfile.headings import elapsed_unit_in
from batches.loggerfile.local_times import EARLIER, LATER
from batches.loggerfile.model import Choice, Question
from batches.loggerfile.notes import Notes
from batches.loggerfile.numbers import Numbers
from batches.loggerfile.zones import Micros, micros_of, utc_from_local

US_BY_UNIT = {"s": US_PER_SECOND, "min": US_PER_MINUTE, "h": US_PER_HOUR}
_WORD_BY_UNIT = {"s": "seconds", "min": "minutes", "h": "hours"}


def elapsed_instants(
    numbers: Numbers,
    heading: str,
    *,
    example: str,
    answers: Answers,
    clock: Clock,
    notes: Notes,
) -> Micros | None:
    """Give UTC instants of a column that counts from a start; None while one must ask."""
    unit = elapsed_unit_in(heading) or answers.elapsed_unit
    if unit not in US_BY_UNIT:
        notes.ask(_ask_unit(heading, example))
    start_us = _start_us(answers, clock, heading, example, notes)
    if unit not in US_BY_UNIT or start_us is None:
        return None
    scale = 10**numbers.decimals
    whole, rest = np.divmod(numbers.values, scale)
    limit = 10 ** (MAX_DIGITS // 2)
    whole = np.clip(whole, -limit, limit)
    per_unit = US_BY_UNIT[unit]
    part = [value * per_unit // scale for value in rest.tolist()]
    return start_us + whole * per_unit + np.array(part, np.int64)


def _start_us(
    answers: Answers, clock: Clock, heading: str, example: str, notes: Notes
) -> int | None:
    sentence = f"“{heading}” counts from the start. On what date and time was that?"
    if not answers.start:
        notes.ask(_ask_start(sentence, example))
        return None
    start = _start_from(answers.start)
    if start is None:
        sentence = f"“{answers.start}” is no date and time. {sentence}"
        notes.ask(_ask_start(sentence, example))
        return None
    offset = start.utcoffset()
    if offset is not None:
        return micros_of(start - offset)
    return _local_start_us(start, sentence, example, answers, clock, notes)


def _start_from(text: str) -> datetime | None:
    try:
        start = datetime.fromisoformat(text)
    except ValueError:
        return None
    return start if EARLIEST_YEAR <= start.year <= LATEST_YEAR else None


def _local_start_us(
    start: datetime,
    sentence: str,
    example: str,
    answers: Answers,
    clock: Clock,
    notes: Notes,
) -> int | None:
    local = np.array([micros_of(start)], np.int64)
    times = utc_from_local(local, clock.zone)
    if times.is_skipped[0]:
        skipped = f"Clocks in {clock.name} never showed {answers.start}. {sentence}"
        notes.ask(_ask_start(skipped, example))
        return None
    if times.is_twice[0] and answers.fold not in {EARLIER, LATER}:
        notes.ask(
            Question(
                "fold",
                f"Clocks in {clock.name} showed {answers.start} twice. Which is meant?",
                (Choice(EARLIER, "The first time"), Choice(LATER, "The second time")),
                answers.start or "",
            )
        )
        return None
    chosen = times.later_us if answers.fold == LATER else times.earlier_us
    return int(chosen[0])


def _ask_start(sentence: str, example: str) -> Question:
    return Question("start", sentence, (), example, kind="instant")


def _ask_unit(heading: str, example: str) -> Question:
    choices = tuple(
        Choice(unit, word, f"{example} {word}") for unit, word in _WORD_BY_UNIT.items()
    )
    return Question(
        "elapsed-unit",
        f"Does “{heading}” count seconds, minutes or hours?",
        choices,
        example,
    )
