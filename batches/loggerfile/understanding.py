"""The whole way from a file's bytes to what it was understood to say."""

import hashlib
from datetime import datetime

import numpy as np

from batches.loggerfile.answers import Answers
from batches.loggerfile.bounds import MIXED_SHARE
from batches.loggerfile.clock import premises_clock
from batches.loggerfile.columns import NONE, Roles, ask_names, find_roles
from batches.loggerfile.delimiting import DELIMITERS, split_rows
from batches.loggerfile.encoding import decode
from batches.loggerfile.endings import mark_broken_end
from batches.loggerfile.errors import LoggerFileError
from batches.loggerfile.instants import Instants, leave_out_rows, read_instants
from batches.loggerfile.model import Understanding
from batches.loggerfile.notes import Notes
from batches.loggerfile.numbers import MarkFound, find_mark
from batches.loggerfile.row_order import OLDEST_FIRST, RowOrder, row_order
from batches.loggerfile.sensors import Names, Readings, Source, read_names, read_sensors
from batches.loggerfile.series import (
    Ordered,
    described,
    described_without_times,
    ordered,
    series_of,
    span_of,
)
from batches.loggerfile.suffixes import join_suffixes
from batches.loggerfile.table import Table, read_table

_NO_ANSWERS = Answers()


def understand(
    data: bytes,
    *,
    name: str,
    answers: Answers = _NO_ANSWERS,
    time_zone: str,
    now: datetime | None = None,
) -> Understanding:
    """Say what a logger file means, ask what it leaves open, store nothing."""
    if now is not None and now.tzinfo is None:
        raise ValueError("now needs a time zone")
    premises = premises_clock(time_zone)
    notes = Notes()
    decoded = decode(data, name=name)
    rows = split_rows(decoded.text, name=name)
    table = read_table(rows, name=name, blocks=answers.blocks, notes=notes)
    if not decoded.text.endswith(("\n", "\r")):
        last_line = rows.lines[len(rows.cells) - 1]
        table = mark_broken_end(table, last_line=last_line)
    table = join_suffixes(table)
    roles = find_roles(table, answers, notes)
    mark = _mark(table, roles, answers, notes)
    names = read_names(table, roles)
    instants = read_instants(
        table,
        roles,
        answers=answers,
        premises=premises,
        now=now,
        mark=mark.mark,
        groups=names.codes,
        name=name,
        notes=notes,
    )
    _refuse_without_sensors(roles, name)
    is_timed = instants.is_read
    if instants.at_us is None:
        is_timed = np.ones(len(table.lines), bool)
    else:
        leave_out_rows(table, instants, notes)
    sensors: list[Readings] = []
    if mark.question is None:
        sensors = read_sensors(
            Source(table, roles, names, mark.mark, is_timed, answers, notes)
        )
        _refuse_without_readings(sensors, notes, name)
    order = _order(table, roles, instants, names)
    series = _ordered(sensors, instants)
    _ask_of_mixed(table, roles, series, answers, notes)
    _warn(series, order, notes)
    questions = tuple(notes.questions)
    return Understanding(
        name=name,
        size_bytes=len(data),
        sha256=hashlib.sha256(data).hexdigest(),
        encoding=decoded.encoding,
        delimiter=DELIMITERS[rows.delimiter],
        decimal_mark=mark.mark,
        decimal_known_by=mark.known_by,
        header_line=table.header_line,
        unit_line=table.unit_line,
        preamble=table.preamble,
        columns=roles.described(table.headings),
        layout="wide" if roles.names is None else "long",
        date_order=instants.order.order,
        date_order_known_by=instants.order.known_by,
        time_zone=instants.clock.name,
        time_zone_known_by=instants.clock.known_by,
        span=span_of(series, instants.clock) if series else None,
        sensors=tuple(map(described, series))
        or tuple(map(described_without_times, sensors)),
        row_count=table.row_count,
        rows_read=_rows_read(table, sensors),
        left_out=notes.left_out(),
        repeated_rows=order.repeated,
        out_of_order_rows=order.out_of_order,
        row_order=order.runs,
        questions=questions,
        warnings=tuple(notes.warnings),
        series=() if questions else tuple(map(series_of, series)),
    )


def _mark(table: Table, roles: Roles, answers: Answers, notes: Notes) -> MarkFound:
    counted = [] if roles.instants or roles.dates else roles.elapsed
    mark = find_mark(
        (table.columns[column] for column in (*roles.sensors, *counted)),
        answers.decimal,
    )
    if mark.question:
        notes.ask(mark.question)
    return mark


def _refuse_without_sensors(roles: Roles, name: str) -> None:
    if not roles.sensors:
        ignored = "; ".join(
            f"column {column + 1}: {why}"
            for column, (role, why) in sorted(roles.role_by_column.items())
            if role == "ignored"
        )
        raise LoggerFileError(
            name,
            f"No column holds temperatures or relative humidity ({ignored}).",
            "Bring the export that has the readings of the sensors.",
        )


def _refuse_without_readings(sensors: list[Readings], notes: Notes, name: str) -> None:
    if sensors or notes.questions:
        return
    reasons = "; ".join(
        f"{group.count} × {group.reason}, as line {group.examples[0].line}: "
        f"“{group.examples[0].text}”"
        for group in notes.left_out()[:2]
    )
    raise LoggerFileError(
        name,
        f"No reading is left ({reasons}).",
        "Check that this is the right export, and what you answered.",
    )


def _ordered(sensors: list[Readings], instants: Instants) -> list[Ordered]:
    if instants.at_us is None:
        return []
    return [ordered(readings, instants.at_us) for readings in sensors]


def _order(table: Table, roles: Roles, instants: Instants, names: Names) -> RowOrder:
    if instants.at_us is None:
        return RowOrder(OLDEST_FIRST, 0, 0)
    return row_order(table, roles, instants.at_us, instants.is_read, names.codes)


def _rows_read(table: Table, sensors: list[Readings]) -> int:
    is_read = np.zeros(len(table.lines), bool)
    for readings in sensors:
        is_read[readings.rows] = True
    return int(is_read.sum())


def _ask_of_mixed(
    table: Table, roles: Roles, series: list[Ordered], answers: Answers, notes: Notes
) -> None:
    """Ask for the sensors' names where one column shows many values at one instant."""
    if roles.names is not None or answers.sensor_column == NONE:
        return
    for each in series:
        if each.conflicting > max(1, MIXED_SHARE * len(each.at_us)):
            taken = {each.readings.column for each in series}
            others = [
                column
                for column in range(len(table.columns))
                if column not in taken
                and roles.role_by_column[column][0] == "ignored"
                and len(set(table.columns[column].cells)) > 1
            ]
            notes.ask(ask_names(table, others))


def _warn(series: list[Ordered], order: RowOrder, notes: Notes) -> None:
    for each in series:
        if each.conflicting:
            notes.warn(
                f"{each.readings.name} has different values at the same instant "
                f"{each.conflicting} times; all of them are kept."
            )
    if order.out_of_order:
        notes.warn(
            f"{order.out_of_order} rows step back in time; they were put in order."
        )
