"""A food process: its steps in the order of work, and what is recorded in each."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from safety.limits.model import Source


@dataclass(frozen=True, slots=True, kw_only=True)
class Monitoring:
    """How one thing is watched, and who says so: the columns of a plan."""

    what: str
    how: str
    how_often: str
    who: str
    record: str
    verification: str
    source: Source


@dataclass(frozen=True, slots=True, kw_only=True)
class Factor:
    """What a study of the own product must fix, for want of a published limit.

    ``example`` is the id of a limit or figure that a publication shows as an example,
    or nothing: it sets no limit.
    """

    what: str
    example: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Control:
    """One thing that is watched in a step, under the control point that judges it.

    ``log`` is ``one`` (once a batch), ``each`` (once a piece or package) or ``series``
    (again and again). ``states`` and ``dates`` are what may be stated or dated here.
    ``critical`` says that it can be a critical control point; whether it is one for a
    product, its hazard analysis says. ``if_not_met`` is what may become of the food,
    ``put_right`` what becomes of the process.
    """

    name: str
    critical: bool
    log: str
    prompt: str
    quantities: tuple[str, ...] = ()
    states: tuple[str, ...] = ()
    dates: tuple[str, ...] = ()
    if_not_met: tuple[str, ...] = ()
    put_right: tuple[str, ...] = ()
    study: tuple[Factor, ...] = ()
    monitoring: tuple[Monitoring, ...] = ()
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step of the work."""

    name: str
    title: str
    controls: tuple[Control, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Process:
    """A way of making food: what is true of every batch, what is asked, the steps."""

    slug: str
    title: str
    facts: Mapping[str, str]
    ask: tuple[str, ...]
    steps: tuple[Step, ...]
    not_covered: tuple[str, ...] = field(default=())

    def controls(self) -> tuple[tuple[Step, Control], ...]:
        """Return every control with its step, in the order of the work."""
        return tuple(
            (step, control) for step in self.steps for control in step.controls
        )
