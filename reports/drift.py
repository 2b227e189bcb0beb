"""How far an instrument was off from check to check, as a curve with what is allowed."""

from typing import Any

import numpy as np

from reports import wording
from reports.sheets import Bound, CurveSheet, Line
from safety.judge.evidence import us_of
from safety.units import symbol

BESIDE = 4  # a share of the tolerance, one by this, is left free beyond it
DAY_US = 24 * 60 * 60 * 10**6


def drift_sheet(code: str, drift: Any, *, zone: str) -> CurveSheet:
    """Return the drift (`batches.drifting.Drift`) of one instrument as a curve.

    One line to a way of checking; outside the tolerance the ground is hatched. Where a
    check leaves a range for the error, both of its ends are dots, one above the other.
    """
    by_method: dict[str, list[Any]] = {}
    for point in drift.points:
        by_method.setdefault(point.check.method, []).append(point)
    most = float(drift.tolerance)
    allowed = f"{most:.3g}"
    instants = [us_of(point.at) for point in drift.points] or [0]
    return CurveSheet(
        slug=f"drift-{code.lower()}",
        step="",
        title=f"How far {code} was off",
        description=_described(code, drift, allowed),
        caption="What was shown less the truth, at each check.",
        unit=symbol(drift.unit),
        zone=zone,
        lines=tuple(
            _line(method, points) for method, points in sorted(by_method.items())
        ),
        start_us=min(instants) - DAY_US,
        end_us=max(instants) + DAY_US,
        bounds=(
            Bound(value=most, words=f"allowed +{allowed}", is_floor=False),
            Bound(value=-most, words=f"allowed −{allowed}", is_floor=True),
        ),
        levels=(0.0,),
        least_room=most / BESIDE,
    )


def _line(method: str, points: list[Any]) -> Line:
    """Return the checks of one kind: each end of what the error may be, in time."""
    ends = [
        (us_of(point.at), float(error))
        for point in points
        for error in sorted({point.low, point.high})
    ]
    return Line(
        label=wording.plain(method).split()[0],
        at_us=np.array([at_us for at_us, _ in ends], dtype=np.int64),
        values=np.array([error for _, error in ends], dtype=np.float64),
    )


def _described(code: str, drift: Any, allowed: str) -> str:
    out = [point for point in drift.points if point.acceptance.value != "accepted"]
    count = len(drift.points)
    return (
        f"{count} check{'' if count == 1 else 's'} of {code}; allowed is {allowed} "
        f"{symbol(drift.unit)} either way; {len(out)} not accepted."
    )
