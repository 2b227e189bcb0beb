"""What a formula may be given: finite numbers inside the range in which it holds."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from safety.errors import OutOfRange

Floats = NDArray[np.float64]


def within(
    quantity: str, values: ArrayLike, low: float, high: float, unit: str
) -> Floats:
    """Return the values as an array, or refuse them.

    Parameters
    ----------
    quantity : str
        What the values are, for the message.
    values : array_like
        Any shape; a number is an array of shape ``()``.
    low, high : float
        The range in which the formula holds, both ends included; may be infinite.
    unit : str
        The unit of all three.

    Returns
    -------
    numpy.ndarray of float64
        The same shape. Errs in no direction.

    Raises
    ------
    OutOfRange
        If a value lies outside, or is no finite number.

    Examples
    --------
    >>> float(within("salt", 3.5, 0, 26, "%"))
    3.5
    """
    array = np.asarray(values, dtype=np.float64)
    wrong = ~(np.isfinite(array) & (array >= low) & (array <= high))
    if wrong.any():
        first = array[wrong].flat[0] if array.ndim else array[()]
        raise OutOfRange(
            quantity, f"{first:g} {unit}", f"from {low:g} to {high:g} {unit}"
        )
    return array


def above_zero(quantity: str, value: float, unit: str) -> float:
    """Return a single number greater than zero, or refuse it.

    Parameters
    ----------
    quantity : str
        What the number is, for the message.
    value : float
        A divisor or a scale.
    unit : str
        Its unit.

    Returns
    -------
    float
        The same number. Errs in no direction.

    Raises
    ------
    OutOfRange
        If it is zero, negative, infinite or no number.

    Examples
    --------
    >>> above_zero("z", 7.5, "°C")
    7.5
    """
    if not (np.isfinite(value) and value > 0):
        raise OutOfRange(quantity, f"{value:g} {unit}", "above 0")
    return value
