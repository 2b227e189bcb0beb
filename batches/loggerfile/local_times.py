"""Rows' local times to UTC, asking about the hour that a clock shows twice."""

from dataclasses import dataclass
from datetime import timedelta

import numpy as np
import numpy.typing as npt

from batches.loggerfile.bounds import US_PER_DAY, US_PER_MINUTE
from batches.loggerfile.clock import Clock, ask_clock
from batches.loggerfile.model import Choice, Question
from batches.loggerfile.moments import NAIVE, Moments
from batches.loggerfile.notes import Notes
from batches.loggerfile.shapes import Rows
from batches.loggerfile.zones import (
    EPOCH,
    Flags,
    Micros,
    UtcTimes,
    abbreviation_offset_us,
    utc_from_local,
)

EARLIER, LATER, IN_ORDER, LEAVE_OUT = "earlier", "later", "in-order", "leave-out"


@dataclass(eq=False)
class Placed:
    """UTC instants of all rows, where ``is_read`` holds, and why others have none."""

    at_us: Micros
    is_read: Flags
    wrong: list[tuple[str, Rows]]
    naive_count: int


def to_utc(
    moments: Moments,
    days: npt.NDArray[np.int64],
    is_dated: Flags,
    *,
    clock: Clock,
    fold: str | None,
    groups: npt.NDArray[np.int64] | None,
    notes: Notes,
) -> Placed:
    """Place rows with a date and a time of day on the UTC line."""
    local = np.where(is_dated, days, 0) * US_PER_DAY + moments.day_us
    at_us = local.copy()
    placed = Placed(at_us, is_dated.copy(), [], 0)
    has_offset = moments.offset_us != NAIVE
    at_us[has_offset] -= moments.offset_us[has_offset]
    named = _place_named(moments, local, clock, placed, notes)
    naive = np.flatnonzero(is_dated & ~has_offset & ~named)
    placed.naive_count = len(naive)
    if len(naive):
        times = utc_from_local(local[naive], clock.zone)
        at_us[naive] = times.earlier_us
        _leave_out(
            placed,
            naive[times.is_skipped],
            f"the clock never showed this in {clock.name}",
        )
        if times.is_twice.any():
            run = (
                groups[naive] if groups is not None else np.zeros(len(naive), np.int64)
            )
            _settle_twice(placed, naive, local[naive], times, run, clock, fold, notes)
    return placed


def _leave_out(placed: Placed, rows: Rows, reason: str) -> None:
    placed.is_read[rows] = False
    placed.wrong.append((reason, rows))


def _place_named(
    moments: Moments, local: Micros, clock: Clock, placed: Placed, notes: Notes
) -> Flags:
    """Place rows whose text names summer or winter time of the zone, as PDT does."""
    named = np.zeros(len(local), bool)
    for abbreviation, blocks in moments.zones.items():
        rows = np.concatenate(blocks)
        rows = rows[placed.is_read[rows]]
        named[rows] = True
        minutes, codes = np.unique(local[rows] // US_PER_MINUTE, return_inverse=True)
        offsets = [
            abbreviation_offset_us(minute * US_PER_MINUTE, clock.zone, abbreviation)
            for minute in minutes.tolist()
        ]
        is_known = np.array([offset is not None for offset in offsets], bool)[codes]
        offset_us = np.array([offset or 0 for offset in offsets], np.int64)[codes]
        placed.at_us[rows] = local[rows] - offset_us
        reason = f"“{abbreviation}” is not what clocks showed in {clock.name}"
        _leave_out(placed, rows[~is_known], reason)
    if named.any() and not (named & placed.is_read).any():
        unknown = next(iter(moments.zones))
        prefix = f"“{unknown}” is not what clocks showed in {clock.name}. "
        notes.ask(ask_clock(prefix, clock, None, raised_by=unknown))
    return named


def _settle_twice(
    placed: Placed,
    rows: Rows,
    local: Micros,
    times: UtcTimes,
    run: npt.NDArray[np.int64],
    clock: Clock,
    fold: str | None,
    notes: Notes,
) -> None:
    twice = np.flatnonzero(times.is_twice)
    forward = slice(None)
    steps = np.diff(local)
    if (steps < 0).sum() > (steps > 0).sum():
        forward = slice(None, None, -1)  # newest first
    is_later = _later_in_order(local[twice][forward], run[twice][forward])
    is_later = is_later if is_later is None else is_later[forward]
    if fold == LATER:
        placed.at_us[rows[twice]] = times.later_us[twice]
    elif fold == IN_ORDER and is_later is not None:
        placed.at_us[rows[twice[is_later]]] = times.later_us[twice[is_later]]
    elif fold == LEAVE_OUT:
        _leave_out(placed, rows[twice], "the clock showed this time twice")
    elif fold != EARLIER:
        first = int(local[twice[0]])
        notes.ask(_ask_fold(first, len(twice), clock, can_follow=is_later is not None))


def _later_in_order(local: Micros, run: npt.NDArray[np.int64]) -> Flags | None:
    """Tell second passes by the step back in the rows; None unless there is just one.

    Each sensor of a long file (``run``) is taken by itself, and each day too.
    """
    is_later = np.zeros(len(local), bool)
    days = local // US_PER_DAY
    for sensor, day in {*zip(run.tolist(), days.tolist(), strict=True)}:
        rows = np.flatnonzero((run == sensor) & (days == day))
        back = np.flatnonzero(np.diff(local[rows]) < 0)
        if len(back) != 1:
            return None
        is_later[rows[back[0] + 1 :]] = True
    return is_later


def _ask_fold(local_us: int, count: int, clock: Clock, *, can_follow: bool) -> Question:
    when = EPOCH + timedelta(microseconds=local_us)
    text = f"{when:%Y-%m-%d %H:%M}"
    first, second = (
        when.replace(tzinfo=clock.zone, fold=fold).tzname() or "" for fold in (0, 1)
    )
    choices = [
        Choice(EARLIER, f"The first time ({first})", f"{text} {first}"),
        Choice(LATER, f"The second time ({second})", f"{text} {second}"),
        Choice(LEAVE_OUT, "Leave these readings out"),
    ]
    if can_follow:
        label = "As the rows run: first, and second after the step back"
        choices.insert(0, Choice(IN_ORDER, label))
    sentence = (
        f"Clocks were put back, so {text} came twice in {clock.name}. "
        f"Which time do the {count} rows of that hour mean?"
    )
    return Question("fold", sentence, tuple(choices), text)
