"""What a check that failed wants set apart in a batch, and what of it is; writes nothing."""

from collections.abc import Iterable
from dataclasses import dataclass

from batches.deviating import covers, is_changed
from batches.lookback import DOUBTFUL, Change, Touched
from batches.lookups.deviations import DeviationState
from batches.models import InstrumentCheck
from safety.judge.finding import Status, worst
from safety.limits.parse import RESERVED_ID

NOT_SAID = "Nothing on record shows it."


@dataclass(frozen=True, slots=True)
class Wanted:
    """One limit of a batch that a check put in doubt: at which places, in which words."""

    control_point: str
    limit_id: str
    status: str
    place: str
    words: str


def wanted(touched: Touched, check: InstrumentCheck) -> tuple[Wanted, ...]:
    """Return what must be opened, one for each limit; the instrument where only it is."""
    groups: dict[tuple[str, str], list[Change]] = {}
    for change in touched.changes:
        if change.is_worse:
            groups.setdefault((change.control_point, change.limit_id), []).append(
                change
            )
    if groups:
        return tuple(_one(same) for same in groups.values())
    if touched.instrument not in DOUBTFUL:
        return ()
    return (
        Wanted(
            control_point="instrument-check",
            limit_id=RESERVED_ID,
            status=touched.instrument,
            place=check.instrument.code,
            words=touched.because or NOT_SAID,
        ),
    )


def state_for(
    want: Wanted, states: Iterable[DeviationState], check: InstrumentCheck
) -> DeviationState | None:
    """Return the newest deviation that takes up what is wanted, None without one.

    What was decided before the check was written answers it only where no food was let
    go on other findings: what is destroyed or worked again is not asked about twice.
    """
    found = [
        state
        for state in states
        if (state.deviation.control_point, state.deviation.limit_id)
        == (want.control_point, want.limit_id)
        and covers(state.deviation, want.status)
        and (
            not state.is_decided
            or state.deviation.recorded_at >= check.recorded_at
            or not is_changed(want.status, want.words, state)
        )
    ]
    return max(found, key=lambda state: state.deviation.pk, default=None)


@dataclass(frozen=True, slots=True)
class Case:
    """A touched batch with what is wanted of it and the deviations that take that up."""

    touched: Touched
    states: tuple[DeviationState, ...]
    is_contained: bool

    @property
    def is_decided(self) -> bool:
        """Say whether somebody decided about the food already."""
        return self.is_contained and all(state.is_decided for state in self.states)


def case_of(
    touched: Touched, states: Iterable[DeviationState], check: InstrumentCheck
) -> Case:
    """Return a touched batch as it stands: nothing more to do, or to be contained."""
    known = list(states)
    found = [state_for(want, known, check) for want in wanted(touched, check)]
    taken_up = tuple(state for state in found if state is not None)
    return Case(
        touched,
        taken_up,
        is_contained=bool(found)
        and len(taken_up) == len(found)
        and all(state.contained_at is not None for state in taken_up),
    )


def _one(same: list[Change]) -> Wanted:
    status = worst([Status(change.after) for change in same])
    held = [change for change in same if change.after == status.value]
    words = " ".join(dict.fromkeys(each.because for each in held if each.because))
    return Wanted(
        control_point=held[0].control_point,
        limit_id=held[0].limit_id,
        status=status.value,
        place=", ".join(each.place for each in held if each.place),
        words=words or NOT_SAID,
    )
