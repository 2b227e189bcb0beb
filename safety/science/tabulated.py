"""Between the rows of a printed table: a cubic through the four rows nearest."""

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike

from safety.errors import OutOfRange
from safety.science.ranges import Floats

_NEIGHBOURS = 4  # own figure: rows that one cubic goes through
_HALVINGS = 60  # own figure: more would change no digit of a float


def between(xs: ArrayLike, ys: ArrayLike, x: float) -> Floats:
    """Return the row of a table at ``x``, between its printed rows.

    Parameters
    ----------
    xs : array_like, shape (n,)
        What the rows go by, rising, n >= 4; any unit.
    ys : array_like, shape (n,) or (n, k)
        The rows; any unit.
    x : float
        Where, in the unit of ``xs``. The caller says how far the table holds.

    Returns
    -------
    numpy.ndarray of float64, shape () or (k,)
        The row there, in the unit of ``ys``.

    Notes
    -----
    A cubic (Lagrange) through the four rows nearest. For a smooth table it errs far below
    the last printed digit, in no known direction. Beyond the ends it goes on along the last
    cubic.
    Source: any textbook of numerical analysis.

    Examples
    --------
    >>> float(between([0, 1, 2, 3, 4], [0, 1, 8, 27, 64], 2.5))
    15.625
    """
    rows, values = np.asarray(xs, np.float64), np.asarray(ys, np.float64)
    first = int(np.searchsorted(rows, x)) - _NEIGHBOURS // 2
    first = min(max(first, 0), len(rows) - _NEIGHBOURS)
    near, near_values = rows[first:][:_NEIGHBOURS], values[first:][:_NEIGHBOURS]
    total = np.zeros(values.shape[1:])
    for at, row in enumerate(near):
        others = np.delete(near, at)
        total = total + near_values[at] * np.prod((x - others) / (row - others))
    return np.asarray(total, np.float64)


def solve(
    rising: Callable[[float], float], low: float, high: float, aim: float, *, what: str
) -> float:
    """Return where a rising function reaches a value, between two ends.

    Parameters
    ----------
    rising : callable
        From a number to a number; rises between ``low`` and ``high``.
    low, high : float
        Where it may be, in the unit of its argument.
    aim : float
        The value to reach, in the unit of what it returns.
    what : str
        What the value is, for the message.

    Returns
    -------
    float
        The argument, to the last digits of a float; errs in no direction.

    Raises
    ------
    OutOfRange
        If the function does not reach the value between the ends.

    Notes
    -----
    Bisection. Source: any textbook of numerical analysis.

    Examples
    --------
    >>> round(solve(lambda x: x * x, 0, 10, 9.0, what="square"), 6)
    3.0
    """
    least, most = rising(low), rising(high)
    if not least <= aim <= most:
        raise OutOfRange(what, f"{aim:g}", f"from {least:.4g} to {most:.4g}")
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if rising(middle) < aim:
            low = middle
        else:
            high = middle
    return (low + high) / 2
