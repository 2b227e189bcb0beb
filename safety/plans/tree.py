"""The decision tree of Codex for one hazard at one step, answered and given reasons."""

from collections.abc import Iterator

from safety.facts import Answer
from safety.plans.analysed import TreeAnswer
from safety.plans.known import Branch, ControlRule, Outcome

_ANSWERS = {
    Outcome.PREREQUISITE: {"q1": Answer.YES},
    Outcome.LATER: {"q1": Answer.NO, "q2": Answer.YES, "q3": Answer.YES},
    Outcome.CRITICAL: {
        "q1": Answer.NO,
        "q2": Answer.YES,
        "q3": Answer.NO,
        "q4": Answer.YES,
    },
}


def walk(
    rule: ControlRule, exists: Answer, branches: tuple[Branch, ...]
) -> tuple[TreeAnswer, ...]:
    """Return the questions of the tree up to the one that ends it.

    Where it is unknown whether the measure is one for this product, the second
    question stays open and the tree ends there.
    """
    return tuple(_answers(rule, exists, branches))


def _answers(
    rule: ControlRule, exists: Answer, branches: tuple[Branch, ...]
) -> Iterator[TreeAnswer]:
    answers = _ANSWERS[rule.outcome]
    for branch in branches:
        if branch.id not in answers:
            return
        answer = answers[branch.id]
        if branch.id == "q2":
            answer = exists
        yield TreeAnswer(
            question=branch.id,
            words=branch.question,
            answer=answer,
            why=_why(branch, rule, answer),
        )
        if answer is Answer.UNKNOWN:
            return


def _why(branch: Branch, rule: ControlRule, answer: Answer) -> str:
    if branch.id in rule.because:
        return rule.because[branch.id]
    if branch.id == "q2" and answer is Answer.YES:
        return rule.measure
    if answer is Answer.UNKNOWN:
        return "Open until more is known of the product."
    return branch.yes if answer is Answer.YES else branch.no
