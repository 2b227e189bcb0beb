"""``stay_at_most`` and ``stay_at_least``: never beyond a value for too long."""

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from safety.judge.finding import Finding, Status
from safety.judge.gather import Span
from safety.judge.placing import GAP, THIN, Scene, Verdict, per_place
from safety.judge.sentences import (
    amount,
    amount_beside,
    but_for,
    minutes,
    minutes_of,
    side,
    title,
    us_of_minutes,
)
from safety.judge.series import Booleans, Bound, Series, runs
from safety.limits.model import StayLimit


@dataclass(frozen=True, slots=True)
class _Excursions:
    """How long the value was beyond the limit: certainly, and at most (None: ever).

    ``is_certainly_longer`` says whether some excursion certainly exceeds what is
    allowed; ``at`` is the reading at which the longest certain one begins.
    """

    shortest_us: int
    longest_us: int | None
    is_certainly_longer: bool
    at: int | None


def judge(limit: StayLimit, scene: Scene) -> list[Finding]:
    """Judge a holding temperature, place by place.

    Parameters
    ----------
    limit : StayLimit
        Of kind ``stay_at_most`` or ``stay_at_least``.
    scene : Scene
        With the step whose readings count.

    Returns
    -------
    list of Finding
        Met only where every gap, to the window's edges too, is short enough; so a
        series with holes errs towards not shown.
    """
    bound = Bound(limit.value, limit.unit, limit.also, limit.strict)
    sign = 1 if limit.kind == "stay_at_least" else -1

    def judge_one(series: Series, window: Span) -> Verdict:
        return _judge_one(limit, bound, sign, series, window, scene)

    return per_place(limit, scene, judge_one)


def _judge_one(
    limit: StayLimit,
    bound: Bound,
    sign: int,
    series: Series,
    window: Span,
    scene: Scene,
) -> Verdict:
    complies, may_comply = series.at_least(bound) if sign > 0 else series.at_most(bound)
    end_us = scene.gathered.judged_us if window.is_open else window.end_us
    allowed_us = us_of_minutes(limit.excursion_min)
    found = _excursions(
        complies, may_comply, series, (window.start_us, end_us), allowed_us
    )
    has_gap = _has_gap(
        series, (window.start_us, end_us), us_of_minutes(limit.check_every_min)
    )
    fits = found.longest_us is not None and found.longest_us <= allowed_us
    if allowed_us == 0:
        fits = bool(complies.all())
    if found.is_certainly_longer:
        status = Status.MISSED
    elif fits and not has_gap:
        status = Status.MET
    else:
        status = Status.NOT_SHOWN
    cautions = [GAP] if has_gap else []
    if status is Status.MET and not bool(
        series.compare(bound, sign, certain=True, spare=True).all()
    ):
        cautions.append(THIN)
    return Verdict(
        status=status,
        observed={
            "shortest_min": minutes_of(found.shortest_us),
            "longest_min": (
                None if found.longest_us is None else minutes_of(found.longest_us)
            ),
        },
        cautions=tuple(cautions),
        why=_why(limit, found, scene, series, has_gap=has_gap, fits=fits),
        would_settle=_settle(limit, status, has_gap=has_gap),
    )


def _excursions(
    complies: Booleans,
    may_comply: Booleans,
    series: Series,
    edges_us: tuple[int | None, int | None],
    allowed_us: Fraction,
) -> _Excursions:
    at_us, n = series.at_us, len(series)
    shortest_us, at, is_longer = 0, None, False
    certain = runs(~may_comply, series)
    if len(certain):
        lengths = at_us[certain.stop - 1] - at_us[certain.start]
        worst = int(lengths.argmax())
        shortest_us, at = int(lengths[worst]), int(certain.start[worst])
        has_both = (certain.start > 0) & (certain.stop < n)
        is_between = (
            has_both
            & complies[np.maximum(certain.start - 1, 0)]
            & complies[np.minimum(certain.stop, n - 1)]
        )
        if allowed_us == 0:
            is_longer = True
        else:
            is_longer = shortest_us > allowed_us or bool(
                ((lengths == allowed_us) & is_between).any()
            )
    return _Excursions(shortest_us, _longest(complies, series, edges_us), is_longer, at)


def _longest(
    complies: Booleans, series: Series, edges_us: tuple[int | None, int | None]
) -> int | None:
    at_us, n = series.at_us, len(series)
    possible = runs(~complies, series)
    if not len(possible):
        return 0
    before = at_us[np.maximum(possible.start - 1, 0)].copy()
    after = at_us[np.minimum(possible.stop, n - 1)].copy()
    is_first, is_last = possible.start == 0, possible.stop == n
    start_us, end_us = edges_us
    if (start_us is None and is_first.any()) or (end_us is None and is_last.any()):
        return None
    if start_us is not None:
        before[is_first] = start_us
    if end_us is not None:
        after[is_last] = end_us
    return int((after - before).max())


def _has_gap(
    series: Series, edges_us: tuple[int | None, int | None], longest_gap_us: Fraction
) -> bool:
    start_us, end_us = edges_us
    if start_us is None or end_us is None:
        return True
    return (
        series.longest_gap_us > longest_gap_us
        or int(series.at_us[0]) - start_us > longest_gap_us
        or end_us - int(series.at_us[-1]) > longest_gap_us
    )


def _why(
    limit: StayLimit,
    found: _Excursions,
    scene: Scene,
    series: Series,
    *,
    has_gap: bool,
    fits: bool,
) -> str:
    asked = f"{side(limit.kind, strict=limit.strict)} {amount(limit.value, limit.unit)}"
    allowed = but_for(limit)
    name = title(limit)
    if found.is_certainly_longer and found.at is not None:
        value = series.rows.shown(_row(series, found.at), limit.unit)
        shown = amount_beside(value, limit.value, limit.unit)
        when = scene.clock.say(int(series.at_us[found.at]))
        return (
            f"{name} was beyond the limit from {when} ({shown}) for at least "
            f"{minutes(found.shortest_us)}; the limit is {asked}{allowed}."
        )
    if not fits:
        return (
            f"{name} may have been beyond the limit for up to "
            f"{minutes(found.longest_us)}; the limit is {asked}{allowed}."
        )
    if has_gap:
        return (
            f"{name} was {asked} at every reading, but there are stretches longer than "
            f"{limit.check_every_min} min without one."
        )
    return f"{name} stayed {asked}{allowed} at every reading."


def _row(series: Series, index: int) -> int:
    return int(np.searchsorted(series.rows.at_us, series.at_us[index]))


def _settle(limit: StayLimit, status: Status, *, has_gap: bool) -> str:
    if status is Status.MET:
        return ""
    if status is Status.MISSED:
        return "Nothing more can be measured; decide what to do with the lot."
    if has_gap:
        return (
            f"Readings no more than {limit.check_every_min} min apart from the start "
            "of the step to its end."
        )
    return (
        "Readings closer together around the excursion, or an accepted check of the "
        "instrument before and after it."
    )
