"""The chart of individual values: where they are expected, by how they moved so far."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import fmean

from safety.errors import OutOfRange

FEWEST = 2
_SIGMAS = 3  # how far from the middle the edges of such a chart lie, by custom
# Of two values of a normal quantity the range is on average 2 / sqrt(pi) standard
# deviations, with a deviation of its own of sqrt(2 - 4 / pi): integrals of the normal law.
_MEAN_RANGE = 2 / math.sqrt(math.pi)
_RANGE_DEVIATION = math.sqrt(2 - 4 / math.pi)


@dataclass(frozen=True, slots=True)
class Individuals:
    """The middle and the edges of a chart, in the unit of the values."""

    ranges: tuple[float, ...]
    mean_range: float
    centre: float
    lower: float
    upper: float
    range_upper: float

    def is_outside(self, value: float) -> bool:
        """Say whether a value lies beyond an edge of the chart.

        Returns
        -------
        bool
            False on the edge itself.
        """
        return not self.lower <= value <= self.upper


def individuals(values: Sequence[float]) -> Individuals:
    """Return the middle and the edges of a chart of individual values.

    Parameters
    ----------
    values : Sequence[float], shape (n,), any one unit
        One value per batch in the order in which they were made, n at least 2.

    Returns
    -------
    Individuals, in the unit of the values
        Edges at three deviations, the deviation by the mean moving range.

    Raises
    ------
    OutOfRange
        If there are fewer than two values.

    Notes
    -----
    The edges say where values are expected if nothing changes; they are no limits of
    safety, and a value inside them may well miss one. A single odd value widens them: they
    err wide. The usual printed constants, 2.66 and 3.267, are these ones rounded.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.2.2, Individuals control
    charts.

    Examples
    --------
    >>> chart = individuals([4.0, 4.2, 4.1])
    >>> [round(chart.lower, 3), round(chart.centre, 3), round(chart.upper, 3)]
    [3.701, 4.1, 4.499]
    """
    if len(values) < FEWEST:
        raise OutOfRange("the number of values", str(len(values)), f"from {FEWEST}")
    ranges = tuple(abs(after - before) for before, after in pairwise(values))
    mean_range, centre = fmean(ranges), fmean(values)
    reach = _SIGMAS * mean_range / _MEAN_RANGE
    return Individuals(
        ranges=ranges,
        mean_range=mean_range,
        centre=centre,
        lower=centre - reach,
        upper=centre + reach,
        range_upper=mean_range * (1 + _SIGMAS * _RANGE_DEVIATION / _MEAN_RANGE),
    )
