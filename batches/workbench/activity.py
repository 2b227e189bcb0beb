"""Water activity that salt in the water of a food hints at."""

from django.utils.translation import gettext as _

from batches.workbench.outcome import Answers, Outcome, Rows
from safety.limits import figure
from safety.science.estimate import Estimate
from safety.science.salt import water_activity_from_water_phase_salt_pct

_LINEAR = "paper.ross-dalgaard-2004.linear"
_SQUARE = "paper.ross-dalgaard-2004.square"
_HIGHEST = "paper.ross-dalgaard-2004.highest"
_FOOD_LOWER = (
    0.013  # own figure: how far below pure brine measured fish lay, at the most
)
_ROWS = (2, 3, 4, 5, 6, 8, 10)  # own figures: rows to compare


def water_activity(answers: Answers) -> Outcome:
    """Work out the water activity of plain brine of this strength, and of fish below it."""
    salt = answers["water_phase_salt"]
    likely = _of(salt)
    told = figure(_LINEAR).source
    source = f"{told.publisher}, {told.title}, {told.section}, {told.edition}"
    return Outcome(
        estimates=(
            Estimate(
                quantity=_("water activity, by the salt alone"),
                unit="1",
                low=likely - _FOOD_LOWER,
                likely=likely,
                high=likely,
                sources=(source,),
                caveats=(
                    _(
                        "An upper bound: sugar, lactate and what else is dissolved in the "
                        "food lower it further."
                    ),
                    _(
                        "The coefficients are from memory and were compared with tables."
                    ),
                ),
            ),
        ),
        tables=(
            Rows(
                title=_("By the salt in the water"),
                head=(_("Water phase salt"), _("Water activity, at the most")),
                rows=tuple((f"{one} %", f"{_of(one):.3f}") for one in _ROWS),
            ),
        ),
        warnings=(
            _(
                "A low water activity does not prove that there is enough salt; and sugar "
                "is no substitute for salt."
            ),
        ),
    )


def _of(water_phase_salt: float) -> float:
    return float(
        water_activity_from_water_phase_salt_pct(
            water_phase_salt,
            linear=float(figure(_LINEAR).value),
            square=float(figure(_SQUARE).value),
            highest_pct=float(figure(_HIGHEST).value),
        )
    )
