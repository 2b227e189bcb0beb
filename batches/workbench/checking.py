"""The boiling point of water, and what a few pieces say of all."""

from decimal import Decimal

from django.utils.translation import gettext as _

from batches.workbench.outcome import Answers, Outcome
from safety.science.boiling import boiling_span, is_pressure_of, sources
from safety.science.estimate import Estimate
from safety.science.tolerance import lower_bound
from safety.units import f_from_c

_WHOLE_PCT = 100.0
_FEW = 5  # own figure: with fewer the bound is mostly the factor


def boiling_point(answers: Answers) -> Outcome:
    """Work out at what temperature plain water boils."""
    elevation_m, pressure_hpa = answers["elevation"], answers["pressure"]
    span = boiling_span(elevation_m, pressure_hpa)
    in_c = (span.low_c, span.likely_c, span.high_c)
    in_f = tuple(float(f_from_c(Decimal(str(one)))) for one in in_c)
    warnings = []
    if pressure_hpa is not None and not is_pressure_of(pressure_hpa, elevation_m):
        warnings.append(
            _(
                "That pressure is further from the usual one at this elevation than "
                "weather goes. It may be one reduced to sea level, from a weather "
                "report: with it a thermometer that reads high seems right."
            )
        )
    return Outcome(
        estimates=tuple(
            Estimate(
                quantity=_("boiling point of plain water"),
                unit=unit,
                low=low,
                likely=likely,
                high=high,
                sources=sources(),
            )
            for unit, (low, likely, high) in (("degC", in_c), ("degF", in_f))
        ),
        warnings=tuple(warnings),
    )


def tolerance(answers: Answers) -> Outcome:
    """Work out the bound above which most pieces lie."""
    values = answers["values"]
    share, sure = answers["share"] / _WHOLE_PCT, answers["confidence"] / _WHOLE_PCT
    found = lower_bound(values, coverage=share, confidence=sure)
    warnings = []
    if found.deviation == 0:
        warnings.append(
            _(
                "The values are all the same. That is more often a copied figure or a "
                "coarse instrument than pieces without a difference."
            )
        )
    if found.bound < 0 <= min(values):
        warnings.append(
            _(
                "The bound is below 0: the values differ so much, or are so few, that "
                "they say next to nothing of the other pieces."
            )
        )
    return Outcome(
        estimates=(
            Estimate(
                quantity=_("one more piece"),
                unit="1",
                low=found.bound,
                likely=found.mean,
                high=found.mean + found.factor * found.deviation,
                sources=(
                    "NIST/SEMATECH, e-Handbook of Statistical Methods, section 7.2.6.3",
                ),
                is_thin=found.count < _FEW,
            ),
        ),
        says=(
            _(
                "Of all such pieces %(share)s %% lie above %(bound)s, with a confidence "
                "of %(sure)s %%. Mean %(mean)s, standard deviation %(deviation)s, "
                "k = %(factor)s, %(count)s values."
            )
            % {
                "share": f"{answers['share']:g}",
                "bound": f"{found.bound:.4g}",
                "sure": f"{answers['confidence']:g}",
                "mean": f"{found.mean:.4g}",
                "deviation": f"{found.deviation:.3g}",
                "factor": f"{found.factor:.4g}",
                "count": found.count,
            },
        ),
        warnings=tuple(warnings),
    )
