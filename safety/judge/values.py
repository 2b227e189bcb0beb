"""``at_least`` and ``at_most``: every reading on the right side of a value."""

import numpy as np

from safety.judge.finding import Finding, Status
from safety.judge.gather import Span
from safety.judge.placing import THIN, Scene, Verdict, per_place
from safety.judge.sentences import amount, amount_beside, side, title
from safety.judge.series import Bound, Rows, Series
from safety.limits.model import ValueLimit


def judge(limit: ValueLimit, scene: Scene) -> list[Finding]:
    """Judge a limit on a value, place by place.

    Parameters
    ----------
    limit : ValueLimit
        Of kind ``at_least`` or ``at_most``.
    scene : Scene
        With the step whose readings count.

    Returns
    -------
    list of Finding
        Met where every reading certainly complies, missed where any certainly does
        not. Readings of one instant are taken one by one. Exact.
    """
    bound = Bound(limit.value, limit.unit, limit.also, limit.strict)
    sign = 1 if limit.kind == "at_least" else -1

    def judge_one(series: Series, window: Span) -> Verdict:
        return _judge_one(limit, bound, sign, series, scene)

    return per_place(limit, scene, judge_one)


def _may_be_off(rows: Rows) -> bool:
    """Whether an instrument read the values; a laboratory's are points."""
    return any(kind.trust.tolerance for kind in rows.kinds)


def _judge_one(
    limit: ValueLimit, bound: Bound, sign: int, series: Series, scene: Scene
) -> Verdict:
    rows = series.rows
    certain = rows.compare(bound, sign, certain=True)
    possible = rows.compare(bound, sign, certain=False)
    lowest, highest = rows.ends(limit.unit)
    observed = {"lowest": lowest, "highest": highest}
    asked = f"{side(limit.kind, strict=limit.strict)} {amount(limit.value, limit.unit)}"
    ends = [amount_beside(end, limit.value, limit.unit) for end in (lowest, highest)]
    if bool(certain.all()):
        spare = rows.compare(bound, sign, certain=True, spare=True)
        return Verdict(
            status=Status.MET,
            observed=observed,
            cautions=() if bool(spare.all()) else (THIN,),
            why=(
                f"{title(limit)} was {' to '.join(dict.fromkeys(ends))}; "
                f"the limit is {asked}."
            ),
        )
    if not bool(possible.all()):
        worst = int(np.flatnonzero(~possible)[0])
        value = rows.shown(worst, limit.unit)
        shown = amount_beside(value, limit.value, limit.unit)
        when = scene.clock.say(int(rows.at_us[worst]))
        return Verdict(
            status=Status.MISSED,
            observed=observed,
            why=(
                f"{title(limit)} was {shown} at {when}, outside the limit of {asked}"
                + (
                    ", whatever the instrument may be off."
                    if _may_be_off(rows)
                    else "."
                )
            ),
            would_settle="Nothing more can be measured; decide what to do with the lot.",
        )
    return Verdict(
        status=Status.NOT_SHOWN,
        observed=observed,
        why=(
            f"{title(limit)} lies between {' and '.join(ends)}, allowing for the instrument; "
            f"the limit of {asked} lies inside that."
        ),
        would_settle=(
            "A reading farther from the limit, or an accepted check of the instrument "
            "before and after it."
        ),
    )
