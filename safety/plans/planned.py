"""A drafted plan: its description, flow and control points, to be completed and signed."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from enum import Enum
from typing import Any

from safety.facts import Answer
from safety.limits import Published
from safety.plans.analysed import WORDS, HazardAnalysis, Question, cited
from safety.processes import Factor, Monitoring

FORMAT = "brinewright.draft-plan/1"


class Role(Enum):
    """What a published limit is in a drafted plan."""

    STRICTEST = "strictest"
    COVERED = "covered"
    OPEN = "open"
    COMPARISON = "comparison"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanLimit:
    """A published limit in a plan: whether it sets the limit, and if not, why not."""

    published: Published
    role: Role
    why: str
    covered_by: str = ""
    missing: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Return the limit as plain values, with its whole citation."""
        return {
            "id": self.published.limit.id,
            "kind": self.published.limit.kind,
            "role": self.role.value,
            "covered_by": self.covered_by,
            "words": self.published.words,
            "reason": self.published.reason,
            "note": self.published.note,
            "why": self.why,
            "missing": list(self.missing),
            "basis": self.published.basis,
            "source": cited(self.published.source),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanPoint:
    """One control point of a drafted plan, in one step.

    ``critical`` is NO where no hazard of the analysis asks for it but a published
    limit governs: it stays in the plan as a control point that is not critical.
    """

    step: str
    step_title: str
    control_point: str
    title: str
    number: int | None
    critical: Answer
    why: str
    hazards: tuple[str, ...]
    limits: tuple[PlanLimit, ...]
    must: tuple[str, ...]
    study: tuple[Factor, ...]
    monitoring: tuple[Monitoring, ...]
    if_not_met: tuple[str, ...]
    put_right: tuple[str, ...]

    @property
    def records(self) -> tuple[str, ...]:
        """The records that its monitoring leaves, each once."""
        return tuple(dict.fromkeys(row.record for row in self.monitoring))

    @property
    def verification(self) -> tuple[str, ...]:
        """How its monitoring is verified, each once."""
        return tuple(dict.fromkeys(row.verification for row in self.monitoring))

    @property
    def needs_own_limit(self) -> bool:
        """Whether nothing published sets its limit, so that the plan itself must."""
        return not self.must and not any(
            limit.role in {Role.STRICTEST, Role.OPEN} for limit in self.limits
        )

    def as_json(self) -> dict[str, Any]:
        """Return the control point as plain values: the columns of a plan."""
        return {
            "number": self.number,
            "step": self.step,
            "step_title": self.step_title,
            "control_point": self.control_point,
            "title": self.title,
            "critical": WORDS[self.critical],
            "why": self.why,
            "hazards": list(self.hazards),
            "limits": [limit.as_json() for limit in self.limits],
            "must": list(self.must),
            "needs_own_limit": self.needs_own_limit,
            "study": [asdict(factor) for factor in self.study],
            "monitoring": [
                {**asdict(row), "source": cited(row.source)} for row in self.monitoring
            ],
            "if_not_met": list(self.if_not_met),
            "put_right": list(self.put_right),
            "records": list(self.records),
            "verification": list(self.verification),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowStep:
    """One box of the flow diagram."""

    step: str
    title: str
    points: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Description:
    """One line of the product description: what is asked, and what is known."""

    id: str
    question: str
    answer: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftPlan:
    """A plan as the guidance drafts it: to be tightened, completed and signed."""

    title: str
    facts: Mapping[str, str]
    description: tuple[Description, ...]
    flow: tuple[FlowStep, ...]
    analysis: HazardAnalysis
    points: tuple[PlanPoint, ...]
    questions: tuple[Question, ...]
    rules: tuple[str, ...]
    not_covered: tuple[str, ...]

    @property
    def critical_points(self) -> tuple[PlanPoint, ...]:
        """The critical control points, and those that may be, in order."""
        return tuple(p for p in self.points if p.critical is not Answer.NO)

    @property
    def other_points(self) -> tuple[PlanPoint, ...]:
        """The control points that are not critical and whose limits govern."""
        return tuple(p for p in self.points if p.critical is Answer.NO)

    def as_json(self) -> dict[str, Any]:
        """Return the plan as plain values, critical control points first."""
        return {
            "format": FORMAT,
            "title": self.title,
            "facts": dict(self.facts),
            "description": [asdict(line) for line in self.description],
            "flow": [{**asdict(box), "points": list(box.points)} for box in self.flow],
            "critical_control_points": [p.as_json() for p in self.critical_points],
            "other_control_points": [p.as_json() for p in self.other_points],
            "analysis": self.analysis.as_json(),
            "questions": [question.as_json() for question in self.questions],
            "rules": list(self.rules),
            "not_covered": list(self.not_covered),
        }
