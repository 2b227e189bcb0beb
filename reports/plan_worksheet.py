"""The hazard analysis worksheet: each step of the flow with the hazards at it."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from reports.plan_sheets import HazardRow, TreeRow
from safety.controls import CONTROL_POINTS

Plain = Mapping[str, Any]
Cite = Callable[[Plain], str]
NOTHING = "—"
NONE_HERE = "No hazard is controlled in this step."


def worksheet(plan: Plain, cite: Cite) -> tuple[HazardRow, ...]:
    """Return the rows in the order of the flow; no step and no hazard is left out.

    A hazard stands at each step that controls it, one that needs no control at the first
    step where it could be; those of no step come last.
    """
    titles = {box["step"]: box["title"] for box in plan["flow"]}
    placed: dict[str, list[HazardRow]] = {step: [] for step in titles}
    for hazard in plan["analysis"]["hazards"]:
        for step, row in _rows(hazard, titles, cite):
            placed.setdefault(step, []).append(row)
    last = placed.pop("", [])
    rows = [
        row for step, found in placed.items() for row in found or [_empty(titles[step])]
    ]
    return (*rows, *last)


def _rows(
    hazard: Plain, titles: Mapping[str, str], cite: Cite
) -> Iterator[tuple[str, HazardRow]]:
    """Yield the rows of one hazard, each with the step at which it stands."""
    measures = hazard["measures"]
    steps = _steps(measures, list(titles))
    if hazard["significant"] == "no" or not steps:
        first = steps[0] if steps else ""
        yield first, _row(hazard, measures, _title(first, titles), _why(hazard), cite)
        return
    for count, step in enumerate(steps):
        here = [measure for measure in measures if measure["step"] == step]
        why = f"As at “{_title(steps[0], titles)}”." if count else _why(hazard)
        yield step, _row(hazard, here, _title(step, titles), why, cite)


def _steps(measures: Sequence[Plain], order: list[str]) -> list[str]:
    """Return the steps of the measures in the order of the flow, others after them."""
    named = dict.fromkeys(measure["step"] for measure in measures)
    return sorted(named, key=lambda s: order.index(s) if s in order else len(order))


def _title(step: str, titles: Mapping[str, str]) -> str:
    if not step:
        return NOTHING
    return titles.get(step) or CONTROL_POINTS[step].title


def _row(
    hazard: Plain, measures: Sequence[Plain], title: str, why: str, cite: Cite
) -> HazardRow:
    critical = {measure["critical"] for measure in measures}
    controlled = hazard["potential"] != "no" or hazard["significant"] != "no"
    words = " ".join(m["measure"] for m in measures) if controlled else ""
    if hazard["uncontrolled"]:
        words = "No step of the process controls it."
    return HazardRow(
        step=title,
        hazard=hazard["title"],
        kind=hazard["kind"],
        potential=hazard["potential"],
        significant=hazard["significant"],
        justification=why,
        owner=_owner(hazard),
        measure=words or NOTHING,
        is_critical="yes"
        if "yes" in critical
        else ", ".join(sorted(critical)) or NOTHING,
        trees=tuple(
            TreeRow(
                step=title,
                answers=tuple(
                    f"{a['question'].upper()} {a['answer']}" for a in measure["tree"]
                ),
            )
            for measure in measures
            if measure["tree"]
        ),
        source=f"{cite(hazard['source'])} ({hazard['basis']})",
    )


def _why(hazard: Plain) -> str:
    first, why = hazard["why_potential"], hazard["why"]
    return why if first in why else f"{first} {why}"


def _owner(hazard: Plain) -> str:
    if hazard["decided_by"] != "owner":
        return ""
    return (
        f"Owner: {hazard['owner_reason']} (the guidance alone: {hazard['by_guidance']})"
    )


def _empty(title: str) -> HazardRow:
    return HazardRow(
        step=title,
        hazard=NONE_HERE,
        kind="",
        potential=NOTHING,
        significant=NOTHING,
        justification=NOTHING,
        owner="",
        measure=NOTHING,
        is_critical=NOTHING,
        trees=(),
        source="",
    )
