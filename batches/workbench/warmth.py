"""Time in the warm: how much of the printed longest times a curve uses up."""

from itertools import pairwise

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _later

from batches.workbench.allowance import TABLE, bands_of
from batches.workbench.outcome import Answers, Outcome, Rows, shown
from safety.limits import table
from safety.science.allowances import Used, allowance_fraction, used
from safety.science.estimate import Estimate

_MIN_PER_H = 60

_WORDS = {
    Used.LITTLE: _later("Less than half of the printed time is used up."),
    Used.MUCH: _later("More than half of the printed time is used up."),
    Used.WARNING: _later(
        "The printed times are used up together. Even if the printed rule is met band by "
        "band, ask a process authority."
    ),
}


def time_in_the_warm(answers: Answers) -> Outcome:
    """Work out which share of the printed times a curve uses up."""
    bands = bands_of(answers["bacteria"])
    shares = [
        allowance_fraction(_stretches(answers["curve"], off), bands)
        for off in (-answers["error"], 0.0, answers["error"])
    ]
    source = table(TABLE).source
    cited = f"{source.publisher}, {source.title}, {source.edition}, {source.section}"
    rows = tuple(
        (
            f"{_('from') if band.includes else _('above')} {band.above:g} °F",
            shown(band.hours),
        )
        for band in bands
    )
    return Outcome(
        estimates=(
            Estimate(
                quantity=_("share of the printed longest times that is used up"),
                unit="1",
                low=shares[0],
                likely=shares[1],
                high=shares[2],
                sources=(cited,),
                caveats=(
                    _("The high end is for a thermometer that reads too low."),
                    _(
                        "This sum is not the publisher's method; the printed rule, one "
                        "band inside another, decides."
                    ),
                ),
            ),
        ),
        says=(str(_WORDS[used(shares[2], rule_is_met=True)]),),
        tables=(
            Rows(
                title=_("The printed bands"),
                head=(_("Temperature of the food"), _("Longest time, hours")),
                rows=rows,
            ),
        ),
        warnings=(
            _(
                "Never to be read as growth: one printed time is not one amount of growth."
            ),
        ),
    )


def _stretches(
    curve: tuple[tuple[float, float], ...], off: float
) -> list[tuple[float, float]]:
    """Return hours and the warmer reading of each stretch, with an error added."""
    return [
        ((late - early) / _MIN_PER_H, max(cold, warm) + off)
        for (early, cold), (late, warm) in pairwise(curve)
    ]
