"""Cells grouped by shape (every digit as 0), so that a column is read as a whole.

A logger writes its cells alike: 50,000 cells of a column have a handful of shapes. What
a shape means is worked out once, and the digits of all its cells are read together.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Rows = npt.NDArray[np.intp]
Digits = npt.NDArray[np.int32]
Span = tuple[int, int]

_TO_ZERO = str.maketrans("123456789", "000000000")


@dataclass(frozen=True, slots=True, eq=False)
class Group:
    """The cells of one shape: which rows they are in, and their text."""

    shape: str
    rows: Rows
    cells: Sequence[str]

    def digits(self) -> Digits:
        """Give one row for each cell and one column for each character."""
        width = len(self.shape)
        block = np.array(self.cells, dtype=f"<U{width}").view(np.uint32)
        return block.reshape(len(self.cells), width).astype(np.int32) - ord("0")


class Shaped:
    """The cells of one column, with the shape of each."""

    __slots__ = ("cells", "codes", "shapes")

    def __init__(self, cells: list[str]) -> None:
        self.cells = cells
        shaped = "\n".join(cells).translate(_TO_ZERO).split("\n") if cells else []
        code_by_shape = {
            shape: code for code, shape in enumerate(dict.fromkeys(shaped))
        }
        self.shapes = tuple(code_by_shape)
        self.codes = np.fromiter(
            map(code_by_shape.__getitem__, shaped), np.intp, len(shaped)
        )

    def __len__(self) -> int:
        return len(self.cells)

    def counts(self) -> dict[str, int]:
        """Say how often each shape occurs."""
        counted = np.bincount(self.codes, minlength=len(self.shapes))
        return dict(zip(self.shapes, counted.tolist(), strict=True))

    def groups(self) -> Iterator[Group]:
        """Give the cells shape by shape."""
        if len(self.shapes) == 1:
            yield Group(self.shapes[0], np.arange(len(self.cells)), self.cells)
            return
        order = np.argsort(self.codes, kind="stable")
        ends = np.cumsum(np.bincount(self.codes, minlength=len(self.shapes)))
        for shape, rows in zip(self.shapes, np.split(order, ends[:-1]), strict=True):
            yield Group(shape, rows, [self.cells[row] for row in rows.tolist()])


def whole_number(digits: Digits, span: Span) -> npt.NDArray[np.int64]:
    """Read the digits from the first to before the last column as one number."""
    value = np.zeros(len(digits), np.int64)
    for column in range(*span):
        value = value * 10 + digits[:, column]
    return value


def shape_of(cell: str) -> str:
    """Give the shape of one cell."""
    return cell.translate(_TO_ZERO)
