"""Salt in the water of a food now, after drying, and what a target asks for."""

from django.utils.translation import gettext as _

from batches.workbench.outcome import Answers, Outcome, Rows, shown
from safety.errors import OutOfRange
from safety.science.estimate import Estimate
from safety.science.salt import salt_pct_for_water_phase_salt, water_phase_salt_pct

_WHOLE_PCT = 100.0
_EVERY = 5  # own figure: percent of loss between two rows of the table
_RULE = (
    "FDA, Fish and Fishery Products Hazards and Controls Guidance, 4th edition, "
    "Chapter 13; drying by a balance of masses"
)


def water_phase_salt(answers: Answers) -> Outcome:
    """Work out water phase salt now and after drying, and the salt that a target needs."""
    salt, moisture = answers["salt"], answers["moisture"]
    loss, error = answers["loss"], answers["loss_error"]
    now = float(water_phase_salt_pct(salt, moisture))
    ends = (max(0.0, loss - error), loss, loss + error)
    low, likely, high = (_dried(salt, moisture, one) for one in ends)
    estimates = [
        _estimate(_("water phase salt now"), now, now, now),
        _estimate(_("water phase salt after the loss of weight"), low, likely, high),
    ]
    if answers["target"] is not None:
        needed = _needed(answers["target"], moisture, ends)
        estimates.append(
            _estimate(
                _("salt that must be in the food now to reach what is aimed at"),
                *needed,
            )
        )
    return Outcome(
        estimates=tuple(estimates),
        tables=(_by_loss(salt, moisture),),
        warnings=(
            _(
                "Drip and fat leave too, and drip carries salt away: the finished food "
                "has a little less salt in its water than this."
            ),
        ),
        sources=(_RULE,),
    )


def _estimate(what: str, low: float, likely: float, high: float) -> Estimate:
    return Estimate(
        quantity=what,
        unit="percent",
        low=low,
        likely=likely,
        high=high,
        sources=(_RULE,),
        caveats=(_("All that is lost is taken for water."),),
    )


def _dried(salt: float, moisture: float, loss: float) -> float:
    """Return water phase salt after a loss of weight that is all water."""
    left = moisture - loss
    if left <= 0:
        raise OutOfRange(
            _("the loss of weight"),
            f"{loss:g} %",
            _("below the %(moisture)s %% of water that are in the food")
            % {"moisture": f"{moisture:g}"},
        )
    return _WHOLE_PCT * salt / (salt + left)


def _needed(
    target: float, moisture: float, losses: tuple[float, float, float]
) -> tuple[float, float, float]:
    """Return the salt now, % of the food, that a water phase salt at the end asks for."""
    least, likely, most = losses
    low, middle, high = (
        float(salt_pct_for_water_phase_salt(target, moisture - one))
        for one in (most, likely, least)
    )
    return low, middle, high


def _by_loss(salt: float, moisture: float) -> Rows:
    rows = []
    loss = 0
    while loss < min(moisture, _WHOLE_PCT / 2):
        rows.append((f"{loss} %", f"{shown(_dried(salt, moisture, loss))} %"))
        loss += _EVERY
    return Rows(
        title=_("By loss of weight"),
        head=(_("Loss of weight"), _("Water phase salt")),
        rows=tuple(rows),
    )
