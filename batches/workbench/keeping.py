"""Listeria and shelf life."""

from django.utils.translation import gettext as _

from batches.workbench.outcome import Answers, Outcome, Rows, shown
from safety.science.listeria import days_until, rates
from safety.science.shelf_life import listeria_days, listeria_growth


def listeria(answers: Answers) -> Outcome:
    """Work out the days in which Listeria may grow, and how much in the days asked."""
    food_c, growth = answers["temperature"], answers["growth"]
    known = rates()
    fastest = float(days_until(growth, food_c, at_reference=known.highest))
    estimates = [listeria_days(growth, food_c)]
    if answers["days"] is not None:
        estimates.append(listeria_growth(answers["days"], food_c))
    return Outcome(
        estimates=tuple(estimates),
        says=(
            _("In the fastest of the %(rows)s published studies: %(days)s days.")
            % {"rows": known.rows, "days": shown(fastest)},
        ),
        tables=(_storage(growth),),
        warnings=(
            _("A model alone is no proof of shelf life: it stands beside a study."),
        ),
    )


def _storage(growth: float) -> Rows:
    """Return the days at the usual temperatures of storage."""
    known = rates()
    rows = []
    for celsius in STORED:
        fast, mean = (
            float(days_until(growth, celsius, at_reference=rate))
            for rate in (known.high, known.mean)
        )
        rows.append((f"{celsius} °C", shown(fast), shown(mean)))
    return Rows(
        title=_("Days at other temperatures"),
        head=(_("Storage"), _("One in twenty is faster"), _("Mean rate")),
        rows=tuple(rows),
    )


STORED = (2, 3, 4, 5, 6, 8, 10, 12)  # own figures: rows to compare
