"""Which column, or pair of columns, says when a row was read."""

from batches.loggerfile.columns import Roles, column_name
from batches.loggerfile.errors import LoggerFileError
from batches.loggerfile.model import Choice, Question
from batches.loggerfile.notes import Notes
from batches.loggerfile.table import Table

_PLUS = "+"


def choose_moment(
    table: Table, roles: Roles, answer: str | None, name: str, notes: Notes
) -> tuple[int, ...] | None:
    """Choose the column (or date and time columns) with the instants, or ask."""
    candidates = _varying(table, _candidates(roles))
    if not candidates:
        raise _no_instants(roles, name)
    by_value = {_PLUS.join(map(str, columns)): columns for columns in candidates}
    chosen = candidates[0] if len(candidates) == 1 else by_value.get(answer or "")
    if chosen is None:
        notes.ask(_ask_moment(table, by_value))
        return None
    why = "the only one" if len(candidates) == 1 else "you answered"
    _give(chosen, roles, why)
    return chosen


def _candidates(roles: Roles) -> list[tuple[int, ...]]:
    candidates: list[tuple[int, ...]] = [(index,) for index in roles.instants]
    candidates += [(date, time) for date in roles.dates for time in roles.times]
    return candidates or [(index,) for index in roles.elapsed]


def _varying(table: Table, candidates: list[tuple[int, ...]]) -> list[tuple[int, ...]]:
    """Drop what is the same in every row, where something else is not."""
    varying = [
        columns
        for columns in candidates
        if any(len(set(table.columns[index].cells)) > 1 for index in columns)
    ]
    return varying or candidates


def _give(chosen: tuple[int, ...], roles: Roles, why: str) -> None:
    if len(chosen) > 1:
        date, time = chosen
        roles.give(date, "date", f"dates ({why})")
        roles.give(time, "time", f"times of day ({why})")
    elif chosen[0] in roles.elapsed:
        roles.give(chosen[0], "elapsed", f"counts from the start ({why})")
    else:
        roles.give(chosen[0], "instant", f"date and time ({why})")


def _ask_moment(table: Table, by_value: dict[str, tuple[int, ...]]) -> Question:
    choices = tuple(
        Choice(
            value,
            " and ".join(column_name(table, index) for index in columns),
            " ".join(table.columns[index].cells[0] for index in columns),
        )
        for value, columns in by_value.items()
    )
    return Question(
        "instant-column",
        "Which column says when a reading was taken?",
        choices,
        choices[0].example,
        int(table.lines[0]),
    )


def _no_instants(roles: Roles, name: str) -> LoggerFileError:
    if roles.dates:
        what = "The dates carry no time of day."
    elif roles.times:
        what = "The times of day carry no date."
    else:
        what = "No column says when the readings were taken."
    return LoggerFileError(
        name, what, "Bring the export that has date and time in each row."
    )
