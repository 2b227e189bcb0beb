"""What each column of a table is for: moment, sensor, name of a sensor, or nothing."""

import re
from dataclasses import dataclass, field
from datetime import date

import numpy as np

from batches.loggerfile import headings as words
from batches.loggerfile.answers import Answers
from batches.loggerfile.bounds import EARLIEST_YEAR, LATEST_YEAR, MAX_SENSORS
from batches.loggerfile.kinds import (
    COMPACT,
    DATE,
    DOTTED,
    EMPTY,
    INSTANT,
    NUMBER,
    TEXT,
    TIME,
    UNIX,
    WORD,
    counts_by_kind,
)
from batches.loggerfile.model import Choice, Column, Question
from batches.loggerfile.notes import Notes
from batches.loggerfile.table import Table

IGNORE = "ignore"
NONE = "none"
_WHY_NOT_READ = {
    INSTANT: "another column holds date and time",
    DATE: "dates without a time of day",
    TIME: "times of day without a date",
}


@dataclass
class Roles:
    """Which columns are read, and as what."""

    instants: list[int] = field(default_factory=list)
    dates: list[int] = field(default_factory=list)
    times: list[int] = field(default_factory=list)
    elapsed: list[int] = field(default_factory=list)
    sensors: list[int] = field(default_factory=list)
    names: int | None = None
    units: int | None = None
    role_by_column: dict[int, tuple[str, str]] = field(default_factory=dict)

    def give(self, column: int, role: str, why: str) -> None:
        """Note what a column is for."""
        self.role_by_column[column] = (role, why)

    def described(self, headings: tuple[str, ...]) -> tuple[Column, ...]:
        """Give all columns with their role, for people to see."""
        return tuple(
            Column(index, heading, *self.role_by_column.get(index, ("ignored", "")))
            for index, heading in enumerate(headings)
        )


def find_roles(table: Table, answers: Answers, notes: Notes) -> Roles:
    """Tell the columns' roles from their cells and headings."""
    roles = Roles()
    texts: list[int] = []
    for index, column in enumerate(table.columns):
        if index in table.suffixes:
            roles.give(index, "time", "completes the time to its left")
            continue
        counts = counts_by_kind(column)
        kind = _kind(table, index, counts)
        if kind in _WHY_NOT_READ:
            _list_of(roles, kind).append(index)
            roles.give(index, "ignored", _WHY_NOT_READ[kind])
        elif kind == NUMBER:
            _give_number(table, index, roles, answers)
        elif kind == TEXT:
            texts.append(index)
            roles.give(index, "ignored", "words, not numbers")
            _warn_of_numbers(table, index, counts, notes)
        else:
            _give_nothing(table, index, kind, roles, notes)
    _find_names(table, texts, roles, answers, notes)
    return roles


def _kind(table: Table, index: int, counts: dict[str, int]) -> str:
    kind = _main_kind(counts)
    if kind == DOTTED:
        is_time = words.TIME_WORDS.search(table.headings[index])
        return TIME if is_time else DATE
    if kind == COMPACT:
        return DATE if _holds_days(table.columns[index].cells) else NUMBER
    if kind == TEXT and counts.get(NUMBER) and _has_unit(table, index):
        return NUMBER
    return INSTANT if kind == UNIX else kind


def _holds_days(cells: list[str]) -> bool:
    """Say whether most cells of eight digits are days, as 20250630 is."""
    days = [re.sub(r"^(....)(..)(..)$", r"\1-\2-\3", cell) for cell in set(cells)]
    valid = [day for day in days if _is_day(day)]
    return 2 * len(valid) > len(days)


def _is_day(text: str) -> bool:
    try:
        return EARLIEST_YEAR <= date.fromisoformat(text).year <= LATEST_YEAR
    except ValueError:
        return False


def _list_of(roles: Roles, kind: str) -> list[int]:
    return {INSTANT: roles.instants, DATE: roles.dates, TIME: roles.times}[kind]


def _main_kind(counts: dict[str, int]) -> str:
    moments = {
        kind: counts.get(kind, 0)
        for kind in (INSTANT, DATE, DOTTED, TIME, UNIX, COMPACT)
    }
    best = max(moments, key=lambda kind: moments[kind])
    numbers, texts = counts.get(NUMBER, 0), counts.get(TEXT, 0)
    if moments[best] > max(numbers, texts):
        return best
    if numbers and numbers >= texts:
        return NUMBER
    if texts:
        return TEXT
    return WORD if counts.get(WORD) else EMPTY


def _has_unit(table: Table, index: int) -> bool:
    heading, below = table.headings[index], table.units_below[index]
    return bool(words.units_in(heading) or words.unit_of_cell(below))


def _warn_of_numbers(
    table: Table, index: int, counts: dict[str, int], notes: Notes
) -> None:
    if number := counts.get(NUMBER):
        notes.warn(
            f"{column_name(table, index)} has {number} numbers among more words and "
            "is not read."
        )


def _give_nothing(
    table: Table, index: int, kind: str, roles: Roles, notes: Notes
) -> None:
    why = "every cell is empty" if kind == EMPTY else "no cell holds a number"
    roles.give(index, "ignored", why)
    heading = table.headings[index]
    if _has_unit(table, index):
        notes.warn(f"Column {index + 1} ({heading}) holds no reading: {why}.")


def _give_number(table: Table, index: int, roles: Roles, answers: Answers) -> None:
    answered = answers.unit_by_column.get(str(index))
    if answered == IGNORE:
        roles.give(index, "ignored", "you answered")
        return
    why = "" if answered or _has_unit(table, index) else _why_no_sensor(table, index)
    if why == "elapsed":
        roles.elapsed.append(index)
        roles.give(index, "ignored", "counts from the start")
    elif why:
        roles.give(index, "ignored", why)
    else:
        roles.sensors.append(index)
        roles.give(index, "sensor", "numbers")


def _why_no_sensor(table: Table, index: int) -> str:
    """Say why a column of numbers is no sensor's, empty if it may be one."""
    heading = table.headings[index]
    below = table.units_below[index]
    if words.SENSOR_NAME_WORDS.fullmatch(heading) and _is_whole(table, index):
        return "numbers of sensors"
    if words.OTHER_MEASURE.search(f"{heading} {below}"):
        return f"“{heading}” is neither a temperature nor a relative humidity"
    if words.COUNTER_WORDS.fullmatch(heading) and _is_whole(table, index):
        return "numbers of rows"
    if words.ELAPSED_WORDS.search(f"{heading} ({below})") and _rises(table, index):
        return "elapsed"
    return ""


def _is_whole(table: Table, index: int) -> bool:
    return all(set(shape) <= {"0"} for shape in table.columns[index].shapes)


def _rises(table: Table, index: int) -> bool:
    cells = [cell.replace(",", ".") for cell in table.columns[index].cells if cell]
    try:
        values = np.array(cells, float)
    except ValueError:
        return False
    return bool(np.isfinite(values).all() and (np.diff(values) >= 0).all())


# -- a row for each sensor --------------------------------------------------------------


def _find_names(
    table: Table, texts: list[int], roles: Roles, answers: Answers, notes: Notes
) -> None:
    for index in texts:
        if _holds_units({cell for cell in table.columns[index].cells if cell}):
            roles.units = index
            roles.give(index, "unit", "every cell is a unit")
    texts = [index for index in texts if index != roles.units]
    if answers.sensor_column == NONE or not roles.sensors:
        return
    answered = answers.sensor_column or ""
    if answered.isdecimal() and int(answered) < len(table.columns):
        _give_names(int(answered), roles, "you answered")
        return
    named = [
        index
        for index, heading in enumerate(table.headings)
        if words.SENSOR_NAME_WORDS.fullmatch(heading)
        and (index in texts or _is_numbered(roles, index))
        and 0 < len(set(table.columns[index].cells)) <= MAX_SENSORS
    ]
    doubtful = [index for index in texts if _may_name(table, index)]
    if len(named) == 1:
        _give_names(named[0], roles, f"“{table.headings[named[0]]}” names the sensor")
    elif named or doubtful:
        notes.ask(ask_names(table, named or doubtful))


def _holds_units(cells: set[str]) -> bool:
    known = {cell for cell in cells if words.unit_of_cell(cell)}
    return bool(known) and all(map(words.OTHER_MEASURE.fullmatch, cells - known))


def _is_numbered(roles: Roles, index: int) -> bool:
    return roles.role_by_column[index][1] == "numbers of sensors"


def _give_names(index: int, roles: Roles, why: str) -> None:
    roles.names = index
    roles.sensors = [column for column in roles.sensors if column != index]
    roles.give(index, "sensor-name", why)


def _may_name(table: Table, index: int) -> bool:
    """Say whether a column of words could name the sensor of each row."""
    cells = [cell for cell in table.columns[index].cells if cell]
    different = {cell.casefold() for cell in cells}
    return (
        1 < len(different) <= MAX_SENSORS
        and 2 * len(cells) >= len(table.lines)
        and not different <= words.STATUS_WORDS
        and not words.NOTE_WORDS.search(table.headings[index])
    )


def ask_names(table: Table, columns: list[int]) -> Question:
    """Ask which column names the sensor, if one does."""
    choices = [
        Choice(str(index), column_name(table, index), table.columns[index].cells[0])
        for index in columns
    ]
    return Question(
        "sensor-column",
        "Does a column of this file name the sensor of each row?",
        (*choices, Choice(NONE, "No: all readings of a column are one sensor's")),
        choices[0].example if choices else "",
        int(table.lines[0]),
    )


def column_name(table: Table, index: int) -> str:
    """Name a column for people."""
    heading = table.headings[index]
    return f"Column {index + 1} ({heading})" if heading else f"Column {index + 1}"
