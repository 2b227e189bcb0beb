"""Builders of invented sheets."""

from datetime import datetime, timezone

import numpy as np

from reports.sheets import Bound, CurveSheet, Deadline, Line

START = datetime(2025, 7, 8, 12, 13, tzinfo=timezone.utc)
MIN_US = 60_000_000


def at_us(minutes, start=START):
    """Return instants some minutes after the start."""
    base = int(start.timestamp()) * 1_000_000
    return base + (np.asarray(minutes, dtype=float) * MIN_US).astype(np.int64)


def a_line(label="", minutes=(0, 30, 60), values=(150.0, 120.0, 90.0)):
    return Line(
        label=label, at_us=at_us(minutes), values=np.asarray(values, dtype=float)
    )


def a_curve(**changes):
    """Return a cooling curve of one place, with one deadline."""
    given = {
        "slug": "cooling",
        "title": "Cooling",
        "description": "Eleven readings, falling.",
        "caption": "Dots: readings.",
        "unit": "°F",
        "zone": "America/Detroit",
        "lines": (a_line(),),
        "start_us": int(at_us(0)),
        "end_us": int(at_us(60)),
    }
    return CurveSheet(**(given | changes))
