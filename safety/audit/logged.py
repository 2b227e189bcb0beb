"""A logger's series beside typed readings: what it showed around an instant."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, tzinfo
from fractions import Fraction

import numpy as np

from safety.audit.record import RecordedReading
from safety.judge.evidence import Integers, Trace, us_of
from safety.units import convert

US_PER_MIN = 60 * 10**6
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Series:
    """One trace in order of time: instants in microseconds since 1970 UTC, shape (n,)."""

    trace: Trace
    at_us: Integers
    values: Integers

    def value(self, index: int, unit: str) -> Fraction:
        """Return one sample in a unit."""
        shown = Fraction(int(self.values[index]), 10**self.trace.decimals)
        return convert(shown, self.trace.unit, unit)

    def around(
        self, at_us: int, unit: str, within_us: int
    ) -> tuple[Fraction, Fraction] | None:
        """Return the lower and higher of the samples on both sides of an instant.

        None where a side has no sample within ``within_us``.
        """
        after = int(np.searchsorted(self.at_us, at_us, side="left"))
        if after < len(self.at_us) and int(self.at_us[after]) == at_us:
            exact = self.value(after, unit)
            return exact, exact
        before = after - 1
        if before < 0 or after >= len(self.at_us):
            return None
        if at_us - int(self.at_us[before]) > within_us:
            return None
        if int(self.at_us[after]) - at_us > within_us:
            return None
        pair = sorted((self.value(before, unit), self.value(after, unit)))
        return pair[0], pair[1]


def ordered(trace: Trace) -> Series:
    """Return a trace sorted by its instants."""
    if not len(trace.at_us) or bool(np.all(trace.at_us[1:] >= trace.at_us[:-1])):
        return Series(trace, trace.at_us, trace.values)
    order = np.argsort(trace.at_us, kind="stable")
    return Series(trace, trace.at_us[order], trace.values[order])


def beside(reading: RecordedReading, traces: Iterable[Trace]) -> Series | None:
    """Return the trace that measured the same thing at the same place.

    A trace of the same place; with a single trace of that step and quantity, that one:
    a cooler has one logger, whatever the place of the hand reading is called.
    """
    same = [
        trace
        for trace in traces
        if (trace.step, trace.quantity) == (reading.step, reading.quantity)
    ]
    named = [trace for trace in same if trace.place == reading.place]
    chosen = named or same
    if len({trace.place for trace in chosen}) != 1:
        return None
    if len(chosen) > 1:
        at = us_of(reading.observed_at) if reading.observed_at else 0
        chosen = [t for t in chosen if _covers(t, at)] or chosen
    return ordered(chosen[0])


def _covers(trace: Trace, at_us: int) -> bool:
    if not len(trace.at_us):
        return False
    return int(trace.at_us.min()) <= at_us <= int(trace.at_us.max())


def distance(value: Fraction, span: tuple[Fraction, Fraction]) -> Fraction:
    """Return how far a value lies outside a span; 0 inside."""
    low, high = span
    return max(low - value, value - high, Fraction(0))


def pairs(
    readings: Sequence[RecordedReading], traces: Sequence[Trace], within_min: Fraction
) -> list[tuple[RecordedReading, tuple[Fraction, Fraction]]]:
    """Return typed readings with what the logger showed around each, in their units."""
    within_us = int(within_min * US_PER_MIN)
    known: dict[tuple[str, str, str], Series | None] = {}
    found = []
    for reading in readings:
        if reading.observed_at is None or reading.value is None:
            continue
        key = (reading.step, reading.quantity, reading.place)
        if key not in known:
            known[key] = beside(reading, traces)
        series = known[key]
        if series is None:
            continue
        span = series.around(us_of(reading.observed_at), reading.unit, within_us)
        if span is not None:
            found.append((reading, span))
    return found


def instant(at_us: int, zone: tzinfo | None) -> datetime:
    """Return an instant of a trace in the time of the premises."""
    return (_EPOCH + timedelta(microseconds=at_us)).astimezone(zone)
