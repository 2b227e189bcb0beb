"""Writes: instruments and their checks."""

from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import transaction

from batches.checking import weighed
from batches.errors import RecordError
from batches.models import (
    Instrument,
    InstrumentCheck,
    InstrumentUse,
    Member,
    Premises,
    Producer,
)
from batches.recording import guards, rows
from batches.recording.instrument_uses import locked, use
from batches.recording.truths import PRESSURE_UNITS, Asked, truth_of
from safety.errors import UnknownName
from safety.judge.acceptance import Acceptance
from safety.limits import default_check_every_days, default_tolerance
from safety.quantities import QUANTITIES, units_of_instrument
from safety.units import convert_difference, symbol

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
    check_unit(measures, unit)
    if check_every_days is None:
        check_every_days = default_check_every_days()
    check_interval(check_every_days)
    return rows.add(
        Instrument,
        rows.signed(by, at),
        producer=producer,
        code=code,
        name=name.strip(),
        measures=measures,
        unit=unit,
        tolerance=check_tolerance(measures, tolerance, unit),
        check_every_days=check_every_days,
        created_at=at,
    )


@transaction.atomic
def record_check(
    instrument: Instrument,
    *,
    method: str,
    shown: Decimal | str,
    unit: str,
    occurred_at: datetime,
    by: Member,
    at: datetime,
    true: Decimal | str | None = None,
    premises: Premises | None = None,
    pressure: Decimal | str | None = None,
    pressure_unit: str = PRESSURE_UNITS[0],
    reference: str = "",
    reference_instrument: Instrument | None = None,
    certificate: str = "",
    uncertainty: Decimal | str | None = None,
    adjusted: bool = False,
    as_left: Decimal | str | None = None,
    as_left_at: datetime | None = None,
    out_of_use: bool = False,
    note: str = "",
    even_if_not_shown: bool = True,
    corrects: InstrumentCheck | None = None,
    reason: str = "",
    entry_id: UUID | str | None = None,
) -> InstrumentCheck:
    """Compare an instrument with a known truth, and say what was then done with it.

    Melting ice and boiling water need no ``true``; a reference needs to be named, with
    how closely it is known. ``adjusted`` if it was then set right (``as_left`` is what
    it then showed), ``out_of_use`` if it was put aside. ``even_if_not_shown`` False
    refuses a check that shows neither that the instrument is good nor that it is bad.
    """
    instrument = locked(instrument, by)
    rows.check_correction(corrects, reason, of=instrument, kind=InstrumentCheck)
    check_unit(instrument.measures, unit)
    guards.check_past("occurred_at", occurred_at, at=at)
    shown = _shown(instrument, "shown", shown, unit)
    content = {"instrument_id": instrument.pk, "method": method, "shown": shown}
    if (again := rows.repeated(InstrumentCheck, entry_id, content)) is not None:
        return again
    _check_method(instrument, method)
    asked = Asked(
        true=None if true is None else _shown(instrument, "true", true, unit),
        premises=premises,
        pressure=pressure,
        pressure_unit=pressure_unit,
        reference=reference,
        reference_instrument=reference_instrument,
        certificate=certificate,
        uncertainty=uncertainty,
    )
    truth = truth_of(instrument, method, unit, asked, occurred_at)
    check = rows.add(
        InstrumentCheck,
        instrument=instrument,
        method=method,
        shown=shown,
        true=truth.true,
        unit=unit,
        occurred_at=occurred_at,
        adjusted=adjusted,
        note=note.strip(),
        corrects=corrects,
        reason=reason.strip(),
        **truth.columns,
        **_left(instrument, as_left, as_left_at, unit, adjusted, occurred_at, at),
        **rows.identified(entry_id),
        **rows.signed(by, at),
    )
    if not even_if_not_shown:
        _check_shows(check)
    if out_of_use:
        words = f"Taken out of use after the check: showed {shown} for {truth.true}."
        use(instrument, InstrumentUse.OUT, words, occurred_at, by, at, check)
    return check


def _shown(
    instrument: Instrument, field: str, typed: Decimal | str, unit: str
) -> Decimal:
    value = guards.number(field, typed)
    guards.check_plausible(
        _widest_quantity(instrument.measures), value, unit, field=field
    )
    return value


def _check_shows(check: InstrumentCheck) -> None:
    """Refuse a check from which nobody can tell whether the instrument is good."""
    if weighed(check).acceptance is not Acceptance.NOT_SHOWN:
        return
    low, high = check.true_span
    better = (
        "Take the ice point, or give the pressure that the barometer shows."
        if check.method == Method.BOILING_POINT
        else "Take a reference that is known more closely."
    )
    raise RecordError(
        "even_if_not_shown",
        f"The truth lies between {low} and {high} {symbol(check.unit)}: {check.shown} "
        f"may be within the tolerance or not. {better} Recorded as it is, the check "
        "counts as not accepted.",
        "not-shown",
    )


def _left(
    instrument: Instrument,
    as_left: Decimal | str | None,
    as_left_at: datetime | None,
    unit: str,
    adjusted: bool,
    occurred_at: datetime,
    at: datetime,
) -> dict[str, Any]:
    if as_left is None or as_left == "":
        return {}
    if not adjusted:
        raise RecordError(
            "as_left",
            "What it showed afterwards belongs to an adjustment. Say that it was "
            "adjusted, or leave this empty.",
            "not-adjusted",
        )
    if as_left_at is None or as_left_at <= occurred_at:
        raise RecordError(
            "as_left_at",
            "Say when it was read again: after the check, for adjusting takes a while.",
            "wrong-order",
        )
    guards.check_past("as_left_at", as_left_at, at=at)
    value = _shown(instrument, "as_left", as_left, unit)
    return {"as_left": value, "as_left_at": as_left_at}


def check_interval(days: int) -> None:
    """Refuse an instrument that would be checked more often than once a day."""
    if days <= 0:
        raise RecordError(
            "check_every_days",
            "An instrument is checked every 1 day or more. Give the number of days.",
            "bad-interval",
        )


def check_tolerance(
    measures: str, tolerance: Decimal | str | None, unit: str
) -> Decimal | None:
    """Return a tolerance of an instrument's own, or refuse one wider than published."""
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


def check_unit(measures: str, unit: str) -> None:
    """Refuse a unit in which such an instrument cannot read."""
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


def _check_method(instrument: Instrument, method: str) -> None:
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
