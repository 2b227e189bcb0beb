"""Checks of the work itself: brine, soak, size, pace of heating, clocks, cold store."""

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from decimal import Decimal, InvalidOperation
from statistics import fmean, median, stdev

import numpy as np

from safety.audit import words
from safety.audit.found import CannotSay, Found
from safety.audit.load import Check
from safety.audit.logged import US_PER_MIN, instant
from safety.audit.pace import flat, level_of, pace
from safety.audit.record import Record, RecordedReading
from safety.audit.times import minutes
from safety.judge.evidence import Integers, us_of
from safety.limits.model import DwellLimit, ExposureLimit, Limit, StayLimit
from safety.quantities import TEMPERATURE_UNITS
from safety.units import convert

_NO_SCHEDULE = "no schedule is on record"
_MM = "mm"
US_PER_QUARTER = 15 * US_PER_MIN  # no zone is off by less than a quarter of an hour


def scheduled(record: Record, name: str) -> Decimal | None:
    """Return a figure of the schedule; None if it says none."""
    if record.plan is None:
        return None
    try:
        figure = Decimal(record.plan.schedule.get(name, ""))
    except InvalidOperation:
        return None
    return figure if figure.is_finite() else None


def over_size(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find pieces that are thicker than the schedule was studied for."""
    most = scheduled(record, "thickest_mm")
    if most is None:
        return CannotSay(_NO_SCHEDULE)
    thick = [
        each
        for each in record.current
        if each.quantity == "thickness"
        and each.value is not None
        and convert(each.value, each.unit, _MM) > most
    ]
    if not thick:
        return []
    return [
        check.found(
            f"The schedule holds up to {most} mm; the thickest piece on record is "
            f"{words.figure(max(thick, key=lambda e: e.value or 0))}.",
            entries=words.entries(thick),
            at=thick[0].observed_at,
        )
    ]


def slow_heating(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find a batch that heated more slowly than its size on record implies."""
    level = level_of(record.limits)
    if level is None:
        return CannotSay("no limit holds the core at a temperature")
    own = pace(record.traces, record.window("heating"), level)
    if own is None:
        return CannotSay("no logged core reached the temperature of the limit")
    known = [each.heated_min for each in record.earlier if each.heated_min is not None]
    if len(known) < check["fewest"]:
        return CannotSay(
            f"it needs {check['fewest']} earlier logged batches of this product"
        )
    usual = median(known)
    window = record.window("heating")
    is_slow = own.minutes > float(check["times_median"]) * usual
    if len(known) >= check["for_spread"]:
        spread = float(check["sds"]) * stdev(known)
        is_slow = is_slow or own.minutes > fmean(known) + spread
    if not is_slow or own.minutes - usual <= own.finest_min:
        return []
    return [
        check.found(
            f"The slowest core took {own.minutes:.0f} min to "
            f"{words.amount(level)}, {own.minutes / usual:.2f} times the median of "
            f"{len(known)} earlier batches ({usual:.0f} min): pieces thicker than "
            "recorded would do that.",
            at=window.start if window is not None else None,
        )
    ]


def soak_outside(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find a soak that was shorter than the schedule, what was lifted out not counted."""
    least_h = scheduled(record, "minimum_h")
    window = record.window("curing")
    if least_h is None:
        return CannotSay(_NO_SCHEDULE)
    if window is None or window.end is None:
        return CannotSay("the brine has no start and end")
    lifted = record.parts.brine.lifted if record.parts.brine is not None else ()
    out = sum((until - since for since, until in lifted), timedelta())
    soaked = window.end - window.start - out
    if soaked >= minutes(least_h * 60):
        return []
    return [
        check.found(
            f"In the brine from {words.instant(window.start)} to "
            f"{words.instant(window.end)}, {words.length(soaked)} net; the schedule asks "
            f"for {least_h} h.",
            at=window.start,
        )
    ]


def brining_unwatched(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find a brining without any temperature of the brine or of the place."""
    window = record.window("curing")
    if window is None:
        return CannotSay("nothing was brined")
    rows = (*record.current, *record.traces)
    if any(row.step == "curing" and row.unit in TEMPERATURE_UNITS for row in rows):
        return []
    return [
        check.found(
            f"The brining began {words.instant(window.start)}; neither the brine nor the "
            "place where it stood was measured.",
            at=window.start,
        )
    ]


# ------------------------------------------------------------ the brine by weight


def _sal(check: Check, salt_kg: Decimal, water_kg: Decimal) -> Decimal:
    """Return the degrees salometer of a brine by weight of salt and water."""
    return salt_kg / (salt_kg + water_kg) * 100 / check["saturation_pct"] * 100


def brine_against_salometer(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find a salometer that does not agree with the salt and water weighed in."""
    brine = record.parts.brine
    if brine is None or brine.salometer is None:
        return CannotSay("the salometer was not read")
    if brine.salt_kg + brine.water_kg <= 0:
        return CannotSay("salt and water were not weighed")
    reckoned = _sal(check, brine.salt_kg, brine.water_kg)
    if abs(reckoned - brine.salometer) <= check["apart_sal"]:
        return []
    return [
        check.found(
            f"{brine.salt_kg} kg salt in {brine.water_kg} kg water make "
            f"{reckoned:.1f} degrees; the salometer read {brine.salometer}."
        )
    ]


def salometer_uncorrected(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find a salometer read in brine so cold or warm that it must be corrected."""
    brine = record.parts.brine
    if brine is None or brine.salometer is None or brine.brine_f is None:
        return CannotSay("salometer and temperature of the brine were not both read")
    away = abs(brine.brine_f - check["made_for_f"])
    if brine.is_corrected or away <= check["away_f"]:
        return []
    return [
        check.found(
            f"The salometer was read in brine of {brine.brine_f} °F and nobody says "
            "that the reading was corrected for it."
        )
    ]


def brine_short(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find too little brine for the weight of fish."""
    brine, least = record.parts.brine, scheduled(record, "ratio")
    if brine is None or least is None or brine.fish_kg <= 0:
        return CannotSay(_NO_SCHEDULE)
    ratio = (brine.water_kg + brine.salt_kg) / brine.fish_kg
    if ratio >= least:
        return []
    return [
        check.found(
            f"{brine.water_kg + brine.salt_kg} kg brine for {brine.fish_kg} kg fish is "
            f"{ratio:.2f} to 1; the schedule asks for {least} to 1."
        )
    ]


# ------------------------------------------------------------ watching


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
    """Return when a step was read, typed or logged: µs since 1970 UTC, sorted."""
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
    return np.unique(np.concatenate([np.array(typed, dtype=np.int64), *logged]))


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
        if len(_seen(record, step, quantity)):
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
            f"{len(unread)} whole days have no reading, the first {unread[0]}.",
            entries=tuple(str(day) for day in unread[: int(check["shown"])]),
            at=window.start,
        )
    ]


def _between(first: date, last: date) -> Iterator[date]:
    """Yield the days that lie wholly between two days."""
    for ahead in range(1, (last - first).days):
        yield first + timedelta(days=ahead)


def wrong_quantity(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find steps in which something was read, but not what the limit asks for."""
    asked: dict[str, set[str]] = {}
    for limit in record.limits:
        for step, quantity in _asks(limit):
            asked.setdefault(step, set()).add(quantity)
    if not asked:
        return CannotSay("no limit asks for a reading")
    found: list[Found] = []
    rows: tuple[object, ...] = (*record.current, *record.traces)
    for step, quantities in asked.items():
        read = {
            getattr(r, "quantity", "") for r in rows if getattr(r, "step", "") == step
        }
        if read and not read & quantities:
            wanted = words.listed(sorted(map(words.quantity_title, quantities)))
            there = words.listed(sorted(map(words.quantity_title, read)))
            found.append(
                check.found(
                    f"{words.step_title(step)}: the limits ask for {wanted}; on record "
                    f"is only {there}."
                )
            )
    return found


def _asks(limit: Limit) -> Iterator[tuple[str, str]]:
    for member, step in flat([limit]):
        quantity = getattr(member, "quantity", "")
        if quantity and step is not None and not isinstance(member, ExposureLimit):
            yield step, quantity


def study_missing(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find a schedule that names no study behind it."""
    if record.plan is None or not record.plan.schedule:
        return CannotSay(_NO_SCHEDULE)
    if record.plan.schedule.get("support", "").strip():
        return []
    return [
        check.found(
            f"The schedule of {record.plan.name} names no study that shows that it works."
        )
    ]


def probes_missing(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find a heating with fewer probes than the schedule asks for."""
    wanted = scheduled(record, "probes")
    if wanted is None:
        return CannotSay("the schedule says no number of probes")
    places = _places(record)
    if len(places) >= wanted:
        return []
    return [
        check.found(
            f"The schedule asks for {wanted} probes; cores were read at {len(places)} "
            f"places{': ' + words.listed(sorted(places)) if places else ''}."
        )
    ]


def _places(record: Record) -> set[str]:
    rows: list[RecordedReading] = list(record.typed)
    named = {
        each.place
        for each in rows
        if (each.step, each.quantity) == ("heating", "core-temperature")
    }
    return named | {
        trace.place or ""
        for trace in record.traces
        if (trace.step, trace.quantity) == ("heating", "core-temperature")
    }
