"""The sheet of a plan: everything that its document says, already put into words."""

from dataclasses import dataclass

from reports.sheets import Pair


@dataclass(frozen=True, slots=True, kw_only=True)
class TreeRow:
    """The answers of the decision tree at one step."""

    step: str
    answers: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class HazardRow:
    """One line of the hazard analysis worksheet."""

    step: str
    hazard: str
    kind: str
    potential: str
    significant: str
    justification: str
    owner: str
    measure: str
    is_critical: str
    trees: tuple[TreeRow, ...]
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitLine:
    """One limit of a control point."""

    words: str
    source: str
    letter: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PointRow:
    """One line of the plan form, in its ten columns."""

    number: str
    name: str
    hazards: str
    limits: tuple[LimitLine, ...]
    what: str
    how: str
    how_often: str
    who: str
    corrective: str
    verification: str
    records: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanSheet:
    """A plan as it is printed; ``signed`` is empty for a draft."""

    producer: str
    address: str
    product: str
    number: int
    version: str
    paper: str
    printed: str
    signed: str
    meaning: str
    content_sha256: str
    description: tuple[Pair, ...]
    flow: tuple[Pair, ...]
    hazards: tuple[HazardRow, ...]
    critical: tuple[PointRow, ...]
    others: tuple[PointRow, ...]
    schedule: tuple[Pair, ...]
    rules: tuple[str, ...]
    not_covered: tuple[str, ...]
    letters: tuple[str, ...]
    publications: tuple[Pair, ...]
    reassessed: tuple[str, ...] = ()
    lang: str = "en"

    @property
    def state(self) -> str:
        """Return what stands on every page: the version, or that it is a draft."""
        if not self.signed:
            return f"plan v{self.number}, DRAFT, NOT SIGNED"
        return f"plan v{self.number} · content {self.content_sha256[:8]}…"
