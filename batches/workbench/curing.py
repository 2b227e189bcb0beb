"""Cure and brine at rest: grams of salt, salt in the water once it is even, nitrite."""

from django.utils.translation import gettext as _

from batches.workbench.outcome import Answers, Outcome
from safety.errors import OutOfRange
from safety.limits import get
from safety.science.curing import shared_water_phase_salt_pct
from safety.science.estimate import Estimate
from safety.science.salt import water_phase_salt_pct
from safety.science.salting import Salting
from safety.science.sourced import citation, load
from safety.science.uptake import batch_estimate

_WHOLE, _MILLION, _G_PER_KG = 100.0, 1e6, 1000.0
_NITRITE_MOST = "us-cfr.21-172.nitrite-most"
_HANDBOOK = (
    "USDA Food Safety and Inspection Service, Processing Inspectors' Calculations "
    "Handbook, curing, 1995 (read in 5 places)"
)
_MIN_PER_H = 60.0


def cure(answers: Answers) -> Outcome:
    """Work out salt and nitrite at rest, for fish salted dry or in brine."""
    fish_kg, moisture = answers["fish"], answers["moisture"]
    is_dry = answers["how"] == "dry"
    if is_dry:
        estimates, together_kg = _dry(answers, fish_kg, moisture), fish_kg
    else:
        estimates, together_kg = _in_brine(answers, fish_kg, moisture)
    warnings = [
        _(
            "This is what all the time in the world would give. Fish that was too short in "
            "the salt, or drips, has less: a laboratory says how much."
        )
    ]
    if answers["cure"]:
        estimates.append(_nitrite(answers, together_kg))
        most = get(_NITRITE_MOST).words
        warnings.append(
            _("Nitrite: %(words)s Ask your inspector whether it may be in this fish.")
            % {"words": most}
        )
    return Outcome(estimates=tuple(estimates), warnings=tuple(warnings))


def salt_uptake(answers: Answers) -> Outcome:
    """Work out how much salt a fillet may have taken up after a time."""
    salting = Salting(
        thickness_mm=(answers["thickness"], answers["thickness"]),
        minutes=answers["hours"] * _MIN_PER_H,
        faces=1 if answers["faces"] == "one" else 2,
        moisture_pct=answers["moisture"],
        brine_pct=answers["strength"],
        brine_per_fish=answers["ratio"],
        brine_c=answers["temperature"],
    )
    estimate = batch_estimate(salting)
    rest = salting.even_pct
    return Outcome(
        estimates=(estimate, _rest(rest)),
        warnings=(
            _(
                "If the high end is below what you need, it cannot be met: do not smoke "
                "it. If the low end is above, test all the same."
            ),
        ),
    )


def _dry(answers: Answers, fish_kg: float, moisture: float) -> list[Estimate]:
    salt = _wanted(answers, "salt", _("the salt on the weight of the fish"))
    grams = fish_kg * _G_PER_KG * salt / _WHOLE
    return [
        _exact(_("salt to weigh out"), "g", grams),
        _rest(float(water_phase_salt_pct(salt, moisture))),
    ]


def _in_brine(
    answers: Answers, fish_kg: float, moisture: float
) -> tuple[list[Estimate], float]:
    strength = _wanted(answers, "strength", _("the strength of the brine"))
    brine_kg = _wanted(answers, "brine", _("the weight of the brine"))
    salt_g = brine_kg * _G_PER_KG * strength / _WHOLE
    rest = float(shared_water_phase_salt_pct(strength, brine_kg / fish_kg, moisture))
    water_g = brine_kg * _G_PER_KG - salt_g
    return [
        _exact(_("salt to weigh out for the brine"), "g", salt_g),
        _exact(_("water to weigh out for the brine"), "g", water_g),
        _rest(rest),
    ], fish_kg + brine_kg


def _wanted(answers: Answers, name: str, words: str) -> float:
    if answers[name] is None:
        raise OutOfRange(words, _("nothing"), _("typed in"))
    return float(answers[name])


def _exact(what: str, unit: str, value: float) -> Estimate:
    return Estimate(
        quantity=what,
        unit=unit,
        low=value,
        likely=value,
        high=value,
        sources=(_("Balance of masses: what goes in is weighed"),),
    )


def _rest(pct: float) -> Estimate:
    """Return the salt at rest as the upper bound that it is."""
    return Estimate(
        quantity=_("salt in the water of the fish at rest: at the most"),
        unit="percent",
        low=pct,
        likely=pct,
        high=pct,
        sources=(citation(load("curing")["balance"]),),
        caveats=(_("An upper bound, without drying: all salt in, all water shared."),),
    )


def _nitrite(answers: Answers, together_kg: float) -> Estimate:
    """Return nitrite by the weight of the fish, or of fish and brine at rest."""
    share = _wanted(answers, "nitrite", _("the nitrite in the cure")) / _WHOLE
    ppm = answers["cure"] * share / (together_kg * _G_PER_KG) * _MILLION
    return Estimate(
        quantity=_("nitrite that goes in"),
        unit="ppm",
        low=ppm,
        likely=ppm,
        high=ppm,
        sources=(_HANDBOOK,),
        caveats=(
            _(
                "Reckoned on the green weight, never on the finished one; in brine as if "
                "fish and brine came to rest together."
            ),
        ),
    )
