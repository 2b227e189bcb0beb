"""How good the estimates of salt are: each published trial against what was foretold."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import fmean, median
from typing import Any

from safety.science.activity import food_water_activity
from safety.science.curing import (
    dry_cure_water_phase_salt_pct,
    shared_water_phase_salt_pct,
)
from safety.science.diffusing import share_taken_up
from safety.science.drying import water_phase_salt_after_loss_pct
from safety.science.estimate import Estimate
from safety.science.salt_known import published, salting_of, trials
from safety.science.salting import warmed
from safety.science.sourced import citation, load
from safety.science.uptake import batch_estimate

_WHOLE_PCT = 100
_MM_PER_M = 1000
_S_PER_H = 60 * 60
UPTAKE, EVEN, ACTIVITY = "uptake, by its pace", "equilibrium", "water activity"


@dataclass(frozen=True, slots=True, kw_only=True)
class Foretold:
    """A published trial, what was foretold without its study, and what was measured."""

    trial: str
    of: str
    study: str
    kind: str
    estimate: Estimate
    measured: float

    @property
    def holds(self) -> bool:
        """Whether what was measured lies in the range."""
        return self.estimate.low <= self.measured <= self.estimate.high

    @property
    def error_frac(self) -> float:
        """How far the likely value is off, as a share of what was measured."""
        return abs(self.estimate.likely / self.measured - 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """How the trials of one kind came out."""

    kind: str
    trials: int
    studies: int
    median_error_frac: float
    held: int

    @property
    def coverage(self) -> float:
        """The share of trials that their range holds."""
        return self.held / self.trials


def foretold() -> tuple[Foretold, ...]:
    """Return every published trial with figures, foretold without the study it belongs to.

    Returns
    -------
    tuple of Foretold
        In the order of the data file. What is fitted (the pace) leaves the whole study
        out; shares and activities are not fitted, so nothing is left out. Trials of one
        study are not independent: the count of studies is the honest one.

    Notes
    -----
    Source: ``salting_trials.toml``.
    """
    found: list[Foretold] = []
    for trial in trials():
        for kind, estimate, measured in _made(trial):
            found.append(
                Foretold(
                    trial=trial["id"],
                    of=trial["of"],
                    study=trial["study"],
                    kind=kind,
                    estimate=estimate,
                    measured=measured,
                )
            )
    return tuple(found)


def left_out() -> Mapping[str, str]:
    """Return the published trials that nothing could be held against, and why.

    Returns
    -------
    Mapping of str to str
        Number of the trial, and the reason. Errs in no direction.
    """
    return {trial["id"]: trial["why"] for trial in trials() if trial["use"] == "none"}


def scores(found: Sequence[Foretold]) -> tuple[Score, ...]:
    """Return how often ranges held and how far off the likely values were, by kind.

    Parameters
    ----------
    found : Sequence[Foretold], shape (n,)
        As from ``foretold``.

    Returns
    -------
    tuple of Score
        One to a kind. Errs in no direction.
    """
    return tuple(
        Score(
            kind=kind,
            trials=len(mine),
            studies=len({each.study for each in mine}),
            median_error_frac=median(each.error_frac for each in mine),
            held=sum(each.holds for each in mine),
        )
        for kind in dict.fromkeys(each.kind for each in found)
        for mine in [[each for each in found if each.kind == kind]]
    )


def _made(trial: Mapping[str, Any]) -> list[tuple[str, Estimate, float]]:
    if trial["use"] == "uptake":
        pace = published(trial["food"], "brine", without=[trial["study"]])
        estimate = batch_estimate(salting_of(trial), pace)
        return [(UPTAKE, estimate, fmean(trial["measured"]))]
    if trial["use"] == "ratio":
        return [(UPTAKE, _ratio(trial), fmean(trial["measured"]))]
    if trial["use"] == "equilibrium":
        even = even_estimate(
            trial["brine_pct"], trial["brine_per_fish"], trial["moisture_pct"]
        )
        ends = [food_water_activity(end) for end in (even.high, even.likely, even.low)]
        wet = replace(ends[1], low=ends[0].low, high=ends[2].high)
        return [
            (EVEN, even, fmean(trial["measured"])),
            (ACTIVITY, wet, trial["measured_activity"]),
        ]
    if trial["use"] == "dose":
        return [(ACTIVITY, _dosed(trial), trial["measured_activity"])]
    return []


def even_estimate(
    brine_pct: float, brine_per_fish: float, moisture_pct: float
) -> Estimate:
    """Return the water phase salt at equilibrium as a range: the bound and a little less.

    Parameters
    ----------
    brine_pct, brine_per_fish, moisture_pct : float
        As for ``curing.shared_water_phase_salt_pct``.

    Returns
    -------
    Estimate
        %, before drying; no claim of coverage, for one study stands behind it.

    Raises
    ------
    OutOfRange
        If a figure is outside its range.

    Notes
    -----
    Low: a tenth less (own figure). High and likely: the bound, so it errs high.
    Source: balance of masses.
    """
    bound = float(shared_water_phase_salt_pct(brine_pct, brine_per_fish, moisture_pct))
    told = load("curing")["balance"]
    return Estimate(
        quantity="water phase salt at equilibrium",
        unit="percent",
        low=bound * (1 - told["below"]),
        likely=bound,
        high=bound,
        sources=(citation(told),),
        caveats=("An upper bound: fish out of the brine sooner holds less.",),
    )


def _dosed(trial: Mapping[str, Any]) -> Estimate:
    salt, moisture = trial["salt_per_100_g"], trial["moisture_pct"]
    before = float(dry_cure_water_phase_salt_pct(salt, moisture))
    scale = _WHOLE_PCT / (_WHOLE_PCT + salt)
    inside = before * moisture / (_WHOLE_PCT - before) * scale
    loss = fmean(trial["loss_pct"])
    after = water_phase_salt_after_loss_pct(inside, moisture * scale, loss * scale)
    return food_water_activity(float(after))


def _ratio(trial: Mapping[str, Any]) -> Estimate:
    """Return how many times the salt of the thick slab the thin one holds."""
    pace = published(trial["food"], "dry", without=[trial["study"]])
    thin, thick = (each / _MM_PER_M / trial["faces"] for each in trial["thickness_mm"])
    short, long = trial["hours"]
    warmth = load("salting_trials")["warmth"]
    width = math.hypot(pace.half_width_ln, math.log(long / short) / 2)
    seconds = math.sqrt(short * long) * _S_PER_H

    def times(away_ln: float) -> float:
        spread = warmed(
            math.exp(pace.centre_ln + away_ln), warmth["reference_c"], trial["brine_c"]
        )
        most = [min(spread * seconds / deep**2, _EVEN) for deep in (thin, thick)]
        return share_taken_up(most[0]) / share_taken_up(most[1])

    return Estimate(
        quantity="times the salt of the thick slab",
        unit="1",
        low=times(width),
        likely=times(0.0),
        high=times(-width),
    )


_EVEN = 50.0  # own figure: by then everything is even
