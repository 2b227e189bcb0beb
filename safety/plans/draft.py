"""The drafted plan: the hazard analysis joined with the process and the limits."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import TypeVar

from safety.controls import CONTROL_POINTS, STEPS
from safety.errors import UnknownName
from safety.facts import FACTS, Answer
from safety.foods import food
from safety.limits import Selected, select, with_food
from safety.plans.analysed import Decision, Hazard, HazardAnalysis, Measure, Question
from safety.plans.analysis import analyse, asked, governing, stands_in
from safety.plans.known import Outcome, Prompt
from safety.plans.load import Library, library
from safety.plans.planned import Description, DraftPlan, FlowStep, PlanPoint
from safety.plans.strictest import choose
from safety.processes import Control, Process
from safety.processes.load import processes

_PROCESS = "process"
_Item = TypeVar("_Item")

Place = tuple[str, str]
Concern = tuple[Hazard, Measure]


def draft(
    facts: Mapping[str, str],
    decisions: Iterable[Decision] = (),
    *,
    source: Library | None = None,
    known_processes: Mapping[str, Process] | None = None,
) -> DraftPlan:
    """Draft a plan from what is recorded of a product.

    Parameters
    ----------
    facts, decisions, source
        As for ``analyse``.
    known_processes : Mapping, optional
        Processes by slug, in place of the product's own.

    Returns
    -------
    DraftPlan
        With every control point that a hazard asks for or a governing limit judges.
        While the process is unknown it has none, and asks for it.

    Raises
    ------
    UnknownName
        If a fact, a value or a hazard does not exist.
    InputError
        If a decision has no reason, leaves the hazard open, or is given twice.
    """
    words = source or library()
    analysis = analyse(facts, decisions, source=words)
    described = processes() if known_processes is None else known_processes
    process = described.get(facts.get(_PROCESS, ""))
    points = _points(process, analysis, select(facts)) if process else ()
    return DraftPlan(
        title=_title(facts, process),
        facts=dict(facts),
        description=tuple(_describe(prompt, facts) for prompt in words.prompts),
        flow=_flow(process, points) if process else (),
        analysis=analysis,
        points=points,
        questions=_questions(facts, analysis, process),
        rules=words.rules,
        not_covered=(*(process.not_covered if process else ()), *words.not_covered),
    )


def _title(facts: Mapping[str, str], process: Process | None) -> str:
    parts = [_name(facts), process.title.lower() if process else ""]
    parts += [facts.get(name, "") for name in ("packaging", "storage")]
    return ", ".join(part for part in parts if part) or "A product not yet described"


def _name(facts: Mapping[str, str]) -> str:
    slug = facts.get("food", "")
    try:
        return food(slug).market_name if slug else ""
    except UnknownName:
        return slug


def _describe(prompt: Prompt, facts: Mapping[str, str]) -> Description:
    said = [
        f"{FACTS[name].title}: {_name(facts) if name == 'food' else known[name]}"
        for known in (with_food(facts),)
        for name in prompt.facts
        if name in known
    ]
    return Description(id=prompt.id, question=prompt.question, answer="; ".join(said))


# ------------------------------------------------------------------ control points


def _points(
    process: Process, analysis: HazardAnalysis, selected: tuple[Selected, ...]
) -> tuple[PlanPoint, ...]:
    controls = {
        (step.name, control.name): control for step, control in process.controls()
    }
    concerns = _concerns(analysis)
    places = _places(process, concerns, selected)
    found: list[PlanPoint] = []
    for place in places:
        limits = tuple(one for one in selected if stands_in(one, *place))
        rules = any(one.governs is not Answer.NO for one in limits)
        if place in concerns or rules:
            point = _point(
                place, process, controls.get(place), concerns.get(place, ()), limits
            )
            found.append(point)
    return _numbered(found)


def _concerns(analysis: HazardAnalysis) -> dict[Place, tuple[Concern, ...]]:
    """Return the hazards that ask for a control point, by where they ask for it.

    A hazard that only the owner calls insignificant still has its place: the plan
    shows that there is a disagreement.
    """
    found: dict[Place, tuple[Concern, ...]] = {}
    for hazard in analysis.hazards:
        if hazard.significant is Answer.NO and hazard.ours is Answer.NO:
            continue
        for measure in hazard.measures:
            if measure.outcome is Outcome.CRITICAL:
                place = (measure.step, measure.control_point)
                found[place] = (*found.get(place, ()), (hazard, measure))
    return found


def _places(
    process: Process,
    concerns: Mapping[Place, tuple[Concern, ...]],
    selected: tuple[Selected, ...],
) -> tuple[Place, ...]:
    """Return every control point of the process, of a hazard, of a governing limit."""
    places = [(step.name, control.name) for step, control in process.controls()]
    places += [place for place in concerns if place not in places]
    for one in selected:
        if one.governs is Answer.NO or any(stands_in(one, *place) for place in places):
            continue
        limit = one.published.limit
        name = limit.control_point or ""
        step = limit.step or (name if name in STEPS else STEPS[-1])
        places.append((step, name))
    return tuple(sorted(places, key=lambda place: STEPS.index(place[0])))


def _point(
    place: Place,
    process: Process,
    control: Control | None,
    concerns: tuple[Concern, ...],
    limits: tuple[Selected, ...],
) -> PlanPoint:
    step, name = place
    titles = {one.name: one.title for one in process.steps}
    measures = [measure for _, measure in concerns]
    return PlanPoint(
        step=step,
        step_title=titles.get(step, CONTROL_POINTS[step].title),
        control_point=name,
        title=CONTROL_POINTS[name].title,
        number=None,
        critical=_critical(measures),
        why=_why(concerns),
        hazards=tuple(dict.fromkeys(hazard.id for hazard, _ in concerns)),
        limits=choose(limits),
        must=_once(*(m.must for m in measures if m.must)),
        study=control.study if control else (),
        monitoring=_once(
            *(control.monitoring if control else ()),
            *(row for measure in measures for row in measure.monitoring),
        ),
        if_not_met=_once(
            *(control.if_not_met if control else ()),
            *(text for measure in measures for text in measure.if_not_met),
        ),
        put_right=_once(
            *(control.put_right if control else ()),
            *(text for measure in measures for text in measure.put_right),
        ),
    )


def _once(*items: _Item) -> tuple[_Item, ...]:
    return tuple(item for at, item in enumerate(items) if item not in items[:at])


def _critical(measures: list[Measure]) -> Answer:
    for answer in (Answer.YES, Answer.UNKNOWN):
        if any(measure.critical is answer for measure in measures):
            return answer
    return Answer.NO


def _why(concerns: tuple[Concern, ...]) -> str:
    if not concerns:
        return "No hazard of the analysis asks for it; a published limit governs it."
    told = []
    for hazard, measure in concerns:
        words = f"{hazard.title}: {measure.words}"
        if hazard.disagrees:
            said = (
                "significant" if hazard.significant is Answer.YES else "insignificant"
            )
            words += f" The owner calls it {said}: {hazard.owner_reason}"
        told.append(words)
    return " ".join(told)


def _numbered(points: list[PlanPoint]) -> tuple[PlanPoint, ...]:
    number = 0
    found = []
    for point in points:
        if point.critical is not Answer.NO:
            number += 1
            point = replace(point, number=number)
        found.append(point)
    return tuple(found)


def _flow(process: Process, points: tuple[PlanPoint, ...]) -> tuple[FlowStep, ...]:
    names = {step.name: step.title for step in process.steps}
    names |= {p.step: p.step_title for p in points if p.step not in names}
    return tuple(
        FlowStep(
            step=step,
            title=names[step],
            points=tuple(
                p.control_point
                for p in points
                if p.step == step and p.critical is not Answer.NO
            ),
        )
        for step in STEPS
        if step in names
    )


def _questions(
    facts: Mapping[str, str], analysis: HazardAnalysis, process: Process | None
) -> tuple[Question, ...]:
    """Return the questions of the analysis and those of the limits, each fact once."""
    limits: dict[str, list[str]] = {}
    for one in governing(facts):
        for name in asked(one.missing, facts):
            limits.setdefault(name, []).append(one.published.limit.id)
    if process is None:
        limits.setdefault(_PROCESS, [])
    by_fact = {one.fact: one for one in analysis.questions if one.fact}
    return (
        *(
            Question(
                fact=name,
                words=FACTS[name].question,
                values=FACTS[name].values,
                hazards=by_fact[name].hazards if name in by_fact else (),
                limits=tuple(dict.fromkeys(limits.get(name, ()))),
            )
            for name in FACTS
            if name in by_fact or name in limits
        ),
        *(one for one in analysis.questions if one.fact is None),
    )
