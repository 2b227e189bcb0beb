"""Every value of the loggers' series, side by side by instant."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from reports import wording
from reports.sheets import AnnexTable
from safety.controls import STEPS
from safety.units import symbol

MOST_ROWS = 20_000  # about ninety pages; more helps nobody
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def annex_tables(traces: Sequence[Any], zone: ZoneInfo) -> tuple[AnnexTable, ...]:
    """Return one table for each step, quantity and unit, with a column for each place."""
    by_table: dict[tuple[str, str, str], list[Any]] = {}
    for trace in traces:
        key = (trace.step, trace.quantity, trace.unit)
        by_table.setdefault(key, []).append(trace)
    ordered = sorted(by_table, key=lambda key: (STEPS.index(key[0]), *key[1:]))
    return tuple(_table(key, by_table[key], zone) for key in ordered)


def _table(
    key: tuple[str, str, str], traces: Sequence[Any], zone: ZoneInfo
) -> AnnexTable:
    step, quantity, unit = key
    title = f"{wording.title(step)}: {wording.quantity_name(quantity)}, {symbol(unit)}"
    places = tuple(trace.place or "value" for trace in traces)
    arrays = [trace.arrays() for trace in traces]
    instants = np.unique(np.concatenate([at_us for at_us, _ in arrays]))
    if instants.size > MOST_ROWS:
        says = (
            f"{instants.size:,} instants are too many to print. "
            "Every one is in the original file and in the batch file."
        )
        return AnnexTable(title=title, places=places, rows=(), says=says)
    cells = [[""] * instants.size for _ in traces]
    for column, trace, (at_us, values) in zip(cells, traces, arrays, strict=True):
        where = np.searchsorted(instants, at_us)
        for i, value in zip(where.tolist(), values.tolist(), strict=True):
            figure = _figure(value, trace.decimals)
            column[i] = f"{column[i]} {figure}".strip()
    rows = zip(_times(instants.tolist(), zone), *cells, strict=True)
    return AnnexTable(title=title, places=places, rows=tuple(rows))


def _figure(value: int, decimals: int) -> str:
    return f"{value / 10**decimals:.{decimals}f}".replace("-", "−")


def _times(instants: Sequence[int], zone: ZoneInfo) -> list[str]:
    """Return wall times, with the day where it is a new one."""
    shown, times = None, []
    for at_us in instants:
        wall = (EPOCH + timedelta(microseconds=at_us)).astimezone(zone)
        seconds = f"{wall:%H:%M:%S}" if wall.second else f"{wall:%H:%M}"
        day = f"{wall.day} {wall:%b}"
        times.append(seconds if day == shown else f"{day} {seconds}")
        shown = day
    return times
