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
    """One line of the hazard analysis worksheet: a hazard at a step."""

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
    published: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PointRow:
    """One line of the plan form, in its ten columns.

    Where several things are watched, the same letter marks them in each column.
    """

    number: str
    name: str
    hazards: str
    limits: tuple[LimitLine, ...]
    what: tuple[str, ...]
    how: tuple[str, ...]
    how_often: tuple[str, ...]
    who: tuple[str, ...]
    corrective: str
    verification: str
    records: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanSheet:
    """A plan as it is printed; ``signed`` is empty for a draft.

    ``due`` says by when it is to be looked at again, ``superseded`` by which other plan.
    ``trail`` names the last event of the record at signing, by which a copy of the
    record that was put back later is known to be older.
    """

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
    due: str = ""
    superseded: str = ""
    trail: str = ""
    lang: str = "en"

    @property
    def state(self) -> str:
        """Return what stands on every page: the version, or that it is a draft."""
        number = f"plan v{self.number}"
        if not self.signed:
            return f"{number}, {self.mark}"
        return f"{number} · content {self.content_sha256[:8]}…"

    @property
    def mark(self) -> str:
        """Return what is set large on every page of a plan that is not in force."""
        if not self.signed:
            return "DRAFT, NOT SIGNED"
        return self.superseded.split(" since ")[0].upper()
