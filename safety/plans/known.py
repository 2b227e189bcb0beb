"""Hazards as the guidance describes them, before any product: frozen values."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from safety.facts import Answer
from safety.limits.model import Source
from safety.processes import Monitoring

KINDS = ("biological", "chemical", "physical", "allergen")


class Outcome(Enum):
    """What a control at a step is for a hazard, once the hazard is significant."""

    CRITICAL = "critical"
    PREREQUISITE = "prerequisite"
    LATER = "later"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """An answer that holds under a condition, with its reason.

    A rule that answers UNKNOWN asks in ``ask`` what only a person can decide.
    """

    answer: Answer
    when: Mapping[str, tuple[str, ...]]
    why: str
    basis: str = ""
    ask: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ControlRule:
    """What can be done about a hazard at one step, where its condition holds.

    ``must`` is the limit in words where no figure is published.

    Of the limits of its control point those concern the hazard that judge one of
    ``quantities`` (none given: all), or whose condition names a fact of ``about``.
    """

    step: str
    control_point: str
    outcome: Outcome
    measure: str
    when: Mapping[str, tuple[str, ...]]
    because: Mapping[str, str]
    must: str = ""
    quantities: tuple[str, ...] = ()
    about: tuple[str, ...] = ()
    monitoring: tuple[Monitoring, ...] = ()
    if_not_met: tuple[str, ...] = ()
    put_right: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownHazard:
    """A hazard as the guidance describes it, before any product."""

    id: str
    title: str
    kind: str
    source: Source
    basis: str
    potential: tuple[Rule, ...]
    significant: tuple[Rule, ...]
    controls: tuple[ControlRule, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Branch:
    """One question of the decision tree."""

    id: str
    question: str
    yes: str
    no: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Prompt:
    """One thing that the description of a product must say."""

    id: str
    question: str
    facts: tuple[str, ...]
