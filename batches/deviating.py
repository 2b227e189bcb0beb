"""Which findings of a batch want an answer, and which of them have one; writes nothing."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from batches.judging import judge
from batches.lookups import BatchRecords, records_of
from batches.lookups.deviations import DeviationState, states_of
from batches.models import Batch, Deviation, Disposition
from safety.controls import CONTROL_POINTS
from safety.judge.finding import Finding, Judgement, Status, worst
from safety.limits.model import Published

WANTS = (Status.MISSED, Status.NOT_SHOWN)
# What is judged after the food has left the work: while it is only not shown yet, a
# release does not wait for it, but names it.
AFTER_RELEASE = ("cold-holding", "record-review")
NO_LIMIT = "no-governing-limit"  # the judge's own word for it
NO_LIMIT_SAYS = "No limit was judged for this batch, so nothing is shown."


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """All findings of one governing limit that is missed or not shown, as one."""

    control_point: str
    limit_id: str
    status: Status
    place: str
    limit_words: str
    observed_words: str
    is_ahead: bool
    """Whether it lies ahead by nature: not begun or not over, and not missed."""

    @property
    def key(self) -> tuple[str, str]:
        """Return what makes it the same finding when it is judged again."""
        return self.control_point, self.limit_id


def due(records: BatchRecords, judgement: Judgement) -> tuple[Due, ...]:
    """Return every governing limit that is missed or not shown, the missed ones first."""
    groups: dict[tuple[str, str], list[Finding]] = {}
    for finding in judgement.findings:
        if finding.governs and finding.status in WANTS:
            key = (finding.control_point, finding.limit_id)
            groups.setdefault(key, []).append(finding)
    found = [_one(records, same) for same in groups.values()]
    if not found and judgement.outcome is not Status.MET:
        found.append(
            Due(
                control_point="",
                limit_id=NO_LIMIT,
                status=Status.NOT_SHOWN,
                place="",
                limit_words="",
                observed_words=NO_LIMIT_SAYS,
                is_ahead=False,
            )
        )
    return tuple(sorted(found, key=lambda one: one.status is not Status.MISSED))


def due_now(records: BatchRecords, judgement: Judgement) -> tuple[Due, ...]:
    """Return what wants an answer at this stage: the missed at once, the rest when done.

    What is not shown wants one only once the batch is finished, and what lies ahead by
    nature once it is over.
    """
    is_done = is_finished(records)
    return tuple(
        one
        for one in due(records, judgement)
        if one.status is Status.MISSED or (is_done and not one.is_ahead)
    )


def is_finished(records: BatchRecords) -> bool:
    """Say whether the work on a batch is over: packed, or put into the cold store."""
    windows = records.windows
    packing = windows.get("packing")
    return "cold-holding" in windows or (packing is not None and not packing.is_open)


def _one(records: BatchRecords, same: Sequence[Finding]) -> Due:
    status = worst([finding.status for finding in same])
    first = same[0]
    held = [finding for finding in same if finding.status is status]
    return Due(
        control_point=first.control_point,
        limit_id=first.limit_id,
        status=status,
        place=", ".join(each.place for each in held if each.place),
        limit_words=limit_words(first),
        observed_words=" ".join(dict.fromkeys(each.why for each in held if each.why)),
        is_ahead=status is Status.NOT_SHOWN and _is_ahead(records, first),
    )


def _is_ahead(records: BatchRecords, finding: Finding) -> bool:
    if finding.control_point not in AFTER_RELEASE or finding.limit_id == NO_LIMIT:
        return False
    window = records.windows.get("cold-holding")
    return window is None or window.is_open


def limit_words(finding: Finding) -> str:
    """Return a limit in words: the publication's, or the plan's own."""
    if finding.published is not None:
        return finding.published.words
    planned = finding.planned
    if planned is not None and planned.words:
        return planned.words
    title = CONTROL_POINTS[finding.control_point].title
    return f"{title}: {finding.limit_id}" if finding.limit is not None else title


def source_words(finding: Finding) -> str:
    """Return where a limit is printed; blank where it is the record's own rule."""
    if finding.published is None:
        return "the producer’s plan" if finding.planned is not None else ""
    return cited(finding.published)


def cited(published: Published) -> str:
    """Return the citation of a published limit in one line."""
    source = published.source
    return f"{source.publisher}, {source.title}, {source.section}, {source.edition}"


# ------------------------------------------------------------ what is answered


@dataclass(frozen=True, slots=True)
class Answered:
    """A finding that wants an answer, with the deviation that takes it up, if any.

    ``is_changed`` says that food was released by words that the record no longer says.
    """

    due: Due
    state: DeviationState | None
    is_changed: bool = False

    @property
    def is_open(self) -> bool:
        """Say whether nobody has decided yet what becomes of the food."""
        return self.state is None or not self.state.is_decided or self.is_changed

    @property
    def is_let_go(self) -> bool:
        """Say whether food was let go after an evaluation, in spite of the finding."""
        return self.state is not None and any(
            each.kind == Disposition.Kind.RELEASE for each in self.state.dispositions
        )


def answered(
    findings: Iterable[Due], states: Iterable[DeviationState]
) -> tuple[Answered, ...]:
    """Return each finding with the newest deviation that covers it."""
    by_key: dict[tuple[str, str], list[DeviationState]] = {}
    for state in sorted(states, key=lambda one: one.deviation.pk):
        row = state.deviation
        by_key.setdefault((row.control_point, row.limit_id), []).append(state)
    return tuple(_answered(one, by_key) for one in findings)


def _answered(
    one: Due, by_key: Mapping[tuple[str, str], list[DeviationState]]
) -> Answered:
    covering = [
        state
        for state in by_key.get(one.key, ())
        if covers(state.deviation, one.status.value)
    ]
    if not covering:
        return Answered(one, None)
    undecided = [state for state in covering if not state.is_decided]
    state = (undecided or covering)[-1]
    return Answered(
        one,
        state,
        is_changed=is_changed(one.status.value, one.observed_words, state),
    )


def covers(deviation: Deviation, status: str) -> bool:
    """Say whether a deviation takes up a finding of its limit with this status.

    One that was opened for what was not shown never answers for what is missed.
    """
    return (
        deviation.status != Deviation.Status.NOT_SHOWN
        or status == Status.NOT_SHOWN.value
    )


def is_changed(status: str, words: str, state: DeviationState) -> bool:
    """Say whether food was let go on other findings than those of today.

    What was destroyed, sent away or worked again is not asked about a second time.
    """
    if not state.is_decided:
        return False
    if state.is_settled:
        return True
    released = [
        each for each in state.dispositions if each.kind == Disposition.Kind.RELEASE
    ]
    if not released:
        return False
    said = (released[-1].judged_status, released[-1].judged_words)
    return said != (status, words)


def answered_now(
    records: BatchRecords, judgement: Judgement, states: Iterable[DeviationState]
) -> tuple[Answered, ...]:
    """Return what wants an answer at this stage, with what was answered."""
    return answered(due_now(records, judgement), states)


def judged_now(batch: Batch, at: datetime) -> tuple[BatchRecords, Judgement]:
    """Return the records of a batch and what they show at an instant."""
    records = records_of(batch)
    return records, judge(records, judged_at=at)


def current_due(batch: Batch, deviation: Deviation, at: datetime) -> Due | None:
    """Return what a deviation's limit shows today; None where it is met or settled."""
    records, judgement = judged_now(batch, at)
    key = (deviation.control_point, deviation.limit_id)
    return next((one for one in due(records, judgement) if one.key == key), None)


def states_of_batch(batch: Batch) -> tuple[DeviationState, ...]:
    """Return the deviations of one batch with everything said about them."""
    return states_of(Deviation.objects.filter(batch=batch))
