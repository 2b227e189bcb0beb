"""What a batch's records say: plain frozen values that the judge reads."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from safety.limits.model import Limit

Integers = NDArray[np.int64]

MOST_DIGITS = 18  # what 64 bits hold for certain

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_US = timedelta(microseconds=1)
_SECOND = timedelta(seconds=1)


def us_of(instant: datetime) -> int:
    """Return microseconds since 1970-01-01 UTC, exactly.

    Parameters
    ----------
    instant : datetime
        With an offset.

    Returns
    -------
    int
        Microseconds.
    """
    return (instant - _EPOCH) // _US


def offset_s_of(instant: datetime) -> int:
    """Return the offset from UTC in which ``instant`` is written.

    Parameters
    ----------
    instant : datetime
        With an offset.

    Returns
    -------
    int
        Seconds, positive east of Greenwich; a part of a second is dropped.
    """
    return (instant.utcoffset() or timedelta()) // _SECOND


def decimals_of(value: Decimal) -> int:
    """Return how many decimals a finite number was written with.

    Parameters
    ----------
    value : Decimal
        A finite number.

    Returns
    -------
    int
        0 for a whole number, with or without trailing zeros.
    """
    exponent = value.as_tuple().exponent
    return -exponent if isinstance(exponent, int) and exponent < 0 else 0


@dataclass(frozen=True, slots=True)
class Amount:
    """A value and its unit, exactly as they were written."""

    value: Decimal
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One comparison of an instrument with a known truth."""

    at: datetime
    method: str
    shown: Amount
    true: Amount
    adjusted: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Instrument:
    """An instrument with its checks; ``tolerance`` None means the published default."""

    id: str
    measures: str
    tolerance: Amount | None = None
    check_every_days: Decimal | int | None = None
    checks: tuple[Check, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """When a step began and ended; ``end`` None while it goes on."""

    step: str
    start: datetime
    end: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One typed reading, in the unit in which it was read."""

    step: str
    quantity: str
    at: datetime
    value: Decimal
    unit: str
    place: str | None = None
    instrument: str | None = None
    entered_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """A logger's series: the same meaning as that many readings.

    ``at_us`` are microseconds since 1970-01-01 UTC, ``values`` are the readings times
    ``10 ** decimals``; both int64 of shape (n,), ``at_us`` in any order. ``offset_s``
    is the offset from UTC in which the instants were written, s: one for all, or one
    each, shape (n,); only calendar days depend on it.
    """

    step: str
    quantity: str
    unit: str
    at_us: Integers
    values: Integers
    decimals: int
    place: str | None = None
    instrument: str | None = None
    offset_s: int | Integers = 0


@dataclass(frozen=True, slots=True)
class Statement:
    """A thing that is on record, and whether it complies."""

    what: str
    complies: bool


@dataclass(frozen=True, slots=True)
class NamedDate:
    """A date that a limit may name, in its own offset."""

    what: str
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Product:
    """What was made: a name for people and the facts that select limits."""

    name: str = ""
    facts: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """All the records of one batch, and (where given) the limits to judge it by."""

    judged_at: datetime
    product: Product = field(default_factory=Product)
    code: str = ""
    instruments: tuple[Instrument, ...] = ()
    windows: tuple[Window, ...] = ()
    readings: tuple[Reading, ...] = ()
    traces: tuple[Trace, ...] = ()
    statements: tuple[Statement, ...] = ()
    dates: tuple[NamedDate, ...] = ()
    limits: tuple[Limit, ...] | None = None
