"""A last line that breaks off: its last number may lack digits."""

from dataclasses import replace

from batches.loggerfile.kinds import NUMBER, kind_of_cell, kind_of_shape
from batches.loggerfile.numbers import BROKEN_OFF
from batches.loggerfile.shapes import Shaped
from batches.loggerfile.table import Table


def mark_broken_end(table: Table, *, last_line: int) -> Table:
    """Mark the last number of a file that ends without an end of line.

    Only where it has fewer decimals than every other number of its column.
    """
    column = table.columns[-1]
    cell = column.cells[-1]
    others = [
        _decimals(shape)
        for shape in Shaped(column.cells[:-1]).shapes
        if kind_of_shape(shape) == NUMBER
    ]
    is_last = table.lines[-1] == last_line
    if not is_last or not others or kind_of_cell(cell) != NUMBER:
        return table
    if _decimals(cell) >= min(others):
        return table
    ended = Shaped([*column.cells[:-1], cell + BROKEN_OFF])
    return replace(table, columns=(*table.columns[:-1], ended))


def _decimals(shape: str) -> int:
    marked = max(shape.rfind("."), shape.rfind(","))
    return 0 if marked < 0 else sum(map(str.isdigit, shape[marked:]))
