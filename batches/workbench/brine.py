"""Strength of a brine: by what was weighed, or by what a salometer shows in it."""

from decimal import Decimal

from django.utils.translation import gettext as _

from batches.workbench.outcome import Answers, Outcome, Rows
from safety.errors import OutOfRange
from safety.limits import figure
from safety.science.estimate import Estimate
from safety.science.salometer import (
    degrees_salometer_corrected,
    degrees_salometer_from_salt_pct,
    salt_pct_from_degrees_salometer,
)
from safety.units import f_from_c

READ, PERCENT, TO_WATER = "degrees_shown", "salt_pct", "salt_g_per_kg_water"
_WHOLE, _G_PER_KG, _FULL_SCALE = 100.0, 1000.0, 100.0
_SATURATED = "us-or.brine-note.saturated"
_REFERENCE = "us-or.brine-note.reference"
_CORRECTION = "us-or.brine-note.correction"


def brine(answers: Answers) -> Outcome:
    """Work out the strength of a brine, and what to add to reach another."""
    estimate = _strength(answers)
    return Outcome(
        estimates=(estimate, *_to_add(answers, estimate)),
        tables=(_measures(estimate.likely),),
        sources=_sources(),
    )


def _strength(answers: Answers) -> Estimate:
    value, has_sugar = answers["value"], answers["sugar"] == "yes"
    if answers["measure"] == READ:
        return _as_read(answers, has_sugar)
    salt = value
    if answers["measure"] == TO_WATER:
        salt = _WHOLE * value / (value + _G_PER_KG)
    _degrees(salt)  # refuses more than dissolves
    return Estimate(
        quantity=_("salt in the brine, by weight"),
        unit="percent",
        low=salt,
        likely=salt,
        high=salt,
        sources=_sources(),
        caveats=(_("By definition: exact where what went in was weighed."),),
    )


def _as_read(answers: Answers, has_sugar: bool) -> Estimate:
    """Return the salt by a reading; with sugar in it nothing is known downwards."""
    shown, error = answers["value"], answers["error"]
    if shown > _FULL_SCALE:
        raise OutOfRange(_("degrees salometer"), f"{shown:g}", _("from 0 to 100"))
    low, likely, high = (
        _pct(_corrected(one, answers["temperature"]))
        for one in (max(0.0, shown - error), shown, min(_FULL_SCALE, shown + error))
    )
    caveats = [
        _(
            "The correction for temperature is a rule of thumb: right for 40 to 60 "
            "degrees, about a degree off in weak cold brine."
        )
    ]
    if has_sugar:
        caveats.append(
            _(
                "Sugar and other solids make a salometer read high: reckon the strength "
                "from what was weighed in. By this reading there may be no salt at all."
            )
        )
    return Estimate(
        quantity=_("salt in the brine, by weight"),
        unit="percent",
        low=0.0 if has_sugar else low,
        likely=likely,
        high=high,
        sources=_sources(),
        caveats=tuple(caveats),
        is_thin=has_sugar,
    )


def _corrected(shown: float, brine_c: float) -> float:
    """Return degrees as if at the temperature of the scale, kept on the scale."""
    scale, rule = figure(_REFERENCE), figure(_CORRECTION)
    brine_f = float(f_from_c(Decimal(str(brine_c))))
    try:
        return float(
            degrees_salometer_corrected(
                shown,
                brine_f,
                scale_degf=float(scale.value),
                degrees_per_degf=float(rule.value),
            )
        )
    except OutOfRange as error:
        if "corrected" not in error.quantity:
            raise
        return 0.0 if brine_f < float(scale.value) else _FULL_SCALE


def _to_add(answers: Answers, now: Estimate) -> tuple[Estimate, ...]:
    """Return the salt or the water that takes the brine to the strength aimed at."""
    aim, weight = answers["aim"], answers["weight"]
    if aim is None or weight is None:
        return ()
    is_weak = aim > now.likely
    strengths = (now.low, now.likely, now.high)
    if is_weak:
        added = [weight * max(0.0, aim - one) / (_WHOLE - aim) for one in strengths]
    else:
        added = [weight * max(0.0, one - aim) / aim for one in strengths]
    low, likely, high = sorted(added)
    return (
        Estimate(
            quantity=_("salt to add") if is_weak else _("water to add"),
            unit="kg",
            low=low,
            likely=likely,
            high=high,
            sources=_sources(),
            caveats=(_("Add less, stir, read again."),),
        ),
    )


def _measures(salt_pct: float) -> Rows:
    to_water = _G_PER_KG * salt_pct / (_WHOLE - salt_pct)
    return Rows(
        title=_("The likely strength in other measures"),
        head=(_("Measure"), _("Value")),
        rows=(
            (_("salt by weight"), f"{salt_pct:.2f} %"),
            (_("degrees salometer at 60 °F, salt only"), f"{_degrees(salt_pct):.1f}"),
            (_("salt to a kilogram of water"), f"{to_water:.1f} g"),
        ),
    )


def _pct(degrees: float) -> float:
    saturated = float(figure(_SATURATED).value)
    return float(salt_pct_from_degrees_salometer(degrees, saturated_pct=saturated))


def _degrees(salt_pct: float) -> float:
    saturated = float(figure(_SATURATED).value)
    return float(degrees_salometer_from_salt_pct(salt_pct, saturated_pct=saturated))


def _sources() -> tuple[str, ...]:
    told = [figure(one).source for one in (_SATURATED, _CORRECTION)]
    return tuple(
        f"{one.publisher}, {one.title}, {one.section}, {one.edition}" for one in told
    )
