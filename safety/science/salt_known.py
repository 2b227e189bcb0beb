"""What is published of how fast salt goes in: one value to a study, and their spread."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean, stdev
from typing import Any

from safety.errors import OutOfRange
from safety.science.ranges import within
from safety.science.salting import Salting, diffusivity_for, warmed
from safety.science.sourced import load
from safety.science.tolerance import tolerance_factor

_NINE_TENTHS = 0.9  # own figure: a range of 80 % leaves a tenth on either side
_HALF = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Pace:
    """How fast salt goes in: the logarithm of m²/s at 4 °C, and how wide 80 % lies.

    ``studies`` are those of publications, ``results`` a producer's own.
    """

    centre_ln: float
    half_width_ln: float
    studies: tuple[str, ...]
    results: tuple[Salting, ...] = ()


def published(food: str, method: str, *, without: Sequence[str] = ()) -> Pace:
    """Return what the published studies say of the pace of salt, each counted once.

    Parameters
    ----------
    food : str
        "fish" or "meat".
    method : str
        "brine" or "dry".
    without : Sequence[str]
        Studies to leave out, for instance the one that is to be foretold.

    Returns
    -------
    Pace
        The 80 % range in which a further study would lie, were they alike.

    Raises
    ------
    OutOfRange
        If fewer than two studies are left.

    Notes
    -----
    Logarithms of one value to a study (the geometric middle of its range), at 4 °C, taken
    as normal: Student's t with their number. For dry salt there are too few studies of
    fish alone, so those of brine and of meat join in, which makes the range wider. It
    errs in no known direction.
    Source: ``salting_trials.toml``.
    """
    values = {
        study: fmean(logs)
        for study, logs in _logs(food, method).items()
        if study not in without
    }
    if len(values) < _FEWEST_STUDIES:
        raise OutOfRange("published studies", f"{len(values)}", "of at least two")
    spread = stdev(values.values()) * math.sqrt(1 + 1 / len(values))
    return Pace(
        centre_ln=fmean(values.values()),
        half_width_ln=student(len(values) - 1) * spread,
        studies=tuple(sorted(values)),
    )


def between_studies_ln(food: str, method: str) -> tuple[float, float]:
    """Return the mean and the deviation of what the studies found.

    Parameters
    ----------
    food, method : str
        As for ``published``.

    Returns
    -------
    tuple of float
        Of the logarithms of m²/s at 4 °C. Errs in no known direction.

    Notes
    -----
    Source: ``salting_trials.toml``.
    """
    values = [fmean(logs) for logs in _logs(food, method).values()]
    return fmean(values), stdev(values)


def student(degrees: int) -> float:
    """Return how many deviations on either side hold 80 % of Student's t.

    Parameters
    ----------
    degrees : int
        Degrees of freedom, 1 to 9,999.

    Returns
    -------
    float
        The quantile of 0.9; errs high by at most a few parts in 1e10.

    Raises
    ------
    OutOfRange
        If there are fewer degrees.

    Notes
    -----
    Source: as ``tolerance.tolerance_factor``, of which it is the special case.

    Examples
    --------
    >>> round(student(5), 3)
    1.476
    """
    within("degrees of freedom", degrees, 1, _MOST_DEGREES, "")
    count = degrees + 1
    factor = tolerance_factor(count, coverage=_HALF, confidence=_NINE_TENTHS)
    return factor * math.sqrt(count)


def trials() -> tuple[Mapping[str, Any], ...]:
    """Return every published trial, also those without figures that could be used.

    Returns
    -------
    tuple of Mapping
        As in the data file. Errs in no direction.
    """
    return tuple(load("salting_trials")["trial"])


def salting_of(trial: Mapping[str, Any]) -> Salting:
    """Return what was done in a published trial, with what we assume of it.

    Parameters
    ----------
    trial : Mapping
        One of ``trials`` whose use is "uptake".

    Returns
    -------
    Salting
        Errs in no known direction: what is assumed is said in the data file.
    """
    thin, thick = trial["thickness_mm"]
    least, most = trial["loss_pct"]
    return Salting(
        thickness_mm=(thin, thick),
        minutes=trial["minutes"],
        faces=trial["faces"],
        moisture_pct=trial["moisture_pct"],
        brine_pct=trial["brine_pct"],
        brine_c=trial["brine_c"],
        raw_salt_pct=trial["raw_salt_pct"],
        loss_pct=(least, most),
        food=trial["food"],
    )


def _logs(food: str, method: str) -> dict[str, list[float]]:
    """Return the logarithms of each study: its diffusivities, or those of its trials."""
    told = load("salting_trials")
    warmth = told["warmth"]
    found: dict[str, list[float]] = {}
    for row in told["diffusivity"]:
        if row["counts"] and _belongs(row, food, method):
            at = row.get("celsius", warmth["unstated_c"])
            found.setdefault(row["study"], []).extend(
                math.log(warmed(value, at, warmth["reference_c"]))
                for value in row["m2_s"]
            )
    for trial in told["trial"]:
        if trial["use"] == "uptake" and _belongs(trial | _IN_BRINE, food, method):
            salting = salting_of(trial)
            middle = fmean(trial["measured"])
            found.setdefault(trial["study"], []).append(
                math.log(diffusivity_for(salting, middle))
            )
    return found


def _belongs(row: Mapping[str, Any], food: str, method: str) -> bool:
    if method == "dry":
        return row["food"] in {food, "meat"}
    return bool(row["food"] == food and row["method"] == method)


_FEWEST_STUDIES = 2  # own figure: one study says nothing of the next
_MOST_DEGREES = 9_999.0
_IN_BRINE = {"method": "brine"}  # every trial that is foretold was in brine
