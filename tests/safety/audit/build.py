"""Builds records for the checks of the record: small, clean, changed in one place."""

from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import count
from zoneinfo import ZoneInfo

import numpy as np

from safety.audit.parts import Parts
from safety.audit.record import Entry, LotUse, Plan, Record, RecordedReading, Report
from safety.judge.evidence import Amount, Check, Instrument, Trace, Window, us_of
from safety.limits.model import DwellLimit, StayLimit, ValueLimit

ZONE = ZoneInfo("America/Detroit")
NUMBERS = count(1)


def t(text):
    """Return a local instant; a bare time of day is that of the day of smoking."""
    day = "" if "-" in text else "2025-06-05T"
    return datetime.fromisoformat(day + text).replace(tzinfo=ZONE)


def minutes(number):
    return timedelta(minutes=number)


NOW = t("2025-06-20T12:00")


def entry(at, *, late_min=0, kind="statement", what="said", **told):
    told = {"by": "IF", "number": next(NUMBERS)} | told
    return Entry(
        kind=kind,
        what=what,
        observed_at=t(at),
        entered_at=t(at) + minutes(late_min),
        **told,
    )


def reading(at, value="38.0", *, late_min=0, **told):
    told = {
        "by": "IF",
        "number": next(NUMBERS),
        "step": "cooling",
        "quantity": "core-temperature",
        "place": "thickest",
        "unit": "degF",
        "instrument": "H1",
    } | told
    observed = t(at) if isinstance(at, str) else at
    try:
        number = Decimal(value)
    except ArithmeticError:
        number = None
    return RecordedReading(
        kind="reading",
        what=value,
        observed_at=observed,
        entered_at=(observed or NOW) + minutes(late_min),
        typed=value,
        value=number,
        **told,
    )


def readings(values, *, start="12:00", every_min=30, **told):
    first = t(start)
    return tuple(
        reading(first + minutes(every_min * place), value, **told)
        for place, value in enumerate(values)
    )


def trace(values, *, start="07:30", every_min=10, **told):
    told = {
        "step": "heating",
        "quantity": "core-temperature",
        "place": "P1",
        "unit": "degF",
        "instrument": "P1",
    } | told
    first = us_of(t(start))
    return Trace(
        at_us=np.array(
            [first + round(every_min * place * 60e6) for place in range(len(values))],
            dtype=np.int64,
        ),
        values=np.array([round(float(value) * 10) for value in values], dtype=np.int64),
        decimals=1,
        **told,
    )


def window(step, start, end=None):
    return Window(step=step, start=t(start), end=t(end) if end else None)


def ice(day, shown="32.0", *, true="32.0", at="06:40", method="ice-point", **told):
    return Check(
        at=t(f"{day}T{at}"),
        method=method,
        shown=Amount(Decimal(shown), "degF"),
        true=Amount(Decimal(true), "degF"),
        **told,
    )


def instrument(*checks, name="H1", every_days=7, tolerance="2.0"):
    return Instrument(
        id=name,
        measures="temperature",
        tolerance=Amount(Decimal(tolerance), "degF"),
        check_every_days=every_days,
        checks=checks,
    )


HOLD = DwellLimit(
    id="hold",
    kind="dwell_at_least",
    control_point="heating",
    quantity="core-temperature",
    value=Decimal(145),  # FDA Hazards and Controls Guidance, ch. 13
    unit="degF",
    minutes=Decimal(30),
    check_every_min=Decimal(15),
)
STORE = StayLimit(
    id="store",
    kind="stay_at_most",
    control_point="cold-holding",
    quantity="air-temperature",
    value=Decimal(40),  # invented firm's limit
    unit="degF",
    check_every_min=Decimal(60),
)
SALT = ValueLimit(
    id="salt",
    kind="at_least",
    control_point="packing",
    quantity="water-phase-salt",
    value=Decimal("3.5"),  # FDA Hazards and Controls Guidance, ch. 13
    unit="percent",
)
SCHEDULE = {
    "thickest_mm": "32",
    "minimum_h": "10",
    "ratio": "2.0",
    "support": "study S-2",
    "probes": "2",
}
PLAN = Plan(name="Plan v3", signed_at=t("2025-06-02T06:00"), schedule=SCHEDULE)
STEPS = (
    window("curing", "2025-06-04T19:10", "06:20"),
    window("heating", "07:30", "12:00"),
    window("cooling", "12:00", "17:00"),
    window("packing", "17:10", "17:40"),
)


def a_record(**changed):
    """Return a record in which nothing is wrong, as far as it goes, but for a change."""
    usual = {
        "now": NOW,
        "code": "B01",
        "firm": "Brackenshoal Smokehouse",
        "address": "14 Ropewalk Lane",
        "product": "Hot-smoked coho",
        "started_at": t("2025-06-04T19:00"),
        "jurisdictions": ("US-MI", "US", "any"),
        "programme": "seafood-processor",
        "windows": STEPS,
        "lots": (LotUse(lot="RL-01", mass_kg=Decimal(14), received_kg=Decimal(45)),),
        "plan": PLAN,
    }
    return Record(**(usual | changed))


def with_parts(record=None, **parts):
    return replace(record or a_record(), parts=Parts(**parts))


def report(sampled="2025-06-06T08:00", reported=None, read=None, **told):
    return Report(
        laboratory="Tidewrack Analytical",
        sampled_at=t(sampled),
        reported_at=t(reported) if reported else None,
        read_at=t(read) if read else None,
        **told,
    )
