"""Whether one check shows that an instrument is within its tolerance: yes, no, or open."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import Enum
from fractions import Fraction

from safety.judge.evidence import Check, Instrument
from safety.judge.instruments import History


class Acceptance(Enum):
    """What a check shows of an instrument; only the first lets its readings stand."""

    ACCEPTED = "accepted"
    NOT_ACCEPTED = "not accepted"
    NOT_SHOWN = "not shown"


@dataclass(frozen=True, slots=True)
class Weighed:
    """A check against the tolerance: the least and the greatest error it allows.

    All three are differences in ``unit``; an error is what was shown less the truth.
    """

    acceptance: Acceptance
    lowest_error: Fraction
    highest_error: Fraction
    tolerance: Fraction
    unit: str


def weigh(instrument: Instrument, ends: Sequence[Check]) -> Weighed:
    """Return what one check shows, its reference known exactly or as a range.

    Parameters
    ----------
    instrument : Instrument
        What was checked, with its tolerance; its other checks do not matter.
    ends : sequence of Check
        The check itself; or, where the truth is known only between two values, the
        same check at one instant once with either end as the truth.

    Returns
    -------
    Weighed
        Accepted where what was shown is within the tolerance of the whole range (the
        tolerance itself is within); not accepted where it is out of it whatever the
        truth; otherwise not shown. The judge counts all but the first as not accepted,
        so a reference that is hardly known never lets a bad instrument pass.

    Raises
    ------
    ValueError
        If there is no check, or their instants differ.
    """
    moments = History(replace(instrument, checks=tuple(ends))).after
    if len(moments) != 1:
        raise ValueError("Weigh one check at a time: all its ends have one instant.")
    (moment,) = moments
    history = History(replace(instrument, checks=()))
    low, high, most = moment.lowest_error, moment.highest_error, history.tolerance
    if moment.is_accepted:
        acceptance = Acceptance.ACCEPTED
    elif low > most or high < -most:
        acceptance = Acceptance.NOT_ACCEPTED
    else:
        acceptance = Acceptance.NOT_SHOWN
    return Weighed(acceptance, low, high, most, history.unit)
