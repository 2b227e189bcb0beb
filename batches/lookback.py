"""What a check of an instrument changes in past batches: each judged with and without.

Only the batches are judged that have a reading of that instrument in the time for which
the check can speak: from the check before it to the next one that serves. They are
judged as they stood when the check was written, so that what was checked later neither
hides nor doubles what it found. Nothing is written.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from batches.judging import judge
from batches.lookups import records_of
from batches.lookups.lookback import Stretch, batches_read_in, checks_of
from batches.lookups.records import BatchRecords, Rows
from batches.models import Batch, InstrumentCheck
from safety.judge.finding import Finding, Judgement, Status, worst
from safety.limits.parse import RESERVED_ID

NOTHING = "—"
FIRST = datetime.min.replace(tzinfo=UTC)
LAST = datetime.max.replace(tzinfo=UTC)
DOUBTFUL = {Status.MISSED.value, Status.NOT_SHOWN.value}
Key = tuple[str, str, str | None]
Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Change:
    """One finding of one batch whose status a check changed, and why."""

    batch: Batch
    control_point: str
    limit_id: str
    place: str | None
    before: str
    after: str
    because: str

    @property
    def is_worse(self) -> bool:
        """Say whether the batch must be looked at: what was fine is not any more."""
        return self.after in DOUBTFUL


@dataclass(frozen=True, slots=True)
class Touched:
    """A batch read with the instrument: what the check changed, and how it stands now.

    ``instrument`` is what the instrument's own finding says now, None without one;
    ``because`` is why it says so.
    """

    batch: Batch
    changes: tuple[Change, ...]
    outcome: str
    instrument: str | None
    because: str = ""

    @property
    def is_in_doubt(self) -> bool:
        """Say whether somebody must decide about it, by then or by now."""
        return self.instrument in DOUBTFUL or any(c.is_worse for c in self.changes)


def look_back(
    check: InstrumentCheck,
    *,
    judged_at: datetime | None = None,
    progress: Progress | None = None,
) -> list[Change]:
    """Return every finding that became another when this check was written.

    Or that is another because of it at ``judged_at``. ``progress`` is told how many
    batches are done, of how many.
    """
    batches = touched(check)
    changes: list[Change] = []
    for done, batch in enumerate(batches, start=1):
        changes += changes_in(records_of(batch), check, judged_at=judged_at)
        if progress is not None:
            progress(done, len(batches))
    return changes


def touched(check: InstrumentCheck) -> list[Batch]:
    """Return the batches that the check can bear on, first begun first."""
    return list(batches_read_in(check.instrument, stretch_of(check)))


def changes_in(
    records: BatchRecords,
    check: InstrumentCheck,
    *,
    judged_at: datetime | None = None,
) -> list[Change]:
    """Return what the check changes in one batch, as it stood when it was written."""
    at = written_at(check) if judged_at is None else judged_at
    before = judge(without(records, check), judged_at=at)
    after = judge(records, judged_at=at)
    return compare(records.batch, before, after)


def touched_batch(batch: Batch, check: InstrumentCheck, *, now: datetime) -> Touched:
    """Return what the check changed in one batch, and how the batch stands now."""
    records = records_of(batch)
    today = judge(records, judged_at=max(now, written_at(check)))
    own = [
        finding
        for finding in today.findings
        if (finding.limit_id, finding.place) == (RESERVED_ID, check.instrument.code)
    ]
    status = worst([finding.status for finding in own]) if own else None
    reasons = [finding.why for finding in own if finding.status is status]
    return Touched(
        batch=batch,
        changes=tuple(changes_in(records, check)),
        outcome=today.outcome.value,
        instrument=None if status is None else status.value,
        because=" ".join(dict.fromkeys(why for why in reasons if why)),
    )


def written_at(check: InstrumentCheck) -> datetime:
    """Return when the check was on record; a clock may run a little ahead of another."""
    return max(check.recorded_at, *(at for at, _ in _moments(check)))


def without(records: BatchRecords, check: InstrumentCheck) -> BatchRecords:
    """Return the records as if the check had never been written.

    What it corrects counts again; what corrects it is left out with it.
    """
    gone = {check.pk}
    kept = []
    for row in records.checks.all:  # a correction is written after what it corrects
        if row.pk in gone or row.corrects_id in gone:
            gone.add(row.pk)
    kept = [row for row in records.checks.all if row.pk not in gone]
    return replace(records, checks=Rows(kept))


def stretch_of(check: InstrumentCheck) -> Stretch:
    """Return the time in which a reading may change its trust by this check.

    From the last check before it to the first serving one after it, both included; so
    too for the check that it corrects. Errs to the wide side.
    """
    own = {check.pk, check.corrects_id}
    mine = [row for row in checks_of(check.instrument) if row.pk in own]
    others = [row for row in checks_of(check.instrument) if row.pk not in own]
    instants = [at for row in mine for at, _ in _moments(row)]
    first, last = min(instants), max(instants)
    moments = [moment for row in others for moment in _moments(row)]
    return Stretch(
        start=max((at for at, _ in moments if at < first), default=FIRST),
        end=min((at for at, serves in moments if serves and at > last), default=LAST),
    )


def _moments(check: InstrumentCheck) -> Iterable[tuple[datetime, bool]]:
    """Yield when the instrument was read, and whether that serves later readings."""
    yield check.occurred_at, not check.adjusted
    if check.as_left_at is not None:
        yield check.as_left_at, True


def compare(batch: Batch, before: Judgement, after: Judgement) -> list[Change]:
    """Return the findings whose status differs, in the order of the judgement."""
    one, two = _statuses(before.findings), _statuses(after.findings)
    reasons = {_key(finding): finding.why for finding in reversed(after.findings)}
    gone = "There is nothing left to judge here."
    return [
        Change(
            batch=batch,
            control_point=key[0],
            limit_id=key[1],
            place=key[2],
            before=one[key].value if key in one else NOTHING,
            after=two[key].value if key in two else NOTHING,
            because=reasons.get(key, gone),
        )
        for key in {**two, **one}
        if one.get(key) is not two.get(key)
    ]


def _statuses(findings: Sequence[Finding]) -> dict[Key, Status]:
    found: dict[Key, list[Status]] = {}
    for finding in findings:
        found.setdefault(_key(finding), []).append(finding.status)
    return {key: worst(statuses) for key, statuses in found.items()}


def _key(finding: Finding) -> Key:
    return finding.control_point, finding.limit_id, finding.place
