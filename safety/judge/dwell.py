"""``dwell_at_least`` and ``dwell_at_most``: at or beyond a value without a break."""

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from safety.judge.finding import Finding, Status
from safety.judge.gather import Span
from safety.judge.placing import GAP, THIN, Scene, Verdict, per_place
from safety.judge.sentences import (
    amount,
    asked_min,
    minutes_of,
    side,
    span,
    title,
    us_of_minutes,
)
from safety.judge.series import Booleans, Bound, Series, runs
from safety.limits.model import DwellLimit


@dataclass(frozen=True, slots=True)
class _Longest:
    """The longest the value can have been beyond the limit; None without bound.

    ``is_strictly_inside`` says whether every stretch as long as this ends at a reading
    on at least one side, where the crossing lies strictly inside.
    """

    us: int | None
    is_strictly_inside: bool


def judge(limit: DwellLimit, scene: Scene) -> list[Finding]:
    """Judge a time at temperature, place by place.

    Parameters
    ----------
    limit : DwellLimit
        Of kind ``dwell_at_least`` or ``dwell_at_most``.
    scene : Scene
        With the step whose readings count.

    Returns
    -------
    list of Finding
        With the shortest and the longest time that the readings allow. The shortest
        counts from reading to reading only, so it errs towards not shown.
    """
    bound = Bound(limit.value, limit.unit, limit.also, limit.strict)
    sign = 1 if limit.kind == "dwell_at_least" else -1

    def judge_one(series: Series, window: Span) -> Verdict:
        return _judge_one(limit, bound, sign, series, window)

    return per_place(limit, scene, judge_one)


def _judge_one(
    limit: DwellLimit, bound: Bound, sign: int, series: Series, window: Span
) -> Verdict:
    certain, possible = series.at_least(bound) if sign > 0 else series.at_most(bound)
    longest_gap_us = us_of_minutes(limit.check_every_min)
    needed_us = us_of_minutes(limit.minutes)
    shortest_us, best = _shortest(certain, series, longest_gap_us)
    longest = _longest(possible, series, window)
    status = _status(
        needed_us,
        shortest_us,
        longest,
        certain=certain,
        possible=possible,
        window=window,
    )
    cautions = []
    if series.longest_gap_us > longest_gap_us:
        cautions.append(GAP)
    if status is Status.MET and _is_thin(series, bound, sign, best):
        cautions.append(THIN)
    return Verdict(
        status=status,
        observed={
            "shortest_min": minutes_of(shortest_us),
            "longest_min": None if longest.us is None else minutes_of(longest.us),
        },
        cautions=tuple(cautions),
        why=_why(limit, shortest_us, longest.us, bool(possible.any())),
        would_settle=_settle(limit, status, shortest_us, window, certain),
    )


def _status(
    needed_us: Fraction,
    shortest_us: int,
    longest: _Longest,
    *,
    certain: Booleans,
    possible: Booleans,
    window: Span,
) -> Status:
    if needed_us == 0:
        if bool(certain.any()):
            return Status.MET
        has_ended = window.exists and not window.is_open
        is_missed = has_ended and not bool(possible.any())
        return Status.MISSED if is_missed else Status.NOT_SHOWN
    if shortest_us >= needed_us:
        return Status.MET
    if longest.us is None or longest.us > needed_us:
        return Status.NOT_SHOWN
    if longest.us == needed_us and not longest.is_strictly_inside:
        return Status.NOT_SHOWN
    return Status.MISSED


def _shortest(
    certain: Booleans, series: Series, longest_gap_us: Fraction
) -> tuple[int, slice]:
    found = runs(certain, series, longest_gap_us)
    if not len(found):
        return 0, slice(0, 0)
    lengths = series.at_us[found.stop - 1] - series.at_us[found.start]
    best = int(lengths.argmax())
    return int(lengths[best]), slice(int(found.start[best]), int(found.stop[best]))


def _longest(possible: Booleans, series: Series, window: Span) -> _Longest:
    at_us = series.at_us
    first_us, last_us = int(at_us[0]), int(at_us[-1])
    if window.start_us is None or window.end_us is None:
        return _Longest(None, is_strictly_inside=False)
    # The stretches before the first and after the last reading end at that reading.
    stretches = [(first_us - window.start_us, True), (window.end_us - last_us, True)]
    found = runs(possible, series)
    if len(found):
        before = at_us[np.maximum(found.start - 1, 0)].copy()
        after = at_us[np.minimum(found.stop, len(at_us) - 1)].copy()
        is_first = found.start == 0
        is_last = found.stop == len(at_us)
        before[is_first] = window.start_us
        after[is_last] = window.end_us
        lengths = after - before
        longest_us = int(lengths.max())
        is_whole = bool((is_first & is_last & (lengths == longest_us)).any())
        stretches.append((longest_us, not is_whole))
    longest_us = max(length for length, _ in stretches)
    return _Longest(
        longest_us,
        is_strictly_inside=all(
            is_inside for length, is_inside in stretches if length == longest_us
        ),
    )


def _is_thin(series: Series, bound: Bound, sign: int, best: slice) -> bool:
    spare = series.compare(bound, sign, certain=True, spare=True)
    chosen = spare[best]
    return not bool(chosen.all() if len(chosen) else spare.any())


def _why(
    limit: DwellLimit, shortest_us: int, longest_us: int | None, is_reached: bool
) -> str:
    value = f"{side(limit.kind, strict=limit.strict)} {amount(limit.value, limit.unit)}"
    if not is_reached:
        return (
            f"No reading shows {title(limit).lower()} {value}; "
            f"the limit is {asked_min(limit.minutes)} of it without a break."
        )
    return (
        f"{title(limit)} was {value} for {span(shortest_us, longest_us)} without a "
        f"break; the limit is {asked_min(limit.minutes)}."
    )


def _settle(
    limit: DwellLimit,
    status: Status,
    shortest_us: int,
    window: Span,
    certain: Booleans,
) -> str:
    if status is Status.MET:
        return ""
    value = f"{side(limit.kind, strict=limit.strict)} {amount(limit.value, limit.unit)}"
    every = f"with no more than {limit.check_every_min} min between readings"
    if status is Status.MISSED:
        return (
            "Nothing more can be measured in this step; reprocess or decide what to do "
            "with the lot."
        )
    missing = amount_of_minutes(us_of_minutes(limit.minutes) - shortest_us)
    if bool(certain[-1]):
        return (
            f"A reading {value} {missing} after the last one, {every}, "
            "would have shown it."
        )
    return f"Readings {value} over {asked_min(limit.minutes)}, {every}, would have shown it."


def amount_of_minutes(duration_us: Fraction) -> str:
    """Return a duration still missing, in minutes."""
    return f"{float(minutes_of(duration_us)):g} min"
