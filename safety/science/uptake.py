"""What water phase salt a salting leads to, as a range: a plan, never evidence."""

import math
from collections.abc import Callable

from safety.science.estimate import Estimate
from safety.science.ranges import within
from safety.science.salt_known import Pace, published, salting_of, trials
from safety.science.salting import Salting, centre_pct, mean_pct
from safety.science.sourced import citation, load

_COVERAGE = 0.8  # own figure: share of cases that a range is meant to hold
_EIGHTY = 1.2815515655446004  # deviations of a normal quantity on either side of 80 %
_LONGEST_REST = 7 * 24 * 60.0  # own figure, min: longer is storage
_ALIKE = 1.75  # own figure: how far beyond own results a salting may lie
_QUANTITY = "water phase salt"

PLAN_ONLY = "A planning estimate, not evidence: only a laboratory's result counts."
OF_THE_FISH = (
    "Fish before rigor takes up less, thawed fish more; fat and skin are barriers."
)
OF_THE_MIDDLE = (
    "The middle of a thick piece has less than the mean; a night's rest does not even it "
    "out."
)
NOT_TRIED = (
    "No published trial with figures lies near this salting (thickness, strength and time "
    "together): nothing is claimed of how often the range holds."
)
FEW_RESULTS = (
    "Fewer than five own results stand behind it: the range is mostly guesswork."
)
NOT_LIKE_RESULTS = "This salting is not like those that the own results come from."
FEW_STUDIES = "Too few studies of this kind of salting are published."


def batch_estimate(salting: Salting, pace: Pace | None = None) -> Estimate:
    """Return the mean water phase salt of the finished batch.

    Parameters
    ----------
    salting : Salting
        What is done to the batch.
    pace : Pace, optional
        Of ``salt_calibration.calibrated``; without it, what is published.

    Returns
    -------
    Estimate
        %, low to high meant to hold 80 % of batches. Where publications are too thin for
        that, ``coverage`` is None, ``is_thin`` is true and a caveat says why.

    Raises
    ------
    OutOfRange
        If the loss leaves no water, or too few studies are published.

    Notes
    -----
    The range of the pace and of the thickness runs through the slab's own curve; the range
    of the loss is added as independent. Never above what the salting ends at. Skin, fat and
    pieces before rigor take up less (errs high), frozen and thawed fish more (errs low).
    Source: ``salting_trials.toml``; Crank, The Mathematics of Diffusion, 2nd edition.

    Examples
    --------
    >>> fish = Salting(
    ...     thickness_mm=(25, 25), minutes=240, faces=2, moisture_pct=70, brine_pct=15.8
    ... )
    >>> estimate = batch_estimate(fish)
    >>> estimate.low < 2.4 < estimate.high, estimate.is_thin
    (True, True)
    """
    return _estimate(salting, pace, mean_pct, 0.0, _QUANTITY + ", mean of the batch")


def piece_estimate(salting: Salting, pace: Pace | None = None) -> Estimate:
    """Return the water phase salt of any one piece of the finished batch.

    Parameters
    ----------
    salting : Salting
        What is done; for the thickest piece give its own thickness.
    pace : Pace, optional
        As for ``batch_estimate``.

    Returns
    -------
    Estimate
        %, wider than that of the batch by the spread between pieces.

    Raises
    ------
    OutOfRange
        As ``batch_estimate``.

    Notes
    -----
    The spread between pieces, 15 %, is from memory. Otherwise as ``batch_estimate``.
    Source: as ``batch_estimate``.
    """
    spread = load("salting_trials")["spread"]["between_pieces"]
    return _estimate(
        salting, pace, mean_pct, _EIGHTY * spread, _QUANTITY + ", one piece"
    )


def centre_estimate(
    salting: Salting, rest_min: float, pace: Pace | None = None
) -> Estimate:
    """Return the water phase salt in the middle of a piece after a rest.

    Parameters
    ----------
    salting : Salting
        What is done.
    rest_min : float
        Minutes out of the brine before smoking, 0 to 10,080.
    pace : Pace, optional
        As for ``batch_estimate``.

    Returns
    -------
    Estimate
        %, of the place that salt reaches last; always thin, for no trial measured it.

    Raises
    ------
    OutOfRange
        As ``batch_estimate``, or if the rest is longer.

    Notes
    -----
    A sample of the middle of a loin can be far below the mean of its piece.
    Source: as ``batch_estimate``.
    """
    rest = float(within("rest", rest_min, 0, _LONGEST_REST, "min"))
    spread = load("salting_trials")["spread"]["between_pieces"]

    def middle(salted: Salting, diffusivity: float, loss: float) -> float:
        return centre_pct(salted, diffusivity, loss, rest)

    found = _estimate(
        salting, pace, middle, _EIGHTY * spread, _QUANTITY + ", middle of a piece"
    )
    return Estimate(
        quantity=found.quantity,
        unit=found.unit,
        low=found.low,
        likely=found.likely,
        high=found.high,
        sources=found.sources,
        caveats=tuple(dict.fromkeys((*found.caveats, NOT_TRIED))),
        is_thin=True,
    )


def upper_bound_pct(salting: Salting) -> float:
    """Return the water phase salt that a salting cannot exceed, however long it lasts.

    Parameters
    ----------
    salting : Salting
        What is done.

    Returns
    -------
    float
        %, after the greatest loss. Below a limit it is a safe "this cannot reach it".

    Raises
    ------
    OutOfRange
        If the loss leaves no water.

    Notes
    -----
    Errs high: drip takes salt along. Source: balance of masses.

    Examples
    --------
    >>> fish = Salting(
    ...     thickness_mm=(25, 25), minutes=240, faces=2, moisture_pct=70,
    ...     brine_pct=10, brine_per_fish=2
    ... )
    >>> round(upper_bound_pct(fish), 2)
    7.41
    """
    return mean_pct(salting, _FASTEST, salting.loss_pct[1])


def is_tried(salting: Salting) -> bool:
    """Return whether published trials with figures lie near a salting.

    Parameters
    ----------
    salting : Salting
        What is done.

    Returns
    -------
    bool
        Thickness, strength, time and method inside what the trials span. Errs towards no.

    Notes
    -----
    Source: ``salting_trials.toml``.
    """
    tried = [salting_of(trial) for trial in trials() if trial["use"] == "uptake"]
    if salting.method != "brine" or salting.brine_pct is None:
        return False
    strengths = [each.brine_pct or 0.0 for each in tried]
    return (
        salting.food in {each.food for each in tried}
        and min(strengths) <= salting.brine_pct <= max(strengths)
        and _inside(salting.minutes, [each.minutes for each in tried])
        and _inside(salting.depth_m, [each.depth_m for each in tried])
        and salting.brine_per_fish is None
    )


def _estimate(
    salting: Salting,
    pace: Pace | None,
    model: Callable[[Salting, float, float], float],
    more_ln: float,
    quantity: str,
) -> Estimate:
    known = pace or published(salting.food, salting.method)
    thin, thick = salting.thickness_mm
    width = math.hypot(known.half_width_ln, math.log(thick / thin))
    least_loss, most_loss = salting.loss_pct
    loss = (least_loss + most_loss) / 2
    middle = math.exp(known.centre_ln)
    likely = model(salting, middle, loss)
    slow = model(salting, middle * math.exp(-width), loss)
    fast = model(salting, middle * math.exp(width), loss)
    low = _away(likely, (slow, model(salting, middle, least_loss)), more_ln, -1)
    high = _away(likely, (fast, model(salting, middle, most_loss)), more_ln, 1)
    caveats, is_thin = _doubts(salting, known, asked=pace is not None)
    return Estimate(
        quantity=quantity,
        unit="percent",
        low=low,
        likely=likely,
        high=max(likely, min(high, upper_bound_pct(salting))),
        coverage=None if is_thin else _COVERAGE,
        sources=_sources(known),
        caveats=(PLAN_ONLY, *caveats, OF_THE_FISH, OF_THE_MIDDLE),
        is_thin=is_thin,
    )


def _away(likely: float, ends: tuple[float, float], more_ln: float, sign: int) -> float:
    """Return the end of a range from its independent parts, as factors of the likely."""
    parts = [math.log(max(end, _NOTHING) / max(likely, _NOTHING)) for end in ends]
    return max(likely, _NOTHING) * math.exp(sign * math.hypot(*parts, more_ln))


def _doubts(
    salting: Salting, known: Pace, *, asked: bool
) -> tuple[tuple[str, ...], bool]:
    """Return why a range may not hold, and whether nothing may be claimed of it."""
    told = load("salting_trials")["spread"]
    if asked:
        few = len(known.results) < told["fewest_results"]
        alike = any(_is_like(salting, each) for each in known.results)
        doubts: tuple[str, ...] = (FEW_RESULTS,) if few else ()
        doubts += () if alike else (NOT_LIKE_RESULTS,)
        return doubts, bool(doubts)
    doubts = () if is_tried(salting) else (NOT_TRIED,)
    if len(known.studies) < told["fewest_results"]:
        doubts += (FEW_STUDIES,)
    return doubts, bool(doubts)


def _is_like(one: Salting, other: Salting) -> bool:
    return (
        one.method == other.method
        and one.food == other.food
        and one.faces == other.faces
        and _inside(one.minutes, [other.minutes], _ALIKE)
        and _inside(one.depth_m, [other.depth_m], _ALIKE)
        and _inside(_strength(one), [_strength(other)], _ALIKE)
    )


def _strength(salting: Salting) -> float:
    return salting.brine_pct or salting.salt_per_100_g or 0.0


def _inside(value: float, others: list[float], factor: float = 1.0) -> bool:
    return min(others) / factor <= value <= max(others) * factor


def _sources(known: Pace) -> tuple[str, ...]:
    rows = load("salting_trials")
    named = [*rows["diffusivity"], *rows["trial"]]
    cited = [citation(row) for row in named if row["study"] in known.studies]
    cited += [citation(rows[name]) for name in _OWN]
    return tuple(dict.fromkeys(cited))


_OWN = ("warmth", "spread")
_FASTEST = 1.0  # m²/s: at once
_NOTHING = 1e-9  # %: no salt at all
