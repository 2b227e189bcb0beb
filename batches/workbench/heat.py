"""Heat that kills, and how long a fillet takes to heat, to cool or to freeze."""

from collections.abc import Sequence
from itertools import pairwise

from django.utils.translation import gettext as _

from batches.workbench.outcome import Answers, Outcome, Rows, shown
from safety.errors import OutOfRange
from safety.science.estimate import Estimate
from safety.science.lethality import equivalent_min
from safety.science.lethality_curve import curve_lethality
from safety.science.references import Reference, equal_minutes, reference
from safety.science.slab_time import cooling_minutes, freezing_hours, heating_minutes
from safety.units import f_from_c


def lethality(answers: Answers) -> Outcome:
    """Work out equal minutes at a temperature, and what a curve of readings comes to."""
    process = reference(answers["process"])
    error_c = answers["error"]
    estimates: list[Estimate] = []
    if answers["temperature"] is not None:
        estimates.append(_minutes_at(process, answers["temperature"], error_c))
    says = []
    if answers["curve"]:
        estimates.append(_of_curve(process, answers["curve"], error_c))
        says.append(
            _(
                "At the least %(share)s of the %(minutes)s minutes that the process asks "
                "for at %(reference)s °C. Where the least and the likely figure are far "
                "apart, read more often."
            )
            % {
                "share": f"{estimates[-1].low / process.minutes:.0%}",
                "minutes": shown(process.minutes),
                "reference": shown(process.reference_c),
            }
        )
    return Outcome(
        estimates=tuple(estimates),
        says=tuple(says),
        tables=(_equal(process),),
        warnings=(
            process.not_covered,
            _(
                "Heating undoes no earlier abuse: toxin of staphylococci and histamine "
                "stay."
            ),
        ),
        sources=(process.source,),
    )


def slab(answers: Answers) -> Outcome:
    """Work out how long the middle of a fillet takes."""
    fish = {"water_pct": answers["water"], "fat_pct": answers["fat"]}
    place = {"thickness_mm": answers["thickness"], "air": answers["surface"]}
    if answers["what"] == "freeze":
        return Outcome(
            estimates=(freezing_hours(air_c=answers["air"], **place, **fish),),
            warnings=(
                _(
                    "Days of freezing against parasites are counted from when the middle "
                    "is measured to be frozen, not from when the fish went in."
                ),
            ),
        )
    if answers["target"] is None:
        raise OutOfRange(_("the temperature looked for"), _("nothing"), _("typed in"))
    is_heating = answers["what"] == "heat"
    rise = answers["target"] - answers["start"]
    if (rise > 0) != is_heating:
        raise OutOfRange(
            _("the temperature looked for"),
            f"{answers['target']:.4g} °C",
            _("warmer than the start when heating, colder when cooling"),
        )
    minutes = heating_minutes if is_heating else cooling_minutes
    estimate = minutes(
        answers["target"],
        start_c=answers["start"],
        air_c=answers["air"],
        **place,
        **fish,
    )
    return Outcome(
        estimates=(estimate,),
        warnings=(
            _(
                "Whether a step was quick enough is judged by readings in the thickest "
                "piece."
            ),
        ),
    )


def _minutes_at(process: Reference, food_c: float, error_c: float) -> Estimate:
    """Return the equal minutes, with what the thermometer may be off to either side."""
    warmest, coldest = food_c + error_c, food_c - error_c
    low, likely, high = (
        float(equal_minutes(process.id, min(one, process.counts_to_c)))
        for one in (warmest, food_c, coldest)
    )
    return Estimate(
        quantity=_("equal minutes at %(temperature)s °C")
        % {"temperature": f"{food_c:.4g}"},
        unit="min",
        low=low,
        likely=likely,
        high=high,
        sources=(process.source,),
        caveats=(_("The long end is for a thermometer that reads high."),),
    )


def _of_curve(
    process: Reference, curve: Sequence[tuple[float, float]], error_c: float
) -> Estimate:
    """Return what readings come to: the colder of two, straight, the hotter of two."""
    minutes = [minute for minute, _food in curve]
    food = [one for _minute, one in curve]
    found = curve_lethality(minutes, food, process, error_c=error_c)
    most = equivalent_min(
        [max(pair) for pair in pairwise(food)],
        [late - early for early, late in pairwise(minutes)],
        **process.line,
    )
    return Estimate(
        quantity=_("minutes at %(temperature)s °C that the curve comes to")
        % {"temperature": shown(process.reference_c)},
        unit="min",
        low=found.least_min,
        likely=found.likely_min,
        high=most,
        sources=(process.source,),
        caveats=(
            _(
                "What the thermometer may be off is taken from the least and the likely "
                "figure."
            ),
        ),
    )


def _equal(process: Reference) -> Rows:
    """Return equal minutes for every degree in which the process counts."""
    rows = []
    for celsius in range(round(process.counts_from_c), round(process.counts_to_c) + 1):
        minutes = float(equal_minutes(process.id, celsius))
        rows.append((
            f"{celsius} °C",
            f"{float(f_from_c(celsius)):.1f} °F",
            shown(minutes),
        ))
    return Rows(
        title=_("Equal minutes, worked out"),
        head=(_("Inside the food"), "°F", _("Minutes")),
        rows=tuple(rows),
    )
