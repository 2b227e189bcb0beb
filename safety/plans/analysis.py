"""The hazard analysis: every hazard we know, against the facts of one product."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from safety.controls import STEPS
from safety.errors import InputError, UnknownName
from safety.facts import FACTS, Answer, fact, holds
from safety.foods import FOOD_FACTS, food
from safety.limits import Selected, select, with_food
from safety.limits.model import (
    Combination,
    CoolLimit,
    ExposureLimit,
    Limit,
    ValueLimit,
)
from safety.plans.analysed import (
    DecidedBy,
    Decision,
    Hazard,
    HazardAnalysis,
    Measure,
    Question,
)
from safety.plans.known import ControlRule, KnownHazard, Outcome
from safety.plans.load import Library, library
from safety.plans.rules import Verdict, both, decide
from safety.plans.tree import walk

_FOOD = "food"
NOT_POTENTIAL = "It does not arise in this product."


def analyse(
    facts: Mapping[str, str],
    decisions: Iterable[Decision] = (),
    *,
    source: Library | None = None,
) -> HazardAnalysis:
    """Say of every hazard whether it can arise here and must be controlled.

    Parameters
    ----------
    facts : Mapping
        What is recorded of the product; a name that is absent is unknown.
    decisions : iterable of Decision
        The owner's answers, each with its reason; they are shown beside ours.
    source : Library, optional
        Hazards to use in place of the product's own.

    Returns
    -------
    HazardAnalysis
        With every hazard, in the order of the data: none is ever left out.

    Raises
    ------
    UnknownName
        If a fact, a value or a hazard does not exist.
    InputError
        If a decision has no reason, leaves the hazard open, or is given twice.
    """
    for name, value in facts.items():
        fact(name).check(value)
    known = source or library()
    told = _by_hazard(decisions, known)
    whole = with_food(facts)
    limits = governing(facts)
    hazards = tuple(
        _hazard(one, whole, told.get(one.id), limits, known) for one in known.hazards
    )
    return HazardAnalysis(
        facts=dict(facts),
        hazards=hazards,
        questions=_questions(hazards, facts),
        tree_source=known.tree_source,
        tree_basis=known.tree_basis,
    )


def governing(facts: Mapping[str, str]) -> tuple[Selected, ...]:
    """Return the published limits that govern the product, or may."""
    return tuple(one for one in select(facts) if one.governs is not Answer.NO)


def stands_in(selected: Selected, step: str, control_point: str) -> bool:
    """Say whether a limit belongs to a control point in that step."""
    limit = selected.published.limit
    if limit.control_point != control_point:
        return False
    own = limit.step or (control_point if control_point in STEPS else None)
    return own is None or own == step


def asked(missing: Iterable[str], facts: Mapping[str, str]) -> tuple[str, ...]:
    """Return the facts to ask for: the food itself before what it would bring."""
    names = (
        _FOOD if name in FOOD_FACTS and _FOOD not in facts else name for name in missing
    )
    return tuple(dict.fromkeys(names))


def _by_hazard(decisions: Iterable[Decision], known: Library) -> dict[str, Decision]:
    told: dict[str, Decision] = {}
    identities = tuple(hazard.id for hazard in known.hazards)
    for decision in decisions:
        if decision.hazard_id not in identities:
            raise UnknownName("hazard", decision.hazard_id, identities)
        if decision.hazard_id in told:
            raise InputError(f"The hazard {decision.hazard_id} is decided twice.")
        if decision.significant is Answer.UNKNOWN or not decision.reason.strip():
            raise InputError(
                f"A decision about {decision.hazard_id} says yes or no, and why."
            )
        told[decision.hazard_id] = decision
    return told


def _hazard(
    known: KnownHazard,
    facts: Mapping[str, str],
    decision: Decision | None,
    limits: tuple[Selected, ...],
    words: Library,
) -> Hazard:
    potential = decide(known.potential, facts)
    verdict = _significant(potential, decide(known.significant, facts))
    significant = decision.significant if decision else verdict.answer
    measures = tuple(
        _measure(rule, facts, significant, limits, words) for rule in known.controls
    )
    return Hazard(
        id=known.id,
        title=known.title,
        kind=known.kind,
        potential=potential.answer,
        why_potential=potential.why,
        significant=significant,
        ours=verdict.answer,
        why=verdict.why,
        source=known.source,
        basis=_basis(verdict, facts),
        decided_by=_decided_by(decision, verdict.answer),
        owner_reason=decision.reason if decision else "",
        missing=verdict.missing,
        ask=verdict.ask,
        measures=tuple(m for m in measures if m.exists is not Answer.NO),
    )


def _basis(verdict: Verdict, facts: Mapping[str, str]) -> str:
    """Return how the answer is known: where a food's cell decides, how that is known."""
    try:
        cells = food(facts.get(_FOOD, "")).basis
    except UnknownName:
        return verdict.basis
    known = [cells[name] for name in verdict.rests_on if name in cells]
    return f"{verdict.basis}; the food: {', '.join(known)}" if known else verdict.basis


def _decided_by(decision: Decision | None, ours: Answer) -> DecidedBy:
    if decision is not None:
        return DecidedBy.OWNER
    return DecidedBy.NOBODY if ours is Answer.UNKNOWN else DecidedBy.GUIDANCE


def _significant(potential: Verdict, matters: Verdict) -> Verdict:
    """Return whether it must be controlled: it can arise, and nothing makes it idle."""
    answer = both(potential.answer, matters.answer)
    if potential.answer is Answer.NO:
        return replace(potential, why=f"{NOT_POTENTIAL} {potential.why}")
    if answer is not Answer.UNKNOWN:
        return matters
    open_ones = [v for v in (potential, matters) if v.answer is Answer.UNKNOWN]
    return Verdict(
        answer,
        " ".join(dict.fromkeys(verdict.why for verdict in open_ones)),
        open_ones[-1].basis,
        (),
        tuple(dict.fromkeys(name for v in open_ones for name in v.missing)),
        tuple(dict.fromkeys(ask for v in open_ones for ask in v.ask)),
    )


def _measure(
    rule: ControlRule,
    facts: Mapping[str, str],
    significant: Answer,
    limits: tuple[Selected, ...],
    words: Library,
) -> Measure:
    exists, names = holds(rule.when, facts)
    critical = Answer.NO
    if rule.outcome is Outcome.CRITICAL:
        critical = both(exists, significant)
    return Measure(
        step=rule.step,
        control_point=rule.control_point,
        outcome=rule.outcome,
        words=rule.measure,
        exists=exists,
        critical=critical,
        tree=walk(rule, exists, words.branches) if significant is not Answer.NO else (),
        limit_ids=tuple(
            one.published.limit.id
            for one in limits
            if stands_in(one, rule.step, rule.control_point) and _concerns(one, rule)
        ),
        missing=names if exists is Answer.UNKNOWN else (),
        must=rule.must,
        monitoring=rule.monitoring,
        if_not_met=rule.if_not_met,
        put_right=rule.put_right,
    )


def _concerns(selected: Selected, rule: ControlRule) -> bool:
    """Say whether a limit of the control point has to do with the hazard."""
    published = selected.published
    if rule.about and not set(rule.about) & set(published.applies_when):
        return False
    return not rule.quantities or bool(
        set(rule.quantities) & set(_quantities(published.limit))
    )


def _quantities(limit: Limit) -> Iterator[str]:
    if isinstance(limit, Combination):
        for member in limit.limits:
            yield from _quantities(member)
    elif isinstance(limit, ValueLimit | CoolLimit | ExposureLimit):
        yield limit.quantity


def _questions(
    hazards: tuple[Hazard, ...], facts: Mapping[str, str]
) -> tuple[Question, ...]:
    """Return what is missing, facts first, then what only a person can decide."""
    by_fact: dict[str, list[str]] = {}
    decisions: list[Question] = []
    for hazard in hazards:
        names = hazard.missing if hazard.decided_by is not DecidedBy.OWNER else ()
        if hazard.significant is not Answer.NO:
            names += tuple(n for m in hazard.measures for n in m.missing)
        for name in asked(names, facts):
            by_fact.setdefault(name, []).append(hazard.id)
        if hazard.decided_by is DecidedBy.NOBODY:
            decisions += [
                Question(fact=None, words=words, values=None, hazards=(hazard.id,))
                for words in hazard.ask
            ]
    return (
        *(
            Question(
                fact=name,
                words=FACTS[name].question,
                values=FACTS[name].values,
                hazards=tuple(by_fact[name]),
            )
            for name in FACTS
            if name in by_fact
        ),
        *decisions,
    )
