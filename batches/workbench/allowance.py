"""Printed longest times in bands of temperature, as the sciences take them."""

from functools import cache

from safety.errors import LimitFileError
from safety.limits import table
from safety.limits.printed import Duration, Row, as_range
from safety.science.allowances import Band
from safety.units import f_from_c

TABLE = "us-fda.hazards-guide.table-a-2"
_MINUTES_PER_H = 60


@cache
def bands_of(bacteria: str) -> tuple[Band, ...]:
    """Return the bands of one kind of bacteria, °F; a gap belongs to the warmer band."""
    bands: list[Band] = []
    end: float | None = None
    for row in table(TABLE).rows:
        if row["bacteria"] != bacteria:
            continue
        degrees, at_most = as_range(row["fahrenheit"]), row["at_most"]
        if not isinstance(at_most, Duration):
            raise LimitFileError(TABLE, bacteria, "a band without a time.", "Add one.")
        start = _coldest(row) if end is None else end
        bands.append(
            Band(
                above=start,
                hours=float(at_most.minutes) / _MINUTES_PER_H,
                includes=degrees.low_belongs if end is None else False,
            )
        )
        end = None if degrees.high is None else float(degrees.high)
    return tuple(bands)


def _coldest(row: Row) -> float:
    """Return where the coldest band begins, °F.

    Two kinds print one single degree Fahrenheit; beside it in °C stands a wider band for
    one of them: the colder start counts more.
    """
    fahrenheit, celsius = as_range(row["fahrenheit"]), as_range(row["celsius"])
    if fahrenheit.low is None or celsius.low is None:
        raise LimitFileError(
            TABLE, str(row["bacteria"]), "a band without a start.", "Add it."
        )
    if fahrenheit.low != fahrenheit.high:
        return float(fahrenheit.low)
    return min(float(fahrenheit.low), float(f_from_c(celsius.low)))
