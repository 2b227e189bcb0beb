"""A producer's own laboratory results: what they make of the pace of salt, honestly wide."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean

from safety.errors import OutOfRange
from safety.science.salt_known import Pace, between_studies_ln, published, student
from safety.science.salting import Salting, diffusivity_for
from safety.science.sourced import load

_MOST_RESULTS = 500  # own figure: older ones tell of another process


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """A salting and the mean water phase salt that a laboratory found in the finished food.

    The food is finished: the loss of the salting is that of the whole work.
    """

    salting: Salting
    water_phase_salt_pct: float


def calibrated(results: Sequence[Result]) -> Pace:
    """Return the pace of salt by a producer's own results, published studies behind them.

    Parameters
    ----------
    results : Sequence[Result], shape (n,)
        Of one food and one way of salting, n from 1 to 500; one to a batch.

    Returns
    -------
    Pace
        For the next batch like them. ``uptake`` marks an estimate by fewer than five
        results, or for a salting unlike all of them, as thin.

    Raises
    ------
    OutOfRange
        If there are none, or of several kinds, or one is beyond what its salting can lead
        to (then a figure is wrong).

    Notes
    -----
    Logarithms of the apparent diffusivities, taken as normal: the mean is drawn towards
    that of the studies by their spread, the deviation towards an own figure worth three
    results; Student's t with the results and those three. For simulated producers whose
    batches differ by up to 0.5 (a quarter of the salt) the range holds 80 % or more of
    next batches, for any number of results; where they differ by 0.7, fewer with less than
    five results. It errs in no known direction.
    Source: textbook of Bayesian statistics, normal with a conjugate deviation;
    ``salting_trials.toml``.

    Examples
    --------
    >>> fish = Salting(
    ...     thickness_mm=(25, 25), minutes=240, faces=2, moisture_pct=70, brine_pct=15.8
    ... )
    >>> own = calibrated([Result(salting=fish, water_phase_salt_pct=2.4)] * 6)
    >>> own.half_width_ln < published("fish", "brine").half_width_ln
    True
    """
    if not 1 <= len(results) <= _MOST_RESULTS:
        raise OutOfRange("own results", f"{len(results)}", f"from 1 to {_MOST_RESULTS}")
    kinds = {(each.salting.food, each.salting.method) for each in results}
    if len(kinds) > 1:
        raise OutOfRange("own results", "several ways of salting", "of one way")
    food, method = kinds.pop()
    logs = [
        math.log(diffusivity_for(each.salting, each.water_phase_salt_pct))
        for each in results
    ]
    told = load("salting_trials")["spread"]
    centre, apart = between_studies_ln(food, method)
    worth, count = told["worth_results"], len(logs)
    mean = fmean(logs)
    squares = sum((each - mean) ** 2 for each in logs)
    degrees = worth + count - 1
    variance = (worth * told["between_batches_ln"] ** 2 + squares) / degrees
    precision = 1 / apart**2 + count / variance
    return Pace(
        centre_ln=(centre / apart**2 + count * mean / variance) / precision,
        half_width_ln=student(degrees) * math.sqrt(variance + 1 / precision),
        studies=published(food, method).studies,
        results=tuple(each.salting for each in results),
    )
