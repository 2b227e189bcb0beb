"""Checks of the work itself: size, pace of heating, soak, brine, what the schedule wants."""

from datetime import timedelta
from decimal import Decimal, InvalidOperation
from statistics import fmean, median, stdev

from safety.audit import words
from safety.audit.found import CannotSay, Found
from safety.audit.load import Check
from safety.audit.pace import level_of, pace
from safety.audit.record import Record, RecordedReading
from safety.audit.times import minutes
from safety.quantities import TEMPERATURE_UNITS
from safety.units import convert

_NO_SCHEDULE = "no schedule is on record"
_MM = "mm"


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
    read = {(row.step, row.unit) for row in record.current}
    read |= {(trace.step, trace.unit) for trace in record.traces}
    if read & {("curing", unit) for unit in TEMPERATURE_UNITS}:
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
