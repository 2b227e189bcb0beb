"""The checks of a batch's instruments: those that bear on its readings."""

from collections.abc import Iterator, Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any

from reports import wording
from reports.observed import Scribe, shown
from reports.sheets import CheckRow

Tolerance = tuple[Decimal, str]


def check_rows(
    records: Any, tolerances: Mapping[int, Tolerance], scribe: Scribe
) -> tuple[CheckRow, ...]:
    """Return the checks from the last before an instrument's use to the first after.

    ``tolerances`` are by the key of the instrument.
    """
    rows = []
    for instrument in records.instruments:
        checks = [
            check
            for check in shown(records.checks)
            if check.instrument_id == instrument.pk
        ]
        for check in _bearing(checks, list(_uses(records, instrument.pk))):
            allowed = tolerances[instrument.pk]
            rows.append(_check_row(check, records.checks, allowed, scribe))
    return tuple(rows)


def _uses(records: Any, key: int) -> Iterator[datetime]:
    """Yield the instants between which an instrument served this batch."""
    for reading in records.readings.all:
        if reading.instrument_id == key:
            yield reading.occurred_at
    for trace in records.traces.all:
        if trace.instrument_id == key:
            yield trace.first_at
            yield trace.last_at


def _bearing(checks: list[Any], uses: list[datetime]) -> list[Any]:
    """Return the checks that a reading's error is taken from, all changes of them too."""
    before = [check.occurred_at for check in checks if check.occurred_at <= min(uses)]
    after = [check.occurred_at for check in checks if check.occurred_at > max(uses)]
    first = max(before, default=None)
    last = min(after, default=None)
    return [
        check
        for check in checks
        if (first is None or check.occurred_at >= first)
        and (last is None or check.occurred_at <= last)
    ]


def _check_row(check: Any, checks: Any, allowed: Tolerance, scribe: Scribe) -> CheckRow:
    error = check.shown - check.true
    tolerance, unit = allowed
    is_accepted = abs(error) <= wording.as_difference(tolerance, unit, check.unit)
    return CheckRow(
        instrument=check.instrument.code,
        at=scribe.at(check.occurred_at),
        method=wording.plain(check.method),
        shown=wording.amount(check.shown, check.unit),
        true=wording.amount(check.true, check.unit),
        error=wording.difference(error, check.unit),
        tolerance=f"±{wording.amount(tolerance, unit)}",
        verdict="accepted" if is_accepted else "NOT accepted",
        made=scribe.made(check, checks),
        note=" ".join(["Adjusted after it."] * check.adjusted + [check.note]).strip(),
    )
