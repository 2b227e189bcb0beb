"""Checks of the figures that people typed: too alike, too neat, in the wrong unit."""

from collections import Counter
from collections.abc import Iterable, Sequence
from decimal import Decimal
from fractions import Fraction
from itertools import groupby
from statistics import stdev

from safety.audit import words
from safety.audit.chances import chi_square_tail, digits_chi_square, run_chance
from safety.audit.found import CannotSay, Found
from safety.audit.load import Check
from safety.audit.logged import distance, pairs
from safety.audit.record import Record, RecordedReading, counting, typed_of
from safety.judge.evidence import decimals_of
from safety.quantities import TEMPERATURE_UNITS
from safety.units import convert, symbol

_BASE = TEMPERATURE_UNITS[0]
_Key = tuple[str, str, str, str]


def is_temperature(reading: RecordedReading) -> bool:
    """Say whether a reading is a temperature: those vary from reading to reading."""
    return reading.unit in TEMPERATURE_UNITS


def _by_series(
    readings: Iterable[RecordedReading],
) -> dict[_Key, list[RecordedReading]]:
    series: dict[_Key, list[RecordedReading]] = {}
    for each in readings:
        key = (each.step, each.quantity, each.place, each.unit)
        series.setdefault(key, []).append(each)
    return series


def _last_place(reading: RecordedReading) -> Decimal:
    return Decimal(1).scaleb(-decimals_of(reading.value or Decimal(0)))


def same_value_run(record: Record, check: Check) -> list[Found]:
    """Find runs of equal temperatures that are longer than chance would make them."""
    found: list[Found] = []
    for series in _by_series(filter(is_temperature, record.typed)).values():
        for _, group in groupby(series, key=lambda each: each.value):
            run = list(group)
            if len(run) >= check["fewest"]:
                found += _run(run, series, record, check)
    return found


def _run(
    run: list[RecordedReading],
    series: list[RecordedReading],
    record: Record,
    check: Check,
) -> list[Found]:
    spread, whose = _spread(run, series, record, int(check["to_fit"]))
    is_long = len(run) >= check["long"]
    chance = None
    if spread is not None:
        step = float(_last_place(run[0]))
        chance = run_chance(len(run), step, spread, among=len(series))
        if not is_long and chance >= check["chance"]:
            return []
    elif not is_long:
        return []
    said = (
        f" With the spread of {whose} ({spread:.2f}) the chance of that is "
        f"{chance:.0e}."
        if chance is not None and chance < check["chance"]
        else ""
    )
    return [
        check.found(
            f"{words.series(run[0])}: {len(run)} readings in a row say "
            f"{words.figure(run[0])}.{said}",
            entries=words.entries(run),
            at=run[0].observed_at,
        )
    ]


def _spread(
    run: list[RecordedReading],
    series: list[RecordedReading],
    record: Record,
    to_fit: int,
) -> tuple[float | None, str]:
    """Return the standard deviation by which a run is looked at, and whose it is."""
    beside = [span for _, span in pairs(series, record.traces, Fraction(0))]
    if len(beside) >= to_fit:
        return stdev(float(low) for low, _ in beside), "the logger at these minutes"
    others = [float(each.value or 0) for each in series if each not in run]
    if len(others) >= to_fit:
        return stdev(others), "the other readings"
    return None, ""


def unit_slip(record: Record, check: Check) -> list[Found]:
    """Find temperatures that fit what was read around them only in the other unit.

    A slip that somebody has corrected since is found too, and the sentence says so:
    it stays on the record, crossed out.
    """
    temperatures = [each for each in record.readings if is_temperature(each)]
    typed = typed_of(temperatures)
    replaced = {each.corrects: each for each in temperatures if each.corrects}
    found: list[Found] = []
    for reading, span in pairs(typed, record.traces, Fraction(check["within_min"])):
        if reading.value is None:
            continue
        other = _other(reading.unit)
        as_typed = _apart(Fraction(reading.value), reading.unit, span)
        turned = convert(Fraction(reading.value), other, reading.unit)
        as_other = _apart(turned, reading.unit, span)
        if (
            as_typed > check["apart_f"]
            and as_other * Fraction(check["closer"]) < as_typed
        ):
            mended = replaced.get(reading.number)
            found.append(
                check.found(
                    f"{words.series(reading)}: {words.figure(reading)} at "
                    f"{words.instant(reading.observed_at or record.now)} is far from "
                    f"what the logger showed then ({_said(span, reading.unit)}); in the "
                    f"other unit it would fit.{_mended(mended)}",
                    entries=words.entries([reading]),
                    at=reading.observed_at,
                )
            )
    return found


def _mended(by: RecordedReading | None) -> str:
    if by is None:
        return ""
    return f" Corrected to {words.figure(by)} at {words.instant(by.entered_at)} by {by.by}."


def _other(unit: str) -> str:
    return next(each for each in TEMPERATURE_UNITS if each != unit)


def _apart(value: Fraction, unit: str, span: tuple[Fraction, Fraction]) -> Fraction:
    """Return how far a value lies outside a span, in the base unit of temperature."""
    turned = [convert(each, unit, _BASE) for each in (value, *span)]
    return distance(turned[0], (turned[1], turned[2]))


def _said(span: tuple[Fraction, Fraction], unit: str) -> str:
    low, high = (f"{float(each):.1f}" for each in span)
    name = symbol(unit)
    return f"{low} {name}" if low == high else f"{low} to {high} {name}"


def not_a_number(record: Record, check: Check) -> list[Found]:
    """Find entries that hold a tick or a word where a figure belongs."""
    ticks = [each for each in counting(record.readings) if each.value is None]
    if not ticks:
        return []
    return [
        check.found(
            f"{words.counted(len(ticks), 'entry holds', 'entries hold')} no number: "
            f"{words.listed(sorted({repr(each.typed) for each in ticks}))}.",
            entries=words.entries(ticks),
            at=ticks[0].observed_at,
        )
    ]


# ------------------------------------------------------------ last digits


def _all_typed(record: Record) -> list[RecordedReading]:
    """Return the temperatures of this and the earlier batches, each sight once.

    A box that holds several batches is read once and written into each of them.
    """
    seen: dict[tuple[object, ...], RecordedReading] = {}
    batches = [record.readings, *(each.readings for each in record.earlier)]
    for readings in batches:
        for each in filter(is_temperature, typed_of(counting(readings))):
            key = (each.observed_at, each.quantity, each.place, each.value)
            seen.setdefault(key, each)
    return list(seen.values())


def _digits(record: Record, check: Check) -> list[int] | CannotSay:
    """Return the last digits of the readings whose digits could be anything.

    Those with the most common number of decimals, if they spread over so many last
    places that no digit is likelier than another.
    """
    readings = _all_typed(record)
    by_places: dict[int, list[Decimal]] = {}
    for each in readings:
        value = each.value or Decimal(0)
        by_places.setdefault(decimals_of(value), []).append(value)
    places, values = max(
        by_places.items(), key=lambda pair: len(pair[1]), default=(0, [])
    )
    if len(values) < check["readings"]:
        return CannotSay(f"it needs {check['readings']} typed temperatures of a kind")
    scaled = [int(value.scaleb(places)) for value in values]
    if stdev(scaled) < check["spread"]:
        return CannotSay("the typed temperatures lie too close together")
    return [abs(value) % 10 for value in scaled]


def last_digit(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find last digits that are not equally frequent."""
    digits = _digits(record, check)
    if isinstance(digits, CannotSay):
        return digits
    statistic = digits_chi_square(digits)
    chance = chi_square_tail(statistic)
    if chance >= check["chance"]:
        return []
    counts = Counter(digits)
    most, times = counts.most_common(1)[0]
    return [
        check.found(
            f"Of {len(digits)} typed temperatures of this and the earlier batches "
            f"{times} end in {most}. Chi-square of the last digits is {statistic:.1f} "
            f"with 9 degrees of freedom; by chance that happens once in "
            f"{1 / chance:.0f} records."
        )
    ]


def fives_and_zeros(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find readings that end in five or nought more often than they may."""
    digits = _digits(record, check)
    if isinstance(digits, CannotSay):
        return digits
    half = int(check["half"])
    share = Fraction(sum(digit % half == 0 for digit in digits), len(digits))
    if share <= Fraction(check["share"]):
        return []
    return [
        check.found(
            f"{float(share):.0%} of {len(digits)} typed temperatures of this and the earlier "
            f"batches end in 0 or {half}."
        )
    ]


# ------------------------------------------------------------ copied sheets


def copied_day(record: Record, check: Check) -> list[Found]:
    """Find two days of one batch whose sheets say the same at the same times."""
    found: list[Found] = []
    for series in _by_series(record.typed).values():
        days: dict[object, dict[str, RecordedReading]] = {}
        for each in series:
            if each.observed_at is not None:
                day = days.setdefault(each.observed_at.date(), {})
                day[f"{each.observed_at:%H:%M}"] = each
        found += _copied_days(list(days.values()), check)
    return found


def _copied_days(
    days: Sequence[dict[str, RecordedReading]], check: Check
) -> list[Found]:
    found: list[Found] = []
    for later, day in enumerate(days):
        for before in days[:later]:
            if not _is_copy([*before.items()], [*day.items()], check):
                continue
            cells = list(day.values())
            first = next(iter(before.values())).observed_at
            found.append(
                check.found(
                    f"{words.series(cells[0])}: the sheet says the same at the same "
                    f"times as that of {first:%Y-%m-%d}.",
                    entries=words.entries(cells),
                    at=cells[0].observed_at,
                )
            )
            break
    return found


def _is_copy(
    before: Sequence[tuple[str, RecordedReading]],
    after: Sequence[tuple[str, RecordedReading]],
    check: Check,
) -> bool:
    cells = max(len(before), len(after))
    if min(len(before), len(after)) < check["cells"]:
        return False
    if len({each.value for _, each in after}) < check["different"]:
        return False
    same = sum(
        (place, each.value) == (other, beside.value)
        for (place, each), (other, beside) in zip(before, after, strict=False)
    )
    return same >= check["share"] * cells


def copied_sheet(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find a sheet that repeats that of an earlier batch, figure by figure."""
    if not record.earlier:
        return CannotSay("there is no earlier batch of this product")
    found: list[Found] = []
    for key, series in _by_series(record.typed).items():
        after = [("", each) for each in series]
        for earlier in record.earlier:
            theirs = _by_series(typed_of(counting(earlier.readings))).get(key, [])
            before = [("", each) for each in theirs]
            if _is_copy(before, after, check) and _apart_days(theirs, series):
                found.append(
                    check.found(
                        f"{words.series(series[0])}: the figures repeat those of batch "
                        f"{earlier.code}, one after the other.",
                        entries=words.entries(series),
                        at=series[0].observed_at,
                    )
                )
                break
    return found


def _apart_days(
    theirs: Sequence[RecordedReading], ours: Sequence[RecordedReading]
) -> bool:
    days = [
        {each.observed_at.date() for each in rows if each.observed_at is not None}
        for rows in (theirs, ours)
    ]
    return not days[0] & days[1]
