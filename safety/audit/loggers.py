"""Checks of loggers: gaps, flat lines, and what people typed beside them."""

from collections.abc import Mapping
from fractions import Fraction
from statistics import median

import numpy as np
from numpy.typing import NDArray

from safety.audit import words
from safety.audit.found import CannotSay, Found
from safety.audit.load import Check
from safety.audit.logged import US_PER_MIN, Series, instant, ordered, pairs
from safety.audit.record import Record, RecordedReading
from safety.audit.values import is_temperature
from safety.quantities import TEMPERATURE_UNITS
from safety.units import convert, convert_difference

_BASE = TEMPERATURE_UNITS[0]
_Pairs = list[tuple[RecordedReading, tuple[Fraction, Fraction]]]


def _name(series: Series) -> str:
    trace = series.trace
    place = f" at {trace.place}" if trace.place else ""
    step = words.step_title(trace.step)
    return f"{step}: the logger of the {words.quantity_title(trace.quantity)}{place}"


def logger_gap(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find where a logger left out more than so many of its own intervals."""
    if not record.traces:
        return CannotSay("no logger's series is on record")
    found: list[Found] = []
    for series in map(ordered, record.traces):
        gaps = np.diff(series.at_us)
        if len(gaps) < check["samples"]:
            continue
        usual = int(np.median(gaps))
        most = usual * (float(check["intervals"]) + 1)
        for index in np.flatnonzero(gaps > most)[:1]:
            at = int(series.at_us[index])
            found.append(
                check.found(
                    f"{_name(series)} has nothing for "
                    f"{int(gaps[index]) // US_PER_MIN} min from "
                    f"{words.instant(instant(at, record.now.tzinfo))}; it usually "
                    f"stored every {usual // US_PER_MIN} min.",
                    at=instant(at, record.now.tzinfo),
                )
            )
    return found


def flat_logger(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find hours in which a logger's temperature did not move at all."""
    if not record.traces:
        return CannotSay("no logger's series is on record")
    found: list[Found] = []
    for trace in record.traces:
        if trace.unit not in TEMPERATURE_UNITS:
            continue
        series = ordered(trace)
        least = float(convert_difference(check["sd_f"], _BASE, trace.unit))
        start = _flat_from(
            series,
            span_us=int(check["hours"] * 60 * US_PER_MIN),
            samples=int(check["samples"]),
            least=least * 10**trace.decimals,
        )
        if start is not None:
            at = instant(int(series.at_us[start]), record.now.tzinfo)
            found.append(
                check.found(
                    f"{_name(series)} did not move for {check['hours']} h from "
                    f"{words.instant(at)}: a probe that lies in the open does.",
                    at=at,
                )
            )
    return found


def _flat_from(
    series: Series, *, span_us: int, samples: int, least: float
) -> int | None:
    """Return where the first stretch begins whose standard deviation is too small."""
    n = len(series.at_us)
    if n < samples:
        return None
    values = (series.values - series.values[0]).astype(np.float64)
    sums = np.concatenate(([0.0], np.cumsum(values)))
    squares = np.concatenate(([0.0], np.cumsum(values * values)))
    starts = np.arange(n)
    ends = np.searchsorted(series.at_us, series.at_us + span_us, side="left")
    whole = (ends < n) & (ends + 1 - starts >= samples)
    if not whole.any():
        return None
    first, last = starts[whole], ends[whole] + 1
    deviation = _deviation(
        sums[last] - sums[first], squares[last] - squares[first], last - first
    )
    flat = first[deviation < least]
    return int(flat[0]) if len(flat) else None


def _deviation(
    sums: NDArray[np.float64], squares: NDArray[np.float64], counts: NDArray[np.int64]
) -> NDArray[np.float64]:
    means = sums / counts
    return np.sqrt(np.maximum(squares / counts - means * means, 0.0))


# ------------------------------------------------------------ typed beside logged


def _beside(record: Record, check: Check) -> Mapping[tuple[str, str, str], _Pairs]:
    series: dict[tuple[str, str, str], _Pairs] = {}
    typed = [each for each in record.typed if is_temperature(each)]
    for reading, span in pairs(typed, record.traces, Fraction(check["within_min"])):
        key = (reading.step, reading.quantity, reading.place)
        series.setdefault(key, []).append((reading, span))
    return {key: rows for key, rows in series.items() if len(rows) >= check["pairs"]}


def _no_pairs(check: Check) -> CannotSay:
    return CannotSay(
        f"no logger ran beside {check['pairs']} typed readings of the same place"
    )


def _middle_f(span: tuple[Fraction, Fraction], unit: str) -> Fraction:
    return convert((span[0] + span[1]) / 2, unit, _BASE)


def _typed_f(reading: RecordedReading) -> Fraction:
    return convert(reading.value or Fraction(0), reading.unit, _BASE)


def typed_off_logger(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find typed readings that differ from the logger at the same minutes."""
    series = _beside(record, check)
    if not series:
        return _no_pairs(check)
    found: list[Found] = []
    for rows in series.values():
        apart = median(
            abs(_typed_f(reading) - _middle_f(span, reading.unit))
            for reading, span in rows
        )
        if apart > Fraction(check["apart_f"]):
            first = rows[0][0]
            found.append(
                check.found(
                    f"{words.series(first)}: {len(rows)} typed readings differ from "
                    f"the logger at the same minutes, half of them by more than "
                    f"{float(apart):.1f} °F.",
                    entries=words.entries(reading for reading, _ in rows),
                    at=first.observed_at,
                )
            )
    return found


def typed_flatter(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find typed readings that move far less than the logger at the same minutes."""
    series = _beside(record, check)
    if not series:
        return _no_pairs(check)
    found: list[Found] = []
    for rows in series.values():
        typed = [_typed_f(reading) for reading, _ in rows]
        shown = [_middle_f(span, reading.unit) for reading, span in rows]
        wide = max(shown) - min(shown)
        narrow = max(typed) - min(typed)
        least = Fraction(check["share"]) * wide
        if wide >= Fraction(check["moved_f"]) and narrow < least:
            first = rows[0][0]
            found.append(
                check.found(
                    f"{words.series(first)}: {len(rows)} typed readings lie within "
                    f"{float(narrow):.1f} °F; the logger moved by {float(wide):.1f} °F at the same "
                    "minutes.",
                    entries=words.entries(reading for reading, _ in rows),
                    at=first.observed_at,
                )
            )
    return found
