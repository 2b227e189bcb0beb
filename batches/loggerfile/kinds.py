"""What a single cell could be, judged by its shape alone."""

from functools import lru_cache

from batches.loggerfile.bounds import SHAPES_REMEMBERED
from batches.loggerfile.moment_shapes import date_fields, instant_fields, time_fields
from batches.loggerfile.numbers import is_error_word, number_fields
from batches.loggerfile.shapes import Shaped, shape_of

INSTANT = "instant"
DATE = "date"
TIME = "time"
DOTTED = "date or time"
UNIX = "unix"
COMPACT = "date or number"
NUMBER = "number"
WORD = "error word"
TEXT = "text"
EMPTY = "empty"

MOMENTS = frozenset((INSTANT, DATE, DOTTED, UNIX, COMPACT))
VALUES = frozenset((NUMBER, WORD, EMPTY))
UNIX_SCALE_BY_DIGITS = {len("1700000000") + power: power for power in (0, len("000"))}
"""Ten digits count seconds, thirteen milliseconds."""


@lru_cache(maxsize=SHAPES_REMEMBERED)
def kind_of_shape(shape: str) -> str:
    """Name what cells of this shape could be."""
    if not shape:
        return EMPTY
    if instant_fields(shape):
        return INSTANT
    if shape.isdecimal() and date_fields(shape):
        return COMPACT
    if date_fields(shape):
        return DOTTED if time_fields(shape) else DATE
    if time_fields(shape):
        return TIME
    if is_unix(shape):
        return UNIX
    if number_fields(shape):
        return NUMBER
    return WORD if is_error_word(shape) else TEXT


def kind_of_cell(cell: str) -> str:
    """Name what one cell could be."""
    return kind_of_shape(shape_of(cell.strip()))


def is_unix(shape: str) -> bool:
    """Say whether a shape has as many digits as seconds since 1970 have today."""
    whole, _, decimals = shape.partition(".")
    return (
        set(shape) <= {"0", "."}
        and len(whole) in UNIX_SCALE_BY_DIGITS
        and set(decimals) <= {"0"}
    )


def counts_by_kind(column: Shaped) -> dict[str, int]:
    """Say how many cells of a column could be what."""
    counts: dict[str, int] = {}
    for shape, count in column.counts().items():
        kind = kind_of_shape(shape)
        counts[kind] = counts.get(kind, 0) + count
    return counts
