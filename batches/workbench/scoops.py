"""Scoops into grams: what a recipe by volume weighs, and how far apart two scoops are."""

from collections.abc import Mapping
from statistics import median
from typing import Any, NamedTuple

from django.utils.translation import gettext as _

from batches.workbench.outcome import Answers, Outcome, Rows, shown
from safety.science.estimate import Estimate
from safety.science.sourced import citation, load

ANY = "any"
_WHOLE_PCT = 100.0


class Span(NamedTuple):
    """The least, the likely and the most of one thing, in grams."""

    low: float
    likely: float
    high: float


def scoops(answers: Answers) -> Outcome:
    """Work out grams of salt and sugar, the share of salt, and the strength in water."""
    cups = _cups(answers["measure"])
    known = load("household")["bulk"]
    salt = _weighed(known["salts"], answers["salt"], answers["salt_scoops"] * cups)
    sugar = _weighed(known["sugars"], answers["sugar"], answers["sugar_scoops"] * cups)
    any_salt, any_sugar = answers["salt"] == ANY, answers["sugar"] == ANY
    is_thin = any_salt or (any_sugar and bool(sugar.high))
    estimates = [_grams(_("salt"), salt, any_salt)]
    if sugar.high:
        estimates.append(_grams(_("sugar"), sugar, any_sugar))
        estimates.append(_share(salt, sugar, is_thin))
    if answers["water_cups"]:
        water_g = answers["water_cups"] * load("household")["water"]["g_per_cup"]
        estimates.append(_strength(salt, sugar, water_g, is_thin))
    return Outcome(
        estimates=tuple(estimates),
        says=(_apart(salt),),
        tables=(_every_salt(answers["salt_scoops"] * cups, sugar),),
        warnings=(
            _(
                "Put the bowl on a scale once, write the grams into the recipe, and weigh "
                "from then on."
            ),
        ),
        sources=_sources(),
    )


def _cups(measure: str) -> float:
    """Return a scoop as a share of a cup."""
    told = load("household")["measures"]
    sizes = {
        "cup": 1,
        "tablespoon": told["tablespoons_in_a_cup"],
        "teaspoon": told["teaspoons_in_a_cup"],
    }
    return 1 / float(sizes[measure])


def _weighed(kinds: Mapping[str, Any], kind: str, cups: float) -> Span:
    """Return what cups of a kind weigh; of an unknown kind, what any of them may."""
    among = list(kinds.values()) if kind == ANY else [kinds[kind]]
    return Span(
        cups * min(one["low_g"] for one in among),
        cups * median(one["likely_g"] for one in among),
        cups * max(one["high_g"] for one in among),
    )


def _grams(what: str, span: Span, is_thin: bool) -> Estimate:
    return Estimate(
        quantity=what,
        unit="g",
        low=span.low,
        likely=span.likely,
        high=span.high,
        sources=_sources(),
        caveats=(_("Level measures; a heaped one holds more."),),
        is_thin=is_thin,
    )


def _share(salt: Span, sugar: Span, is_thin: bool) -> Estimate:
    """Return the share of salt in the mix: the least salt with the most sugar, and so on."""
    return Estimate(
        quantity=_("share of salt in the mix, by weight"),
        unit="percent",
        low=_pct(salt.low, sugar.high),
        likely=_pct(salt.likely, sugar.likely),
        high=_pct(salt.high, sugar.low),
        sources=_sources(),
        is_thin=is_thin,
    )


def _strength(salt: Span, sugar: Span, water_g: float, is_thin: bool) -> Estimate:
    """Return the salt in a brine of the mix and water, by weight."""
    return Estimate(
        quantity=_("salt in the brine, by weight"),
        unit="percent",
        low=_pct(salt.low, sugar.high + water_g),
        likely=_pct(salt.likely, sugar.likely + water_g),
        high=_pct(salt.high, sugar.low + water_g),
        sources=_sources(),
        caveats=(
            _("As far as it dissolves: no brine holds more than about a quarter."),
        ),
        is_thin=is_thin,
    )


def _pct(part: float, rest: float) -> float:
    return _WHOLE_PCT * part / (part + rest)


def _apart(salt: Span) -> str:
    return _(
        "The heaviest scoops of that salt hold %(times)s times as much as the lightest."
    ) % {"times": shown(salt.high / salt.low)}


def _every_salt(cups: float, sugar: Span) -> Rows:
    """Return the same scoops of every kind of salt, side by side."""
    rows = []
    for one in load("household")["bulk"]["salts"].values():
        share = _pct(cups * one["likely_g"], sugar.likely)
        grams = f"{cups * one['low_g']:.0f} – {cups * one['high_g']:.0f}"
        rows.append((one["words"], grams, f"{share:.1f}" if sugar.likely else "–"))
    return Rows(
        title=_("The same scoops of other salts"),
        head=(_("Salt"), _("Grams"), _("Likely share of salt, %")),
        rows=tuple(rows),
    )


def _sources() -> tuple[str, ...]:
    told = load("household")
    return tuple(citation(told[name]) for name in ("bulk", "measures"))
