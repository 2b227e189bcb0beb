"""``cool_through``: from one temperature down to another within some minutes."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from safety.judge.finding import Finding, Status
from safety.judge.gather import Gathered, Place, Placed
from safety.judge.placing import (
    THIN,
    Scene,
    Verdict,
    all_outside,
    in_order,
    nothing_read,
    with_cautions,
)
from safety.judge.sentences import (
    amount,
    asked_min,
    minutes_of,
    span,
    title,
    us_of_minutes,
)
from safety.judge.series import Booleans, Bound, Rows, Series, concatenate, first, last
from safety.limits.model import CoolLimit

HEATING = "heating"


@dataclass(frozen=True, slots=True)
class _Curve:
    """One place's readings of all steps, with what each certainly or possibly is.

    ``hot`` is at or above A, ``cold`` at or below B.
    """

    at_us: NDArray[np.int64]
    certainly_hot: Booleans
    possibly_hot: Booleans
    certainly_cold: Booleans
    possibly_cold: Booleans
    is_heating: Booleans
    is_other: Booleans

    def part(self, looked: slice | Booleans) -> "_Curve":
        return _Curve(
            self.at_us[looked],
            self.certainly_hot[looked],
            self.possibly_hot[looked],
            self.certainly_cold[looked],
            self.possibly_cold[looked],
            self.is_heating[looked],
            self.is_other[looked],
        )


@dataclass(frozen=True, slots=True)
class _Times:
    """Earliest and latest start and end, us; None without bound."""

    earliest_start: int | None
    latest_start: int | None
    earliest_end: int | None
    latest_end: int | None

    @property
    def shortest_us(self) -> int:
        if self.earliest_end is None or self.latest_start is None:
            return 0
        return max(0, self.earliest_end - self.latest_start)

    @property
    def longest_us(self) -> int | None:
        if self.latest_end is None or self.earliest_start is None:
            return None
        return self.latest_end - self.earliest_start


def judge(limit: CoolLimit, scene: Scene) -> list[Finding]:
    """Judge one stage of cooling, place by place.

    Parameters
    ----------
    limit : CoolLimit
        From ``from_value`` down to ``to_value``, over the readings of its ``steps``.
    scene : Scene
        The step is not used: the limit names its own.

    Returns
    -------
    list of Finding
        With the shortest and the longest time that the readings allow. The start errs
        early and the end late, so the longest time errs towards not met.
    """
    gathered = scene.gathered
    held = _places(limit, gathered)
    if not held:
        return [scene.finding(limit, None, nothing_read(limit.quantity, *limit.steps))]
    findings = []
    for place in in_order(held):
        verdict = _judge_place(limit, scene, held[place])
        findings.append(scene.finding(limit, place, verdict))
    return findings


def _places(limit: CoolLimit, gathered: Gathered) -> dict[Place, dict[str, Placed]]:
    """Return, for each place that counts, its readings by step."""
    by_place: dict[Place, dict[str, Placed]] = {}
    for step in limit.steps:
        for place, placed in gathered.placed(step, limit.quantity).items():
            by_place.setdefault(place, {})[step] = placed
    counted = {
        place: steps
        for place, steps in by_place.items()
        if any(step != HEATING for step in steps)
    }
    return counted or by_place


def _judge_place(limit: CoolLimit, scene: Scene, held: dict[str, Placed]) -> Verdict:
    parts = [(step, each.rows) for step, each in held.items() if each.rows is not None]
    if not parts:
        return all_outside(limit.quantity, *limit.steps)
    rows, is_heating = _together(parts)
    series = Series(rows)
    has_outside = any(each.has_outside for each in held.values())
    if _is_never_warm(limit, scene.gathered, series):
        verdict = _nothing_to_cool(limit)
    else:
        verdict = _judge_series(limit, scene, series, is_heating)
    return with_cautions(verdict, series, Placed(rows, has_outside))


def _together(parts: list[tuple[str, Rows]]) -> tuple[Rows, Booleans]:
    rows = concatenate([part for _, part in parts])
    if len(parts) == 1:
        return rows, np.full(len(rows), parts[0][0] == HEATING)
    at_us = np.concatenate([part.at_us for _, part in parts])
    marks = np.concatenate([
        np.full(len(part), step == HEATING) for step, part in parts
    ])
    return rows, marks[np.argsort(at_us, kind="stable")]


def _edge(limit: CoolLimit, gathered: Gathered) -> int | None:
    heating = gathered.window(HEATING)
    if heating.end_us is not None:
        return heating.end_us
    others = [step for step in limit.steps if step != HEATING]
    return gathered.window(others[0]).start_us if others else None


def _judge_series(
    limit: CoolLimit, scene: Scene, series: Series, is_heating: Booleans
) -> Verdict:
    gathered = scene.gathered
    certainly_hot, possibly_hot = series.at_least(_bound(limit, 0))
    certainly_cold, possibly_cold = series.at_most(_bound(limit, 1))
    curve = _Curve(
        series.at_us,
        certainly_hot,
        possibly_hot,
        certainly_cold,
        possibly_cold,
        series.marked(is_heating),
        series.marked(~is_heating),
    )
    edge_us = _edge(limit, gathered)
    times = _times(curve, edge_us)
    needed_us = us_of_minutes(limit.minutes)
    shortest_us, longest_us = times.shortest_us, times.longest_us
    if longest_us is not None and longest_us <= needed_us:
        status = Status.MET
    elif shortest_us >= needed_us and shortest_us > 0:
        status = Status.MISSED
    else:
        status = Status.NOT_SHOWN
    is_thin = status is Status.MET and _is_thin(limit, series, curve, times)
    return Verdict(
        status=status,
        observed={
            "shortest_min": minutes_of(shortest_us),
            "longest_min": None if longest_us is None else minutes_of(longest_us),
        },
        cautions=(THIN,) if is_thin else (),
        why=_why(limit, scene, times, bool(certainly_cold.any())),
        would_settle=_settle(limit, status, times),
    )


def _is_never_warm(limit: CoolLimit, gathered: Gathered, series: Series) -> bool:
    """Whether nothing was heated and every reading is cold.

    The readings of heating count only where the limit's steps name it; its window
    counts in any case.
    """
    if gathered.window(HEATING).exists:
        return False
    if HEATING in limit.steps and gathered.has_readings(HEATING):
        return False
    return bool(series.compare(_bound(limit, 1), -1, certain=True).all())


def _nothing_to_cool(limit: CoolLimit) -> Verdict:
    return Verdict(
        status=Status.DOES_NOT_APPLY,
        why=(
            f"{title(limit)} was at or below {amount(limit.to_value, limit.unit)} "
            "throughout and nothing was heated: there is nothing to cool from."
        ),
    )


def _bound(limit: CoolLimit, which: int) -> Bound:
    value = (limit.from_value, limit.to_value)[which]
    also = {unit: pair[which] for unit, pair in limit.also.items()}
    return Bound(value, limit.unit, also, limit.strict)


def _times(curve: _Curve, edge_us: int | None) -> _Times:
    heating_hot = last(curve.is_heating & curve.certainly_hot)
    if heating_hot is not None:
        start = int(curve.at_us[_end_of_run(curve.certainly_hot, heating_hot)])
        return _later(curve, start)
    start_us = _unheated_start(curve, edge_us)
    if edge_us is None:
        return _later(curve.part(curve.is_other), start_us)
    begun = int(np.searchsorted(curve.at_us, edge_us, "left"))
    return _later(curve.part(slice(begun, None)), start_us)


def _unheated_start(curve: _Curve, edge_us: int | None) -> int | None:
    """Return the earliest start where no heating reading is certainly hot."""
    maybe_hot = first(curve.is_heating & curve.possibly_hot)
    if maybe_hot is not None:
        first_us = int(curve.at_us[maybe_hot])
        return None if edge_us is None else min(edge_us, first_us)
    begun = 0 if edge_us is None else int(np.searchsorted(curve.at_us, edge_us, "left"))
    if begun < len(curve.at_us) and bool(curve.certainly_hot[begun]):
        return int(curve.at_us[_end_of_run(curve.certainly_hot, begun)])
    return edge_us


def _end_of_run(holds: Booleans, start: int) -> int:
    """Return the last index of the unbroken run that begins at ``start``."""
    broken = first(~holds[start:])
    return len(holds) - 1 if broken is None else start + broken - 1


def _later(curve: _Curve, start_us: int | None) -> _Times:
    """Return all four times, given the earliest start and what may be looked at."""
    at_us = curve.at_us
    n = len(at_us)
    if n == 0:
        return _Times(start_us, None, None, None)
    begun = 0 if start_us is None else int(np.searchsorted(at_us, start_us, "left"))
    cooled = first(~curve.possibly_hot[begun:])
    latest_start = int(at_us[-1] if cooled is None else at_us[begun + cooled])
    reached = first(curve.possibly_cold, _after_last(curve.certainly_hot))
    above = last(~curve.possibly_cold[: n if reached is None else reached])
    earliest_end = latest_start
    if above is not None:
        earliest_end = max(latest_start, int(at_us[above]))
    down = first(curve.certainly_cold, _after_last(curve.possibly_hot))
    latest_end = None if down is None else int(at_us[down])
    return _Times(start_us, latest_start, earliest_end, latest_end)


def _after_last(holds: Booleans) -> int:
    """Return the index after the last reading for which ``holds``; 0 with none."""
    found = last(holds)
    return 0 if found is None else found + 1


def _is_thin(limit: CoolLimit, series: Series, curve: _Curve, times: _Times) -> bool:
    """Whether the stage would not be met if the readings were off by the tolerance."""
    spare = series.compare(_bound(limit, 1), -1, certain=True, spare=True)
    down = first(spare, _after_last(curve.possibly_hot))
    if down is None or times.earliest_start is None:
        return True
    end_us = int(curve.at_us[down])
    return end_us - times.earliest_start > us_of_minutes(limit.minutes)


def _why(limit: CoolLimit, scene: Scene, times: _Times, has_arrived: bool) -> str:
    stage = f"{amount(limit.from_value, limit.unit)} to {amount(limit.to_value, limit.unit)}"
    took = span(times.shortest_us, times.longest_us)
    asked = f"the limit is {asked_min(limit.minutes)}"
    if times.longest_us is not None:
        when = scene.clock.between(times.earliest_start or 0, times.latest_end or 0)
        return f"{stage} took {took} ({when} at the longest); {asked}."
    if not has_arrived:
        return (
            f"No reading shows {amount(limit.to_value, limit.unit)} reached; "
            f"{stage} has taken {took}; {asked}."
        )
    return f"When cooling through {stage} began is not on record; {asked}."


def _settle(limit: CoolLimit, status: Status, times: _Times) -> str:
    if status is Status.MET:
        return ""
    if status is Status.MISSED:
        return (
            "Nothing more can be measured in this stage; reprocess or decide what to "
            "do with the lot."
        )
    low, high = (amount(v, limit.unit) for v in (limit.to_value, limit.from_value))
    if times.latest_end is None:
        return (
            f"A reading at or below {low} within {asked_min(limit.minutes)} of {high}."
        )
    return f"Readings closer together while passing {high} and {low}."
