"""Which published limits apply to a product, and which of them govern it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from safety.facts import DEFAULT_JURISDICTION, Answer, holds
from safety.foods import facts_of, slug_of
from safety.limits.editions import Editions
from safety.limits.load import Catalogue, catalogue, dates_hold
from safety.limits.model import Published
from safety.limits.reader import ANY_JURISDICTION

_FOOD = "food"
_PROGRAMME = "programme"
_JURISDICTION = "jurisdiction"


@dataclass(frozen=True, slots=True)
class Selected:
    """One published limit and what the facts say of it.

    ``missing`` are the facts that would settle it; ``governs`` is NO for a limit that
    is shown as comparison only, and UNKNOWN where nobody said under which programme
    the premises works.
    """

    published: Published
    applies: Answer
    missing: tuple[str, ...]
    governs: Answer
    why: str


def select(
    facts: Mapping[str, str], *, on: date | None = None, among: Catalogue | None = None
) -> tuple[Selected, ...]:
    """Return the limits that apply or may apply, those that govern first.

    A missing fact never drops a limit; only a fact that contradicts does. ``among`` is
    another catalogue than our own, read from another folder.
    """
    considered = consider(facts, on=on, among=among)
    return tuple(s for s in considered if s.applies is not Answer.NO)


def consider(
    facts: Mapping[str, str], *, on: date | None = None, among: Catalogue | None = None
) -> tuple[Selected, ...]:
    """Return every published limit with what the facts say of it, govern first."""
    known, limits = with_food(facts), among or catalogue()
    found = [
        _answer(published, known, limits.editions)
        for published in limits.limits.values()
        if dates_hold(published, on)
    ]
    return tuple(sorted(found, key=lambda one: one.governs is Answer.NO))


def questions(facts: Mapping[str, str]) -> tuple[str, ...]:
    """Return the facts still missing to know which governing limits apply."""
    asked: dict[str, None] = {}
    for selected in select(facts):
        if selected.governs is not Answer.NO:
            asked.update(dict.fromkeys(selected.missing))
    return tuple(asked)


def with_food(facts: Mapping[str, str]) -> dict[str, str]:
    """Return the facts with those that the food brings; where both differ, neither.

    A food called by another of its names is given the one that limits know it by.
    """
    known = dict(facts)
    if _FOOD in known:
        known[_FOOD] = slug_of(known[_FOOD])
    for name, value in facts_of(facts.get(_FOOD, "")).items():
        if known.setdefault(name, value) != value:
            del known[name]
    return known


def jurisdictions(facts: Mapping[str, str]) -> tuple[str, ...]:
    """Return the codes whose rules govern: a state's own, its country's, and any."""
    code = facts.get(_JURISDICTION, DEFAULT_JURISDICTION)
    country = code.partition("-")[0]
    return tuple(dict.fromkeys((code, country, ANY_JURISDICTION)))


def _answer(
    published: Published, facts: Mapping[str, str], editions: Editions
) -> Selected:
    said = any(name in facts for name in published.chosen_by)
    condition = {**published.applies_when}
    if said or not _in_every_edition(published, editions):
        condition |= {name: (value,) for name, value in published.chosen_by.items()}
    applies, names = holds(condition, facts)
    governs, reason = _governs(published, facts)
    missing = names if applies is Answer.UNKNOWN else ()
    if governs is Answer.UNKNOWN:
        missing = (*missing, _PROGRAMME)
    why = f"{_condition(condition, applies, names, facts)} {reason}"
    is_spare = not said and published.limit.id in editions.copies
    if is_spare and applies is not Answer.NO:
        applies, missing = Answer.NO, ()
        why = f"It does not apply: it says the same as {published.same_as}."
    return Selected(published, applies, missing, governs, why)


def _in_every_edition(published: Published, editions: Editions) -> bool:
    """Whether every edition says the same, so that nobody need be asked which it is."""
    identity = published.limit.id
    return identity in editions.originals or identity in editions.copies


def _governs(published: Published, facts: Mapping[str, str]) -> tuple[Answer, str]:
    place = published.source.jurisdiction
    if not published.programmes:
        return Answer.NO, "It is shown as comparison only."
    if place not in jurisdictions(facts):
        return Answer.NO, f"It governs in {place} and is shown as comparison."
    if _PROGRAMME not in facts:
        return Answer.UNKNOWN, (
            "Whether it governs is open until it is said under which programme "
            "the premises works."
        )
    if facts[_PROGRAMME] not in published.programmes:
        return Answer.NO, (
            f"It governs the programme {_list(published.programmes)} and is shown as "
            "comparison."
        )
    return Answer.YES, f"It governs the programme {facts[_PROGRAMME]} in {place}."


def _condition(
    condition: Mapping[str, tuple[str, ...]],
    applies: Answer,
    names: tuple[str, ...],
    facts: Mapping[str, str],
) -> str:
    if applies is Answer.NO:
        told = (f"{name} is {facts[name]}" for name in names)
        return f"It does not apply: {_list(told)}."
    if applies is Answer.UNKNOWN:
        return f"Whether it applies is open until it is said: {_list(names)}."
    told = (f"{name} is {facts[name]}" for name in condition)
    return f"It applies: {_list(told) or 'to every product'}."


def _list(words: Iterable[str]) -> str:
    return ", ".join(words)
