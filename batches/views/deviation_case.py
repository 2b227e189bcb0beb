"""What pages say about the deviations, holds and releases of one batch."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID, uuid4

from batches.deviating import Answered, answered_now
from batches.lookups import (
    BatchRecords,
    DeviationState,
)
from batches.lookups.told import Told
from batches.models import Batch, Hold, Release, Response, Rework
from batches.planning import content
from batches.planpage import page_of
from safety.judge.finding import Judgement
from safety.plans.options import Trigger, options_for
from safety.processes.load import processes

Kind = Response.Kind


@dataclass(frozen=True, slots=True)
class Case:
    """The deviations of a batch beside what its record shows now."""

    batch: Batch
    states: tuple[DeviationState, ...]
    findings: tuple[Answered, ...]
    releases: tuple[Release, ...]
    reworks: tuple[Rework, ...]
    entry_id: UUID = field(default_factory=uuid4)

    @property
    def unanswered(self) -> tuple[Answered, ...]:
        """Return the findings that no deviation takes up yet."""
        return tuple(
            one for one in self.findings if one.state is None or one.is_changed
        )

    @property
    def waiting(self) -> tuple[DeviationState, ...]:
        """Return the deviations without a decision on the food."""
        return tuple(state for state in self.states if not state.is_decided)

    @property
    def holds(self) -> tuple[Hold, ...]:
        """Return the holds that are not lifted."""
        return tuple(hold for state in self.states for hold in state.open_holds)

    @property
    def from_rework(self) -> Rework | None:
        """Return from which batch this one was worked."""
        made = (row for row in self.reworks if row.to_batch_id == self.batch.pk)
        return next(made, None)

    @property
    def into_reworks(self) -> tuple[Rework, ...]:
        """Return into which batches this one was worked."""
        return tuple(row for row in self.reworks if row.from_batch_id == self.batch.pk)


def case_of(records: BatchRecords, judgement: Judgement, told: Told) -> Case:
    """Return the case of a batch from what was read of it; asks nothing more."""
    return Case(
        batch=records.batch,
        states=told.states,
        findings=answered_now(records, judgement, told.states),
        releases=told.releases,
        reworks=told.reworks,
    )


# ------------------------------------------------------------ what to do next


@dataclass(frozen=True, slots=True)
class Next:
    """The one thing to do next: its words and the form that it opens."""

    words: str
    button: str
    form: str


def next_of(state: DeviationState) -> Next | None:
    """Return what is to be done next about a deviation; None once it is closed."""
    if state.closing is not None:
        return None
    if state.contained_at is None:
        return Next("Contain it first", "Hold it now", "hold")
    if not state.is_decided and not state.answers(Kind.EVALUATION):
        return Next("Look at the food", "Write the evaluation", str(Kind.EVALUATION))
    if not state.is_decided:
        return Next("Decide what becomes of it", "Decide", "decide")
    if state.unworked:
        return Next("Work it again", "Start the new batch", "rework")
    if not state.answers(Kind.CAUSE):
        return Next("Find the cause", "Write the cause", str(Kind.CAUSE))
    if not state.answers(Kind.PREVENTION):
        return Next(
            "So that it does not happen again", "Write it down", str(Kind.PREVENTION)
        )
    return Next("Everything is answered", "Close it", "close")


@dataclass(frozen=True, slots=True)
class Guide:
    """What may be done about a control point: the plan's words, then the published."""

    planned: tuple[str, ...]
    planned_cause: tuple[str, ...]
    usual: tuple[str, ...]
    usual_cause: tuple[str, ...]
    triggers: tuple[Trigger, ...]


def guide_of(state: DeviationState) -> Guide:
    """Return what may be done: by the signed plan, the process, the publications."""
    deviation = state.deviation
    batch, point = deviation.batch, deviation.control_point
    said = _planned(batch, point)
    process = processes().get(batch.product.process) if batch is not None else None
    controls = [
        control
        for _, control in (process.controls() if process is not None else ())
        if control.name == point
    ]
    return Guide(
        planned=_once(each["if_not_met"] for each in said),
        planned_cause=_once(each["put_right"] for each in said),
        usual=_once(each.if_not_met for each in controls),
        usual_cause=_once(each.put_right for each in controls),
        triggers=options_for(point),
    )


def _planned(batch: Batch | None, point: str) -> list[Mapping[str, Any]]:
    if batch is None or batch.plan is None:
        return []
    page = page_of(content(batch.plan))
    return [
        each.said
        for each in (*page.critical, *page.others)
        if each.said["control_point"] == point
    ]


def _once(several: Iterable[Iterable[str]]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(text for texts in several for text in texts))
