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
    low, high = check.true_span
    tolerance, unit = allowed
    most = wording.as_difference(tolerance, unit, check.unit)
    errors = [check.shown - true for true in dict.fromkeys((high, low))]
    return CheckRow(
        instrument=check.instrument.code,
        at=scribe.at(check.occurred_at),
        method=wording.plain(check.method),
        shown=wording.amount(check.shown, check.unit),
        true=" to ".join(
            wording.amount(true, check.unit) for true in dict.fromkeys((low, high))
        ),
        error=" to ".join(wording.difference(error, check.unit) for error in errors),
        tolerance=f"±{wording.amount(tolerance, unit)}",
        verdict=_verdict(min(errors), max(errors), most),
        made=scribe.made(check, checks),
        note=" ".join([*_left(check, scribe), check.note]).strip(),
    )


def _verdict(least: Any, greatest: Any, most: Any) -> str:
    """Say whether the whole of what the error may be lies within the tolerance."""
    if -most <= least and greatest <= most:
        return "accepted"
    if least > most or greatest < -most:
        return "NOT accepted"
    return "NOT shown, so not accepted"


def _left(check: Any, scribe: Scribe) -> Iterator[str]:
    if not check.adjusted:
        return
    if check.as_left is None:
        yield "Adjusted after it."
    else:
        shown = wording.amount(check.as_left, check.unit)
        yield f"Adjusted after it; {scribe.at(check.as_left_at)} it showed {shown}."
