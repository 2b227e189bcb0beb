"""Readings to series: sorted, repeats joined, gaps and intervals measured."""

from dataclasses import dataclass
from decimal import Decimal

import numpy as np
import numpy.typing as npt

from batches.loggerfile.bounds import GAP_FACTOR, GAPS_SHOWN, US_PER_SECOND
from batches.loggerfile.clock import Clock
from batches.loggerfile.model import Gap, Sensor, SensorSeries, Span
from batches.loggerfile.sensors import Readings
from batches.loggerfile.zones import Micros, local_datetime


@dataclass(frozen=True, slots=True, eq=False)
class Ordered:
    """One sensor's readings in order of time, each pair of instant and value once."""

    readings: Readings
    at_us: Micros
    values: npt.NDArray[np.int64]
    repeated: int
    conflicting: int

    @property
    def interval_us(self) -> float | None:
        """The usual step from one reading to the next."""
        return _usual_step(self.at_us)


def ordered(readings: Readings, at_us: Micros) -> Ordered:
    """Sort a sensor's readings and join those that say the same thing twice."""
    at, values = at_us[readings.rows], readings.values
    if (np.diff(at) > 0).all():
        return Ordered(readings, at, values, 0, 0)
    order = np.lexsort((values, at))
    at, values = at[order], values[order]
    same_at = at[1:] == at[:-1]
    is_repeat = np.append(False, same_at & (values[1:] == values[:-1]))
    at, values = at[~is_repeat], values[~is_repeat]
    conflicts = np.unique(at[1:][at[1:] == at[:-1]])
    return Ordered(readings, at, values, int(is_repeat.sum()), len(conflicts))


def _usual_step(at_us: Micros) -> float | None:
    steps = np.diff(at_us)
    steps = steps[steps > 0]
    return float(np.median(steps)) if len(steps) else None


def _gap_starts(each: Ordered) -> npt.NDArray[np.intp]:
    usual = each.interval_us
    if usual is None:
        return np.array([], np.intp)
    return np.flatnonzero(np.diff(each.at_us) > GAP_FACTOR * usual)


def described(each: Ordered) -> Sensor:
    """Sum up a sensor for people, with exact lowest and highest."""
    readings, values = each.readings, each.values
    usual = each.interval_us
    return Sensor(
        key=readings.key,
        name=readings.name,
        column=readings.column,
        unit=readings.unit,
        unit_known_by=readings.unit_known_by,
        count=len(values),
        lowest=_exact(values.min(), readings.decimals),
        highest=_exact(values.max(), readings.decimals),
        interval_s=None if usual is None else usual / US_PER_SECOND,
        gap_count=len(_gap_starts(each)),
        repeated=each.repeated,
        conflicting=each.conflicting,
    )


def described_without_times(readings: Readings) -> Sensor:
    """Sum up a sensor whose instants are not known yet."""
    values = readings.values
    return Sensor(
        key=readings.key,
        name=readings.name,
        column=readings.column,
        unit=readings.unit,
        unit_known_by=readings.unit_known_by,
        count=len(values),
        lowest=_exact(values.min(), readings.decimals),
        highest=_exact(values.max(), readings.decimals),
    )


def _exact(value: np.int64, decimals: int) -> Decimal:
    return Decimal(int(value)).scaleb(-decimals)


def series_of(each: Ordered) -> SensorSeries:
    """Give what is to be stored of a sensor."""
    readings = each.readings
    return SensorSeries(
        key=readings.key,
        name=readings.name,
        unit=readings.unit or "",
        at_us=each.at_us,
        values=each.values,
        decimals=readings.decimals,
    )


def span_of(all_sensors: list[Ordered], clock: Clock) -> Span:
    """Measure from when to when the readings run, and the longest gaps."""
    at_us = np.unique(np.concatenate([each.at_us for each in all_sensors]))
    usual = _usual_step(at_us)
    gaps = [
        Gap(
            each.readings.name,
            local_datetime(int(each.at_us[start]), clock.zone),
            local_datetime(int(each.at_us[start + 1]), clock.zone),
            int(each.at_us[start + 1] - each.at_us[start]) / US_PER_SECOND,
        )
        for each in all_sensors
        for start in _longest(each)
    ]
    gaps.sort(key=lambda gap: -gap.seconds)
    return Span(
        local_datetime(int(at_us[0]), clock.zone),
        local_datetime(int(at_us[-1]), clock.zone),
        None if usual is None else usual / US_PER_SECOND,
        tuple(gaps[:GAPS_SHOWN]),
        sum(len(_gap_starts(each)) for each in all_sensors),
    )


def _longest(each: Ordered) -> list[int]:
    starts = _gap_starts(each)
    steps = each.at_us[starts + 1] - each.at_us[starts]
    return starts[np.argsort(-steps, kind="stable")[:GAPS_SHOWN]].tolist()
