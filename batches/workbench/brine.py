"""Brine of plain salt: its strength in every measure, and how to change it."""

from django.utils.translation import gettext as _

from batches.workbench.outcome import Answers, Outcome, Rows
from safety.errors import OutOfRange
from safety.science.brine import (
    Brine,
    brine_of,
    brine_of_pct,
    freezing_c,
    salt_to_strengthen_kg,
    sources,
    water_to_weaken_kg,
)
from safety.science.estimate import Estimate
from safety.science.hydrometer import degrees_shown, strength_from_reading

READ = "degrees_shown"


def brine(answers: Answers) -> Outcome:
    """Work out a brine in every measure, and what to add to it."""
    has_sugar = answers["sugar"] == "yes"
    warnings = []
    if answers["measure"] == READ:
        estimate = strength_from_reading(
            answers["value"],
            answers["temperature"],
            reading_error=answers["error"],
            has_sugar=has_sugar,
        )
    else:
        estimate = _exact(brine_of(answers["measure"], answers["value"]).salt_pct)
        if has_sugar:
            warnings.append(
                _(
                    "A salometer would read too high in it: what it shows below holds "
                    "for salt and water only."
                )
            )
    known = brine_of_pct(estimate.likely)
    return Outcome(
        estimates=(estimate, *_to_add(answers, estimate)),
        tables=(_measures(known, answers["temperature"]),),
        warnings=tuple(warnings),
        sources=sources(),
    )


def _exact(salt_pct: float) -> Estimate:
    return Estimate(
        quantity=_("salt in the brine"),
        unit="percent",
        low=salt_pct,
        likely=salt_pct,
        high=salt_pct,
        sources=sources(),
        caveats=(_("By definition: exact where what went in was weighed."),),
    )


def _to_add(answers: Answers, now: Estimate) -> tuple[Estimate, ...]:
    """Return the salt or the water that takes the brine to the strength aimed at."""
    aim, weight = answers["aim"], answers["weight"]
    if aim is None or weight is None:
        return ()
    is_weak = aim > now.likely
    strengths = (now.low, now.likely, now.high)
    if is_weak:
        added = [
            salt_to_strengthen_kg(weight, min(one, aim), aim) for one in strengths
        ]
    else:
        added = [water_to_weaken_kg(weight, max(one, aim), aim) for one in strengths]
    low, likely, high = sorted(added)
    return (
        Estimate(
            quantity=_("salt to add") if is_weak else _("water to add"),
            unit="kg",
            low=low,
            likely=likely,
            high=high,
            sources=sources(),
            caveats=(_("Add less, stir, read again."),),
        ),
    )


def _measures(known: Brine, brine_c: float) -> Rows:
    """Return the likely strength in every measure."""
    rows = [
        (_("salt by weight"), f"{known.salt_pct:.2f} %"),
        (_("degrees salometer"), f"{known.degrees:.1f}"),
        (
            _("a salometer for 60 °F shows in this brine"),
            f"{degrees_shown(known.degrees, brine_c):.1f}",
        ),
        (_("salt to a kilogram of water"), f"{known.salt_g_per_kg_water:.1f} g"),
        (_("salt to a litre of water"), f"{known.salt_g_per_l_water:.1f} g"),
        (
            _("salt to a US gallon of water"),
            f"{known.salt_lb_per_us_gal_water:.3f} lb",
        ),
        (
            _("salt to an imperial gallon of water"),
            f"{known.salt_lb_per_imp_gal_water:.3f} lb",
        ),
        (_("a litre of brine weighs"), f"{known.brine_g_per_l:.0f} g"),
    ]
    try:
        cold = freezing_c(known.salt_pct)
    except OutOfRange:
        pass  # so strong that salt comes out before ice does
    else:
        rows.append((_("it begins to freeze at"), f"{cold:.1f} °C"))
    return Rows(
        title=_("The likely strength in every measure"),
        head=(_("Measure"), _("Value")),
        rows=tuple(rows),
    )
