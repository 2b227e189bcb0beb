"""How much of a printed allowance of time several bands of temperature use up together.

The bands are fixed and printed; nothing is interpolated between them. The publisher does
not say how times in several bands add up: a share above 1 where the printed rule itself
is met is a warning, never a failure, and a share below 1 is no proof.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from safety.errors import OutOfRange
from safety.science.ranges import above_zero, within

_INFINITE = float("inf")
HALF_USED, ALL_USED = 0.5, 1.0  # own figures: when to say so


class Used(Enum):
    """What a share of an allowance says."""

    LITTLE = "less than half of the printed time is used up"
    MUCH = "more than half of the printed time is used up"
    WARNING = "the printed times are used up together: ask a process authority"
    MISSED = "the printed rule itself is missed"


@dataclass(frozen=True, slots=True)
class Band:
    """From which temperature on a longest time holds, up to where the next band begins."""

    above: float  # the band begins here where ``includes``, else just above
    hours: float
    includes: bool = True

    def holds_from(self, temperature: float) -> bool:
        """Say whether a temperature lies at or beyond the start of the band.

        Parameters
        ----------
        temperature : float
            In the unit of the bands.

        Returns
        -------
        bool
            Exact: errs in no direction.
        """
        return temperature > self.above or (self.includes and temperature == self.above)


def allowance_fraction(
    stretches: Sequence[tuple[float, float]],
    bands: Sequence[Band],
) -> float:
    """Return which share of the printed times stretches at temperatures use up.

    Parameters
    ----------
    stretches : sequence of tuple of float, shape (n, 2)
        Hours, and the warmest temperature of each stretch with what the thermometer may
        be off, in the unit of the bands.
    bands : sequence of Band
        One kind of bacteria, coldest first. Where the printed bands leave a gap, as from
        50 to 51 °F, the warmer band begins just above the end of the colder one.

    Returns
    -------
    float
        Sum of hours over the hours of the band; without a unit. 0 below the first band.

    Raises
    ------
    OutOfRange
        If a time is negative, a value no finite number, or the bands are not in order.

    Notes
    -----
    With constant bands at the time of their warmest degree the sum errs to too much; it
    is stricter than the publisher's own rule of nested times. One allowance is not one
    amount of growth: never to be turned into growth.
    Source: FDA, Fish and Fishery Products Hazards and Controls Guidance, Appendix 4,
    Table A-2, for bands; which says that its times may not be interpolated.

    Examples
    --------
    >>> salmonella = [Band(41.4, 48), Band(50, 5, False), Band(70, 2, False)]
    >>> allowance_fraction([(2, 60), (2, 75)], salmonella)
    1.4
    """
    starts = [(band.above, not band.includes) for band in bands]
    if not bands or starts != sorted(set(starts)):
        raise OutOfRange("bands", str(starts), "in order, each warmer than the last")
    total = 0.0
    for hours, warmest in stretches:
        lasted = float(within("time", hours, 0.0, _INFINITE, "h"))
        food = float(within("temperature", warmest, -_INFINITE, _INFINITE, "°"))
        inside = [band for band in bands if band.holds_from(food)]
        if inside:
            total += lasted / above_zero("longest time", inside[-1].hours, "h")
    return total


def used(fraction: float, *, rule_is_met: bool) -> Used:
    """Return what a share says, beside the publisher's own rule.

    Parameters
    ----------
    fraction : float
        As `allowance_fraction` returns it, 0 or more.
    rule_is_met : bool
        Whether the printed rule, of one band inside another, is met.

    Returns
    -------
    Used
        The printed rule decides; a share above 1 with the rule met is a warning. Errs to
        warn.

    Raises
    ------
    OutOfRange
        If the share is negative or no finite number.

    Examples
    --------
    >>> used(1.4, rule_is_met=True).name
    'WARNING'
    """
    share = float(within("share of the allowance", fraction, 0.0, _INFINITE, ""))
    if not rule_is_met:
        return Used.MISSED
    if share > ALL_USED:
        return Used.WARNING
    return Used.MUCH if share > HALF_USED else Used.LITTLE
