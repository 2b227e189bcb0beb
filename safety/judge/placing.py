"""One finding per place: the common frame of the kinds that judge a series."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from safety.controls import CONTROL_POINTS
from safety.judge.finding import Finding, Status
from safety.judge.gather import Gathered, Place, Placed, Span
from safety.judge.sentences import Clock
from safety.judge.series import Rows, Series
from safety.limits.model import Limit, ValueLimit
from safety.quantities import QUANTITIES

IDENTICAL_IN_A_ROW = 5

SINGLE = "single reading"
LATE = "late entry"
IDENTICAL = "identical readings"
OUTSIDE = "outside window"
THIN = "thin margin"
GAP = "gap"


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What one series says of one limit, before it is a finding."""

    status: Status
    observed: Mapping[str, Any] = field(default_factory=dict)
    cautions: tuple[str, ...] = ()
    why: str
    would_settle: str = ""


@dataclass(frozen=True, slots=True)
class Scene:
    """What a kind of limit needs to know beside its series."""

    gathered: Gathered
    clock: Clock
    control_point: str
    step: str | None

    def finding(self, limit: Limit, place: Place, verdict: Verdict) -> Finding:
        """Return the verdict as a finding of ``limit`` at ``place``."""
        return Finding(
            control_point=self.control_point,
            limit=limit,
            limit_id=limit.id,
            place=place,
            status=verdict.status,
            observed=verdict.observed,
            cautions=verdict.cautions,
            why=verdict.why,
            would_settle=verdict.would_settle,
        )


Judge = Callable[[Series, Span], Verdict]


def per_place(limit: ValueLimit, scene: Scene, judge: Judge) -> list[Finding]:
    """Judge each place's readings of the limit's quantity in its step.

    Parameters
    ----------
    limit : ValueLimit
        Any kind that judges one series by itself.
    scene : Scene
        With a step.
    judge : callable
        Returns the verdict on one series inside one window.

    Returns
    -------
    list of Finding
        One per place; one without a place where nothing was read.
    """
    step = scene.step or ""
    placed = scene.gathered.placed(step, limit.quantity)
    if not placed:
        return [scene.finding(limit, None, nothing_read(limit.quantity, step))]
    window = scene.gathered.window(step)
    findings = []
    for place in in_order(placed):
        held = placed[place]
        if held.rows is None:
            verdict = all_outside(limit.quantity, step)
        else:
            series = Series(held.rows)
            verdict = with_cautions(judge(series, window), series, held)
        findings.append(scene.finding(limit, place, verdict))
    return findings


def in_order(places: Mapping[Place, object]) -> list[Place]:
    """Return the places, readings without one first."""
    return sorted(places, key=lambda place: (place is not None, place or ""))


def nothing_read(quantity: str, *steps: str) -> Verdict:
    """Return the verdict where a step has no reading of the quantity."""
    what = QUANTITIES[quantity].title
    where = " or ".join(f"“{CONTROL_POINTS[step].title}”" for step in steps)
    return Verdict(
        status=Status.NOT_SHOWN,
        why=f"No reading of {what.lower()} in {where} is on record.",
        would_settle=f"{what} read in {where}, with its instant and instrument.",
    )


def all_outside(quantity: str, *steps: str) -> Verdict:
    """Return the verdict where all readings of a place lie outside the window."""
    what = QUANTITIES[quantity].title.lower()
    where = " or ".join(f"“{CONTROL_POINTS[step].title}”" for step in steps)
    return Verdict(
        status=Status.NOT_SHOWN,
        cautions=(OUTSIDE,),
        why=f"All readings of {what} lie outside the time of {where}.",
        would_settle=(
            f"A reading inside the time of {where}, or the right start and end of it."
        ),
    )


def with_cautions(verdict: Verdict, series: Series, held: Placed) -> Verdict:
    """Add the cautions that any series can carry."""
    cautions = [*verdict.cautions, *record_cautions(series)]
    if held.has_outside:
        cautions.append(OUTSIDE)
    if tuple(cautions) == verdict.cautions:
        return verdict
    return Verdict(
        status=verdict.status,
        observed=verdict.observed,
        cautions=tuple(dict.fromkeys(cautions)),
        why=verdict.why,
        would_settle=verdict.would_settle,
    )


def record_cautions(series: Series) -> list[str]:
    """Return the cautions about how the readings were taken."""
    rows = series.rows
    cautions = []
    if len(rows) == 1:
        cautions.append(SINGLE)
    if rows.late is not None and bool(rows.late.any()):
        cautions.append(LATE)
    if not series.is_regular() and _has_identical(rows):
        cautions.append(IDENTICAL)
    return cautions


def _has_identical(rows: Rows) -> bool:
    """Find readings alike to the last digit at irregular times."""
    n = len(rows)
    if n < IDENTICAL_IN_A_ROW:
        return False
    gaps = rows.at_us[1:] - rows.at_us[:-1]
    same = np.asarray(rows.low[1:] == rows.low[:-1], dtype=np.bool_)
    if rows.code is not None:
        decimals = np.array([kind.decimals for kind in rows.kinds])[rows.code]
        same &= decimals[1:] == decimals[:-1]
    cuts = np.flatnonzero(same[1:] != same[:-1]) + 1
    edges = np.concatenate([[0], cuts, [len(same)]])
    long_enough = np.flatnonzero(
        (edges[1:] - edges[:-1] >= IDENTICAL_IN_A_ROW - 1) & same[edges[:-1]]
    )
    for i in long_enough.tolist():
        between = gaps[edges[i] : edges[i + 1]]
        if int(between.min()) != int(between.max()):
            return True
    return False
