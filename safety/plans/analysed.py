"""A hazard analysis: what is thought of every hazard of a product, and why."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from enum import Enum
from typing import Any

from safety.facts import Answer
from safety.limits.model import Source
from safety.plans.known import Outcome
from safety.processes import Monitoring

FORMAT = "brinewright.hazard-analysis/1"

# How an answer is written; "unknown" of a fact is "undecided" of a hazard.
WORDS = {Answer.YES: "yes", Answer.NO: "no", Answer.UNKNOWN: "undecided"}


def cited(source: Source) -> dict[str, Any]:
    """Return a citation as plain values."""
    return {
        "publisher": source.publisher,
        "title": source.title,
        "section": source.section,
        "edition": source.edition,
        "standing": source.standing,
        "jurisdiction": source.jurisdiction,
    }


class DecidedBy(Enum):
    """Who says whether a hazard is significant."""

    GUIDANCE = "guidance"
    OWNER = "owner"
    NOBODY = "nobody"


@dataclass(frozen=True, slots=True)
class Decision:
    """What the owner says of a hazard, and why; it prints beside what we say."""

    hazard_id: str
    significant: Answer
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TreeAnswer:
    """One answer of the decision tree, with its reason."""

    question: str
    words: str
    answer: Answer
    why: str

    def as_json(self) -> dict[str, Any]:
        """Return the answer as plain values."""
        return {**asdict(self), "answer": WORDS[self.answer]}


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """What is done about a hazard at one step of this product.

    ``exists`` says whether the measure is one for this product; ``critical`` whether
    the step is a critical control point for the hazard.
    """

    step: str
    control_point: str
    outcome: Outcome
    words: str
    exists: Answer
    critical: Answer
    tree: tuple[TreeAnswer, ...]
    limit_ids: tuple[str, ...]
    missing: tuple[str, ...]
    must: str = ""
    monitoring: tuple[Monitoring, ...] = ()
    if_not_met: tuple[str, ...] = ()
    put_right: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Return the measure as plain values."""
        return {
            "step": self.step,
            "control_point": self.control_point,
            "measure": self.words,
            "exists": WORDS[self.exists],
            "must": self.must,
            "kind": self.outcome.value,
            "critical": WORDS[self.critical],
            "limits": list(self.limit_ids),
            "missing": list(self.missing),
            "tree": [answer.as_json() for answer in self.tree],
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Hazard:
    """One hazard of one product: whether it can arise, whether it must be controlled.

    ``ours`` is what the guidance gives; ``significant`` is what counts, the owner's
    answer where there is one. ``missing`` are the facts that would settle it, ``ask``
    is what only a person can decide.
    """

    id: str
    title: str
    kind: str
    potential: Answer
    why_potential: str
    significant: Answer
    ours: Answer
    why: str
    source: Source
    basis: str
    decided_by: DecidedBy
    owner_reason: str
    missing: tuple[str, ...]
    ask: tuple[str, ...]
    measures: tuple[Measure, ...]

    @property
    def disagrees(self) -> bool:
        """Whether the owner says otherwise than the guidance."""
        return (
            self.decided_by is DecidedBy.OWNER
            and self.ours is not Answer.UNKNOWN
            and self.ours is not self.significant
        )

    @property
    def uncontrolled(self) -> bool:
        """Whether it must be controlled and no step of this product does anything."""
        return self.significant is Answer.YES and not any(
            measure.exists is not Answer.NO for measure in self.measures
        )

    @property
    def first(self) -> Measure | None:
        """The measure that carries the control: the first critical one, if any."""
        for answer in (Answer.YES, Answer.UNKNOWN, Answer.NO):
            for measure in self.measures:
                if measure.critical is answer:
                    return measure
        return None

    @property
    def step(self) -> str | None:
        """The step of the measure that carries the control."""
        return self.first.step if self.first else None

    @property
    def measure(self) -> str:
        """The words of the measure that carries the control."""
        return self.first.words if self.first else ""

    @property
    def tree(self) -> tuple[TreeAnswer, ...]:
        """The answers of the decision tree for that measure."""
        return self.first.tree if self.first else ()

    @property
    def limit_ids(self) -> tuple[str, ...]:
        """Every published limit that governs, or may, one of the measures."""
        found = (identity for m in self.measures for identity in m.limit_ids)
        return tuple(dict.fromkeys(found))

    def as_json(self) -> dict[str, Any]:
        """Return the hazard as plain values."""
        return {
            "id": self.id,
            "title": self.title,
            "kind": self.kind,
            "potential": WORDS[self.potential],
            "why_potential": self.why_potential,
            "significant": WORDS[self.significant],
            "by_guidance": WORDS[self.ours],
            "why": self.why,
            "decided_by": self.decided_by.value,
            "owner_reason": self.owner_reason,
            "basis": self.basis,
            "source": cited(self.source),
            "missing": list(self.missing),
            "ask": list(self.ask),
            "step": self.step,
            "measure": self.measure,
            "limits": list(self.limit_ids),
            "uncontrolled": self.uncontrolled,
            "measures": [measure.as_json() for measure in self.measures],
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """A fact that is missing, or a decision that only a person can make.

    ``fact`` is None for a decision; ``values`` None means that it is written freely.
    """

    fact: str | None
    words: str
    values: tuple[str, ...] | None
    hazards: tuple[str, ...] = ()
    limits: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Return the question as plain values."""
        return {
            "fact": self.fact,
            "question": self.words,
            "values": None if self.values is None else list(self.values),
            "hazards": list(self.hazards),
            "limits": list(self.limits),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class HazardAnalysis:
    """Every hazard we know, with what the product's facts make of it."""

    facts: Mapping[str, str]
    hazards: tuple[Hazard, ...]
    questions: tuple[Question, ...]
    tree_source: str
    tree_basis: str

    def hazard(self, identity: str) -> Hazard:
        """Return one hazard of the analysis by its id."""
        return {hazard.id: hazard for hazard in self.hazards}[identity]

    @property
    def undecided(self) -> tuple[Hazard, ...]:
        """The hazards that stand open: a plan with one of them is not signed."""
        return tuple(h for h in self.hazards if h.significant is Answer.UNKNOWN)

    def as_json(self) -> dict[str, Any]:
        """Return the analysis as plain values, in the order of the data."""
        return {
            "format": FORMAT,
            "facts": dict(self.facts),
            "hazards": [hazard.as_json() for hazard in self.hazards],
            "questions": [question.as_json() for question in self.questions],
            "tree": {"source": self.tree_source, "basis": self.tree_basis},
        }
