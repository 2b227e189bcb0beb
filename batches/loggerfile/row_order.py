"""How the rows of a file run: in order, backwards, and how many are repeated."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from batches.loggerfile.columns import Roles
from batches.loggerfile.table import Table
from batches.loggerfile.zones import Flags, Micros

OLDEST_FIRST, NEWEST_FIRST, MIXED = "oldest first", "newest first", "mixed"


@dataclass(frozen=True, slots=True)
class RowOrder:
    """In which order rows run, how many step back, how many are said again."""

    runs: str
    out_of_order: int
    repeated: int


def row_order(
    table: Table,
    roles: Roles,
    at_us: Micros,
    is_read: Flags,
    names: npt.NDArray[np.int64],
) -> RowOrder:
    """Compare each row with the one before it of the same sensor."""
    rows = np.flatnonzero(is_read)
    rows = rows[np.argsort(names[rows], kind="stable")]
    at, name = at_us[rows], names[rows]
    steps = np.diff(at)[name[1:] == name[:-1]]
    back, on = int((steps < 0).sum()), int((steps > 0).sum())
    repeated = _repeated(table, roles, rows, at, name)
    if not back:
        return RowOrder(OLDEST_FIRST, 0, repeated)
    if not on:
        return RowOrder(NEWEST_FIRST, 0, repeated)
    return RowOrder(MIXED, min(back, on), repeated)


def _repeated(
    table: Table,
    roles: Roles,
    rows: npt.NDArray[np.intp],
    at: Micros,
    name: npt.NDArray[np.int64],
) -> int:
    """Count rows that say again what an earlier row of the same instant said."""
    order = np.lexsort((name, at))
    same = (np.diff(at[order]) == 0) & (np.diff(name[order]) == 0)
    if not same.any():
        return 0
    columns = [table.columns[column].cells for column in roles.sensors]
    among = order[np.append(same, False) | np.append(False, same)]
    said = [
        (moment, code, *(cells[row] for cells in columns))
        for moment, code, row in zip(
            at[among].tolist(), name[among].tolist(), rows[among].tolist(), strict=True
        )
    ]
    return len(said) - len(set(said))
