"""Three-valued rules: the first that holds answers; an unknown fact leaves it open."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from safety.facts import FACTS, Answer, holds
from safety.plans.known import Rule

_AND = {
    (Answer.YES, Answer.YES): Answer.YES,
    (Answer.YES, Answer.UNKNOWN): Answer.UNKNOWN,
    (Answer.UNKNOWN, Answer.YES): Answer.UNKNOWN,
    (Answer.UNKNOWN, Answer.UNKNOWN): Answer.UNKNOWN,
}


@dataclass(frozen=True, slots=True)
class Verdict:
    """What rules make of the facts; ``missing`` and ``ask`` only while it is open.

    ``rests_on`` are the facts that the deciding rule looked at.
    """

    answer: Answer
    why: str
    basis: str = ""
    rests_on: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    ask: tuple[str, ...] = ()


def both(first: Answer, second: Answer) -> Answer:
    """Return whether two things hold together: one NO is enough for NO."""
    return _AND.get((first, second), Answer.NO)


def decide(rules: Iterable[Rule], facts: Mapping[str, str]) -> Verdict:
    """Return what the first rule that holds says, or that it is open.

    Parameters
    ----------
    rules : iterable of Rule
        In order; the last one holds without a condition, so that there is always one.
    facts : Mapping
        What is recorded; a name that is absent is unknown.

    Returns
    -------
    Verdict
        Definite only if every rule that may be the first to hold gives the same
        answer. So a fact taken away can open an answer but never turn it round.
    """
    reached: list[Rule] = []
    missing: dict[str, None] = {}
    for rule in rules:
        held, names = holds(rule.when, facts)
        if held is Answer.NO:
            continue
        reached.append(rule)
        if held is Answer.YES:
            break
        missing.update(dict.fromkeys(names))
    answers = {rule.answer for rule in reached}
    if len(answers) == 1 and Answer.UNKNOWN not in answers:
        sure = reached[-1]
        return Verdict(sure.answer, sure.why, sure.basis, tuple(sure.when))
    ask = () if missing else (reached[-1].ask,)
    return Verdict(
        Answer.UNKNOWN,
        _open(reached, tuple(missing)),
        reached[-1].basis,
        (),
        tuple(missing),
        ask,
    )


def _open(reached: list[Rule], missing: tuple[str, ...]) -> str:
    if not missing:
        return reached[-1].why
    asked = " ".join(FACTS[name].question for name in missing)
    return f"Open until it is said: {asked}"
