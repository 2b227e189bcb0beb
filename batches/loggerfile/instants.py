"""When each row was read: from texts, unix seconds or minutes since a known start."""

from dataclasses import dataclass, field
from datetime import UTC, date, datetime

import numpy as np
import numpy.typing as npt

from batches.loggerfile.answers import Answers
from batches.loggerfile.bounds import EARLIEST_YEAR, LATEST_YEAR, US_PER_SECOND
from batches.loggerfile.choosing import choose_moment
from batches.loggerfile.clock import Clock, find_clock
from batches.loggerfile.columns import Roles
from batches.loggerfile.dates import (
    NO_DAY,
    TOO_EARLY,
    OrderFound,
    day_numbers,
    find_order,
)
from batches.loggerfile.elapsed import elapsed_instants
from batches.loggerfile.errors import LoggerFileError
from batches.loggerfile.headings import order_in
from batches.loggerfile.kinds import UNIX_SCALE_BY_DIGITS, is_unix
from batches.loggerfile.local_times import to_utc
from batches.loggerfile.model import Choice, Question
from batches.loggerfile.moment_shapes import date_fields, instant_fields, time_fields
from batches.loggerfile.moments import (
    Moments,
    joined,
    read_moments,
    twelve_hour_row,
    written_dates,
)
from batches.loggerfile.notes import Notes
from batches.loggerfile.numbers import read_numbers
from batches.loggerfile.shapes import Rows, Shaped
from batches.loggerfile.table import Table
from batches.loggerfile.zones import Flags, Micros, micros_of

_NOT_SHOWN = OrderFound(None, "")
_BEFORE = f"before {EARLIEST_YEAR}: the logger's clock was not set"


@dataclass(eq=False)
class Instants:
    """UTC microseconds of every row, where ``is_read`` holds; None while one must ask."""

    at_us: Micros | None
    is_read: Flags
    order: OrderFound
    clock: Clock
    columns: tuple[int, ...] = ()
    wrong: list[tuple[str, Rows]] = field(default_factory=list)


@dataclass(frozen=True, slots=True, eq=False)
class _Source:
    """What is needed to read the instants of a table."""

    table: Table
    answers: Answers
    premises: Clock
    now: datetime | None
    name: str
    notes: Notes
    groups: npt.NDArray[np.int64] | None


def read_instants(
    table: Table,
    roles: Roles,
    *,
    answers: Answers,
    premises: Clock,
    now: datetime | None,
    mark: str | None,
    groups: npt.NDArray[np.int64] | None,
    name: str,
    notes: Notes,
) -> Instants:
    """Find the column (or two) that say when, and read the instants of all rows."""
    source = _Source(table, answers, premises, now, name, notes, groups)
    chosen = choose_moment(table, roles, answers.instant_column, name, notes)
    if chosen is None:
        nothing = np.zeros(len(table.lines), bool)
        return Instants(None, nothing, _NOT_SHOWN, premises)
    first = table.columns[chosen[0]]
    if chosen[0] in roles.elapsed:
        instants = _from_elapsed(source, chosen[0], mark)
    elif any(is_unix(shape) for shape in first.shapes):
        instants = _from_unix(source, first)
    else:
        instants = _from_texts(source, chosen)
    instants.columns = chosen
    _leave_out_other_years(instants)
    _leave_out_future(source, instants)
    return instants


def leave_out_rows(table: Table, instants: Instants, notes: Notes) -> None:
    """Note the rows that have no usable instant, with the text that was no instant."""

    def text(row: int) -> str:
        cells = (table.columns[column].cells[row] for column in instants.columns)
        return " ".join(cells)

    for reason, rows in instants.wrong:
        notes.leave_out(reason, np.sort(rows), lines=table.lines, text=text)


# -- texts -----------------------------------------------------------------------------


def _from_texts(source: _Source, chosen: tuple[int, ...]) -> Instants:
    table = source.table
    moments = _moments(table, chosen)
    column = table.columns[chosen[0]]
    dates, codes = written_dates(moments, texts=column.cells, lines=table.lines)
    stated, stated_by = _stated_order(table, chosen[0])
    order = find_order(
        dates,
        stated=stated,
        stated_by=stated_by,
        answer=source.answers.date_order,
        today=_today(source),
        name=source.name,
    )
    _ask_hours(source, moments, chosen[-1])
    clock = find_clock(
        table,
        chosen,
        answers=source.answers,
        premises=source.premises,
        notes=source.notes,
    )
    if order.question:
        source.notes.ask(order.question)
    if order.order is None:
        return Instants(None, codes >= 0, order, clock)
    numbers = np.append(day_numbers(dates, order.order), NO_DAY)
    days = numbers[codes]
    return _placed(source, moments, days, order, clock)


def _moments(table: Table, chosen: tuple[int, ...]) -> Moments:
    if len(chosen) == 1:
        column = table.columns[chosen[0]]
        return read_moments(
            column, lambda shape: instant_fields(shape) or date_fields(shape)
        )
    dates, times = (table.columns[index] for index in chosen)
    return joined(read_moments(dates, date_fields), read_moments(times, time_fields))


def _stated_order(table: Table, column: int) -> tuple[str | None, str]:
    for text in (table.headings[column], table.units_below[column]):
        if stated := order_in(text):
            return stated, f"the heading “{text}”"
    return None, ""


def _today(source: _Source) -> date | None:
    now = source.now
    return None if now is None else now.astimezone(source.premises.zone).date()


def _ask_hours(source: _Source, moments: Moments, column: int) -> None:
    row = twelve_hour_row(moments)
    if row is None or source.answers.hours == "24-hour":
        return
    line = int(source.table.lines[row])
    if source.answers.hours == "12-hour":
        raise LoggerFileError(
            f"{source.name}, line {line}",
            "The times are of a 12-hour clock without AM or PM, so half of them "
            "cannot be told from the other half.",
            "Export the file again with a 24-hour clock, or with AM and PM.",
        )
    choices = (
        Choice("24-hour", "A 24-hour clock", "1:00 is in the night"),
        Choice("12-hour", "A 12-hour clock without AM and PM", "it cannot be read"),
    )
    sentence = "No time is after 12:59, and 12 is followed by 1. Which clock is this?"
    text = source.table.columns[column].cells[row]
    source.notes.ask(Question("hours", sentence, choices, text, line))


def _placed(
    source: _Source,
    moments: Moments,
    days: npt.NDArray[np.int64],
    order: OrderFound,
    clock: Clock,
) -> Instants:
    is_day = days > TOO_EARLY
    is_read = is_day & moments.has_time
    placed = to_utc(
        moments,
        days,
        is_read,
        clock=clock,
        fold=source.answers.fold,
        groups=source.groups,
        notes=source.notes,
    )
    said = {int(row) for _, rows in moments.wrong for row in rows}
    no_time = np.flatnonzero(is_day & ~moments.has_time)
    wrong = [
        ("no date and time", np.flatnonzero((days == NO_DAY) & (moments.keys < 0))),
        ("no such date", np.flatnonzero((days == NO_DAY) & (moments.keys >= 0))),
        (_BEFORE, np.flatnonzero(days == TOO_EARLY)),
        ("no time of day", np.array([r for r in no_time if r not in said], np.intp)),
        *((reason, rows[is_day[rows]]) for reason, rows in moments.wrong),
        *placed.wrong,
    ]
    if not placed.naive_count and is_read.any():
        clock = Clock(clock.zone, clock.name, "every time carries its own offset")
    elif placed.naive_count < is_read.sum():
        source.notes.warn(
            f"Only some times carry their offset from UTC; the other "
            f"{placed.naive_count} were read in {clock.name}."
        )
    return Instants(placed.at_us, placed.is_read, order, clock, wrong=wrong)


# -- unix seconds and counted minutes --------------------------------------------------


def _from_unix(source: _Source, column: Shaped) -> Instants:
    at_us = np.zeros(len(column), np.int64)
    is_read = np.zeros(len(column), bool)
    wrong: list[tuple[str, Rows]] = []
    for group in column.groups():
        if not is_unix(group.shape):
            wrong.append(("no unix seconds", group.rows))
            continue
        numbers = read_numbers(Shaped(list(group.cells)), ".")
        scale = UNIX_SCALE_BY_DIGITS[len(group.shape.partition(".")[0])]
        per_unit = US_PER_SECOND // 10**scale
        whole, rest = np.divmod(numbers.values, 10**numbers.decimals)
        part = rest * per_unit // 10**numbers.decimals
        at_us[group.rows] = whole * per_unit + part
        is_read[group.rows] = numbers.is_number
    premises = source.premises
    clock = Clock(premises.zone, premises.name, "seconds since 1970 count in UTC")
    order = OrderFound(None, "seconds since 1970 (UTC)")
    return Instants(at_us, is_read, order, clock, wrong=wrong)


def _from_elapsed(source: _Source, index: int, mark: str | None) -> Instants:
    table, premises = source.table, source.premises
    column = table.columns[index]
    numbers = read_numbers(column, mark)
    clock = find_clock(
        table, (), answers=source.answers, premises=premises, notes=source.notes
    )
    heading = " ".join(filter(None, (table.headings[index], table.units_below[index])))
    at_us = elapsed_instants(
        numbers,
        heading,
        example=column.cells[0],
        answers=source.answers,
        clock=clock,
        notes=source.notes,
    )
    order = OrderFound(None, "counted from the start that you gave")
    return Instants(at_us, numbers.is_number, order, clock, wrong=list(numbers.reasons))


def _leave_out_other_years(instants: Instants) -> None:
    if instants.at_us is None:
        return
    early = instants.is_read & (instants.at_us < _year_us(EARLIEST_YEAR))
    late = instants.is_read & (instants.at_us >= _year_us(LATEST_YEAR + 1))
    instants.is_read &= ~early & ~late
    instants.wrong.append((_BEFORE, np.flatnonzero(early)))
    instants.wrong.append((f"after {LATEST_YEAR}", np.flatnonzero(late)))


def _year_us(year: int) -> int:
    return micros_of(datetime(year, 1, 1, tzinfo=UTC))


def _leave_out_future(source: _Source, instants: Instants) -> None:
    if source.now is None or instants.at_us is None:
        return
    now = source.now.astimezone(UTC)
    future = instants.is_read & (instants.at_us > micros_of(now))
    instants.is_read &= ~future
    instants.wrong.append((
        f"in the future (now is {now:%Y-%m-%d %H:%M} UTC)",
        np.flatnonzero(future),
    ))
