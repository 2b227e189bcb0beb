"""Balances of a lot: what is accounted for, what can be found, and whom to ask."""

import math

from safety.science.ranges import above_zero, within

_WHOLE_PCT = 100.0
_INFINITE = float("inf")


def share_pct(part: float, whole: float) -> float:
    """Return a part as a percentage of the whole; more than the whole is not hidden.

    Parameters
    ----------
    part, whole : float
        Weights or counts in one unit; ``part`` 0 or more, ``whole`` above 0.

    Returns
    -------
    float
        Percent. Above 100 something was counted twice or never written down.

    Raises
    ------
    OutOfRange
        If the part is negative, the whole not above 0, or one is no finite number.

    Notes
    -----
    Errs in no direction.

    Examples
    --------
    >>> share_pct(358, 362) < 99
    True
    """
    of = above_zero("the whole", whole, "")
    return float(within("a part", part, 0.0, _INFINITE, "")) / of * _WHOLE_PCT


def accounted_pct(
    *,
    made: float,
    on_hand: float,
    shipped_to_named: float,
    samples: float = 0.0,
    rework: float = 0.0,
    waste: float = 0.0,
) -> float:
    """Return how much of a lot is accounted for.

    Parameters
    ----------
    made : float
        What was made, in weight or in packages; above 0.
    on_hand, shipped_to_named, samples, rework, waste : float
        Where it went, in the same unit; only shipments whose receiver is named, only
        waste that is on record.

    Returns
    -------
    float
        Percent; below 100 something is missing, above 100 something is counted twice.

    Raises
    ------
    OutOfRange
        If a part is negative, ``made`` not above 0, or one is no finite number.

    Notes
    -----
    Errs in no direction; shipments to nobody in particular lower it.

    Examples
    --------
    >>> accounted_pct(made=10, on_hand=4, shipped_to_named=5, waste=1)
    100.0
    """
    parts = (on_hand, shipped_to_named, samples, rework, waste)
    return sum(share_pct(part, made) for part in parts)


def number_to_ask(receivers: int, *, percent: float) -> int:
    """Return how many receivers of a recalled lot are asked at a level of checks.

    Parameters
    ----------
    receivers : int
        How many received it, 0 or more.
    percent : float
        The share to be asked, 0 to 100.

    Returns
    -------
    int
        A whole number, rounded up: it errs towards asking one too many.

    Raises
    ------
    OutOfRange
        If there are fewer than none, or the share is no percentage.

    Examples
    --------
    >>> number_to_ask(51, percent=10)
    6
    """
    share = float(within("the share to be asked", percent, 0.0, _WHOLE_PCT, "%"))
    count = float(within("receivers", receivers, 0.0, _INFINITE, ""))
    return math.ceil(count * share / _WHOLE_PCT)
