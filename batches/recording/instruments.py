"""Writes: instruments and their checks."""

from datetime import datetime
from decimal import Decimal

from django.db import transaction

from batches.errors import RecordError
from batches.models import Instrument, InstrumentCheck, Member, Producer
from batches.recording import guards, rows
from safety.errors import UnknownName
from safety.limits import default_check_every_days, default_tolerance
from safety.quantities import QUANTITIES, units_of_instrument
from safety.units import convert, convert_difference

Method = InstrumentCheck.Method


@transaction.atomic
def add_instrument(
    producer: Producer,
    *,
    code: str,
    name: str = "",
    measures: str,
    unit: str,
    tolerance: Decimal | str | None = None,
    check_every_days: int | None = None,
    by: Member,
    at: datetime,
) -> Instrument:
    """Put an instrument into use.

    Without a tolerance the published one holds; without days the usual ones do.
    """
    guards.check_may(by, producer, "check")
    guards.check_aware("at", at)
    code = guards.check_code("code", code, "instrument")
    if producer.instruments.filter(code=code).exists():
        raise RecordError(
            "code", f"There is already an instrument {code}. Use another.", "taken"
        )
    _check_unit(measures, unit)
    if check_every_days is None:
        check_every_days = default_check_every_days()
    if check_every_days <= 0:
        raise RecordError(
            "check_every_days",
            "An instrument is checked every 1 day or more. Give the number of days.",
            "bad-interval",
        )
    return rows.add(
        Instrument,
        rows.signed(by, at),
        producer=producer,
        code=code,
        name=name.strip(),
        measures=measures,
        unit=unit,
        tolerance=_tolerance(measures, tolerance, unit),
        check_every_days=check_every_days,
        created_at=at,
    )


@transaction.atomic
def record_check(
    instrument: Instrument,
    *,
    method: str,
    shown: Decimal | str,
    true: Decimal | str,
    unit: str,
    occurred_at: datetime,
    by: Member,
    at: datetime,
    adjusted: bool = False,
    note: str = "",
    corrects: InstrumentCheck | None = None,
    reason: str = "",
) -> InstrumentCheck:
    """Compare an instrument with a known truth; ``adjusted`` if it was then set right."""
    instrument = rows.held(instrument)
    guards.check_may(by, instrument.producer, "check")
    rows.check_correction(corrects, reason, of=instrument, kind=InstrumentCheck)
    _check_unit(instrument.measures, unit)
    guards.check_past("occurred_at", occurred_at, at=at)
    shown, true = guards.number("shown", shown), guards.number("true", true)
    widest = _widest_quantity(instrument.measures)
    guards.check_plausible(widest, shown, unit, field="shown")
    guards.check_plausible(widest, true, unit, field="true")
    _check_method(instrument, method, true, unit)
    return rows.add(
        InstrumentCheck,
        instrument=instrument,
        method=method,
        shown=shown,
        true=true,
        unit=unit,
        occurred_at=occurred_at,
        adjusted=adjusted,
        note=note.strip(),
        corrects=corrects,
        reason=reason.strip(),
        **rows.signed(by, at),
    )


def _tolerance(
    measures: str, tolerance: Decimal | str | None, unit: str
) -> Decimal | None:
    if tolerance is None:
        return None
    value = guards.positive("tolerance", tolerance)
    widest, its_unit, published = default_tolerance(measures)
    if convert_difference(value, unit, its_unit) > widest:
        raise RecordError(
            "tolerance",
            f"{value} {unit} is more than the {widest} {its_unit} allowed "
            f"({published.source.cite()}). Leave it blank or write less.",
            "tolerance-too-wide",
        )
    return value


def _check_unit(measures: str, unit: str) -> None:
    try:
        units = units_of_instrument(measures)
    except UnknownName as error:
        raise RecordError("measures", str(error), "unknown-kind") from error
    if unit not in units:
        raise RecordError(
            "unit",
            f"{unit} cannot measure {measures}; use {' or '.join(units)}.",
            "wrong-unit",
        )


def _widest_quantity(measures: str) -> str:
    return max(
        (known for known in QUANTITIES.values() if known.instrument == measures),
        key=lambda known: known.highest - known.lowest,
    ).name


def _check_method(
    instrument: Instrument, method: str, true: Decimal, unit: str
) -> None:
    if method not in Method.values:
        raise RecordError(
            "method",
            f"There is no check called {method!r}. Use {', '.join(Method.values)}.",
            "unknown-method",
        )
    if method != Method.REFERENCE and instrument.measures != "temperature":
        raise RecordError(
            "method",
            f"{instrument.code} measures {instrument.measures}: check it with a "
            "reference.",
            "wrong-method",
        )
    if method == Method.ICE_POINT and true != convert(0, "degC", unit):
        raise RecordError(
            "true",
            f"Melting ice is {float(convert(0, 'degC', unit)):g} {unit}, not {true}. "
            "For another truth choose the check against a reference.",
            "wrong-truth",
        )
