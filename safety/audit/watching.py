"""Checks of the watching: gaps, days without a reading, clocks that started late."""

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from decimal import Decimal

import numpy as np

from safety.audit import words
from safety.audit.found import CannotSay, Found
from safety.audit.load import Check
from safety.audit.logged import US_PER_MIN, instant
from safety.audit.pace import flat
from safety.audit.record import Record
from safety.audit.times import minutes
from safety.audit.values import is_temperature
from safety.judge.evidence import Integers, us_of
from safety.limits.model import DwellLimit, ExposureLimit, StayLimit
from safety.quantities import TEMPERATURE_UNITS

US_PER_QUARTER = 15 * US_PER_MIN  # no zone is off by less than a quarter of an hour


def late_first_cooling(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find a cooling whose first reading came long after the heat ended."""
    heating, cooling = record.window("heating"), record.window("cooling")
    if heating is None or heating.end is None or cooling is None:
        return CannotSay("heating and cooling are not both on record")
    seen = _seen(record, "cooling")
    seen = seen[seen >= us_of(heating.end)]
    if not len(seen):
        return CannotSay("nothing was read while it cooled")
    late = instant(int(seen[0]), record.now.tzinfo) - heating.end
    if late <= minutes(check["late_min"]):
        return []
    return [
        check.found(
            f"The heat ended {words.instant(heating.end)}; the first reading of the "
            f"cooling came {words.length(late)} later.",
            at=heating.end,
        )
    ]


def _seen(record: Record, step: str, quantity: str = "") -> Integers:
    """Return when a step was read, typed or logged: microseconds since 1970 UTC, sorted."""
    typed = [
        us_of(each.observed_at)
        for each in record.typed
        if each.step == step
        and quantity in {"", each.quantity}
        and each.observed_at is not None
    ]
    logged = [
        trace.at_us
        for trace in record.traces
        if trace.step == step and quantity in {"", trace.quantity}
    ]
    return np.sort(
        np.concatenate([np.array(typed, dtype=np.int64), *logged]), kind="stable"
    )


def _is_seen(record: Record, step: str, quantity: str) -> bool:
    return any(
        (row.step, row.quantity) == (step, quantity) for row in record.typed
    ) or any(
        (trace.step, trace.quantity) == (step, quantity) and len(trace.at_us)
        for trace in record.traces
    )


def _watched(record: Record) -> Iterator[tuple[str, str, Decimal]]:
    """Yield step, quantity and interval in min of what the limits want watched."""
    for limit, step in flat(record.limits):
        if isinstance(limit, DwellLimit | StayLimit) and step is not None:
            yield step, limit.quantity, limit.check_every_min
        elif isinstance(limit, ExposureLimit):
            for each in limit.steps:
                yield each, limit.quantity, limit.check_every_min


def monitoring_gap(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find where nobody looked for much longer than the interval of the limit."""
    watched: dict[str, tuple[str, Decimal]] = {}
    for step, quantity, every in _watched(record):
        if _is_seen(record, step, quantity):
            before = watched.get(step)
            if before is None or every < before[1]:
                watched[step] = (quantity, every)
    if not watched:
        return CannotSay("nothing that a limit wants watched was read")
    found: list[Found] = []
    for step, (quantity, every) in watched.items():
        gap = _longest_gap(record, step, quantity)
        if gap is not None and gap[1] - gap[0] > minutes(every * check["times"]):
            found.append(
                check.found(
                    f"{words.step_title(step)}: no {words.quantity_title(quantity)} "
                    f"from {words.instant(gap[0])} to {words.instant(gap[1])} "
                    f"({words.length(gap[1] - gap[0])}); the limit wants one every "
                    f"{every} min.",
                    at=gap[0],
                )
            )
    return found


def _longest_gap(
    record: Record, step: str, quantity: str
) -> tuple[datetime, datetime] | None:
    window = record.window(step)
    if window is None:
        return None
    first, last = us_of(window.start), us_of(window.end or record.now)
    seen = _seen(record, step, quantity)
    inside = seen[(seen >= first) & (seen <= last)]
    edges = np.concatenate(([first], inside, [max(first, last)]))
    widest = int(np.argmax(np.diff(edges)))
    zone = record.now.tzinfo
    return instant(int(edges[widest]), zone), instant(int(edges[widest + 1]), zone)


def cold_store_day(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find whole days in the cold store without any reading."""
    window = record.window("cold-holding")
    if window is None:
        return CannotSay("nothing was put into the cold store")
    quarters = np.unique(_seen(record, "cold-holding") // US_PER_QUARTER)
    zone = record.now.tzinfo
    seen = {instant(int(each) * US_PER_QUARTER, zone).date() for each in quarters}
    first, last = window.start.date(), (window.end or record.now).date()
    unread = [day for day in _between(first, last) if day not in seen]
    if not unread:
        return []
    return [
        check.found(
            f"In the cold store from {words.instant(window.start)}; "
            f"{words.counted(len(unread), 'whole day has', 'whole days have')} no "
            f"reading, the first {unread[0]}.",
            entries=tuple(str(day) for day in unread[: int(check["shown"])]),
            at=window.start,
        )
    ]


def _between(first: date, last: date) -> Iterator[date]:
    """Yield the days that lie wholly between two days."""
    for ahead in range(1, (last - first).days):
        yield first + timedelta(days=ahead)


def wrong_quantity(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find steps in which a temperature was read, but none that a limit asks for.

    The cold store is left out: there a day without the right reading is found by itself.
    """
    asked: dict[str, set[str]] = {}
    for step, quantity, _ in _watched(record):
        if step != "cold-holding":
            asked.setdefault(step, set()).add(quantity)
    if not asked:
        return CannotSay("no limit wants a temperature watched")
    read = {(row.step, row.quantity) for row in record.current if is_temperature(row)}
    read |= {
        (trace.step, trace.quantity)
        for trace in record.traces
        if trace.unit in TEMPERATURE_UNITS
    }
    found: list[Found] = []
    for step, quantities in asked.items():
        there = {quantity for where, quantity in read if where == step}
        if there and not there & quantities:
            wanted = words.listed(sorted(map(words.quantity_title, quantities)))
            only = words.listed(sorted(map(words.quantity_title, there)))
            found.append(
                check.found(
                    f"{words.step_title(step)}: the limits ask for {wanted}; on record "
                    f"is only {only}."
                )
            )
    return found
