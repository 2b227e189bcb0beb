"""AM, PM and offsets that stand in a column of their own, put behind their times."""

import re
from dataclasses import replace

from batches.loggerfile.kinds import DOTTED, INSTANT, TIME, counts_by_kind
from batches.loggerfile.shapes import Shaped
from batches.loggerfile.table import Table

_HALF = re.compile(r"[ap]\.?\s?m\.?", re.IGNORECASE)
_OFFSET = re.compile(r"(?:Z|UTC|GMT)|(?:UTC|GMT)?\s?[+\-−]\d{1,2}(?::?\d{2})?")
_ABBREVIATION = re.compile(r"[A-Z]{3,5}")
_ZONE_HEADING = re.compile(r"zone\b|\btz\b|offset|\butc\b|\bgmt\b", re.IGNORECASE)


def join_suffixes(table: Table) -> Table:
    """Put what completes a time behind the time to its left."""
    columns = list(table.columns)
    joined = set()
    for index, column in enumerate(table.columns):
        target = _time_before(columns, index)
        if target is not None and _is_suffix(column, table.headings[index]):
            pairs = zip(columns[target].cells, column.cells, strict=True)
            columns[target] = Shaped([f"{time} {end}".strip() for time, end in pairs])
            joined.add(index)
    return replace(table, columns=tuple(columns), suffixes=frozenset(joined))


def _is_suffix(column: Shaped, heading: str) -> bool:
    filled = {cell for cell in column.cells if cell}
    if not filled or len(column.shapes) > len("AM PM UTC"):
        return False
    if all(map(_HALF.fullmatch, filled)):
        return True
    is_named = bool(_ZONE_HEADING.search(heading))
    has_sign = any(":" in cell or cell.isalpha() for cell in filled)
    if all(map(_OFFSET.fullmatch, filled)):
        return is_named or has_sign
    return is_named and all(map(_ABBREVIATION.fullmatch, filled))


def _time_before(columns: list[Shaped], index: int) -> int | None:
    for target in range(index - 1, -1, -1):
        counts = counts_by_kind(columns[target])
        if 2 * sum(counts.get(kind, 0) for kind in (TIME, DOTTED, INSTANT)) > len(
            columns[target]
        ):
            return target
    return None
