"""How fast a batch heated: when its slowest place first reached the level of the limit."""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from safety.audit.logged import US_PER_MIN, ordered
from safety.judge.evidence import Amount, Trace, Window, us_of
from safety.limits.model import Combination, DwellLimit, Limit
from safety.units import convert

STEP, QUANTITY = "heating", "core-temperature"


@dataclass(frozen=True, slots=True)
class Pace:
    """Minutes from the start of heating to the level, and how finely that is known."""

    minutes: float
    finest_min: float


def flat(limits: Iterable[Limit]) -> Iterable[tuple[Limit, str | None]]:
    """Yield limits and the members of combinations, each with its step.

    Yields
    ------
    tuple of Limit and str or None
        The limit and the step in which it is judged.
    """
    for limit in limits:
        step = limit.step or limit.control_point
        if isinstance(limit, Combination):
            for member, own in flat(limit.limits):
                yield member, own or step
        else:
            yield limit, step


def level_of(limits: Iterable[Limit]) -> Amount | None:
    """Return the core temperature that a batch is held at, by its limits."""
    for limit, step in flat(limits):
        if (
            isinstance(limit, DwellLimit)
            and limit.kind == "dwell_at_least"
            and limit.quantity == QUANTITY
            and step == STEP
        ):
            return Amount(limit.value, limit.unit)
    return None


def pace(traces: Iterable[Trace], window: Window | None, level: Amount) -> Pace | None:
    """Return when the slowest logged core first showed the level.

    Parameters
    ----------
    traces : iterable of Trace
        All traces of the batch.
    window : Window or None
        The heating step.
    level : Amount
        A temperature.

    Returns
    -------
    Pace or None
        None if no core was logged or one never showed it.

    Notes
    -----
    The first sample at or above the level, without interpolation: late by up to one
    interval, for this batch and the earlier ones alike.
    """
    if window is None:
        return None
    start_us = us_of(window.start)
    found: list[Pace] = []
    for trace in traces:
        if (trace.step, trace.quantity) != (STEP, QUANTITY) or not len(trace.at_us):
            continue
        series = ordered(trace)
        wanted = convert(Fraction(level.value), level.unit, trace.unit)
        at = np.flatnonzero(series.values >= wanted * 10**trace.decimals)
        if not len(at):
            return None
        first = int(at[0])
        reached = int(series.at_us[first])
        before = int(series.at_us[first - 1]) if first else reached
        found.append(
            Pace((reached - start_us) / US_PER_MIN, (reached - before) / US_PER_MIN)
        )
    return max(found, key=lambda each: each.minutes, default=None)
