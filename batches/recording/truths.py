"""What an instrument should have shown in a check, and how closely that is known."""

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from fractions import Fraction
from typing import Any

from batches.checking import weighed
from batches.errors import RecordError
from batches.models import Instrument, InstrumentCheck, InstrumentUse, Premises
from batches.recording import guards
from safety.judge.acceptance import Acceptance
from safety.science.boiling import boiling_span, is_pressure_of
from safety.units import convert, convert_difference, symbol

# Own figures: the ends of a range are rounded outwards to so many decimals.
STEP, FINE = Decimal("0.01"), Decimal("0.0001")
PRESSURE_UNITS = ("hPa", "inHg")
Method = InstrumentCheck.Method


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a person says of the truth of a check; what is not said stays empty."""

    true: Decimal | str | None = None
    premises: Premises | None = None
    pressure: Decimal | str | None = None
    pressure_unit: str = PRESSURE_UNITS[0]
    reference: str = ""
    reference_instrument: Instrument | None = None
    certificate: str = ""
    uncertainty: Decimal | str | None = None


@dataclass(frozen=True, slots=True)
class Truth:
    """The likeliest truth, and the columns that say between what it lies and why."""

    true: Decimal
    columns: dict[str, Any] = field(default_factory=dict)


def truth_of(
    instrument: Instrument, method: str, unit: str, asked: Asked, occurred_at: datetime
) -> Truth:
    """Return what the instrument should have shown, or refuse what cannot be."""
    if method == Method.ICE_POINT:
        return _melting_ice(unit, asked)
    if method == Method.BOILING_POINT:
        return _boiling_water(instrument, unit, asked)
    return _reference(instrument, unit, asked, occurred_at)


def _melting_ice(unit: str, asked: Asked) -> Truth:
    exact = convert(0, "degC", unit)
    true = Decimal(exact.numerator) / Decimal(exact.denominator)
    if asked.true is None:
        return Truth(true)
    typed = guards.number("true", asked.true)
    if typed != true:
        raise RecordError(
            "true",
            f"Melting ice is {true:f} {symbol(unit)}, not {typed}. "
            "For another truth choose the check against a reference.",
            "wrong-truth",
        )
    return Truth(typed)


def _boiling_water(instrument: Instrument, unit: str, asked: Asked) -> Truth:
    premises = asked.premises or instrument.producer.premises.order_by("pk").first()
    if premises is None:
        raise RecordError(
            "method",
            "No premises are on record, so nobody knows how high you are. "
            "Use the ice point.",
            "no-premises",
        )
    guards.check_own(premises, instrument.producer, "premises", "premises")
    elevation_m = float(premises.elevation_m)
    pressure, pressure_hpa = _pressure(asked, elevation_m)
    try:
        span = boiling_span(elevation_m, pressure_hpa)
    except ValueError as error:
        raise RecordError(
            "method", f"{error} Use the ice point.", "no-truth"
        ) from error
    low = _rounded(span.low_c, unit, ROUND_FLOOR)
    high = _rounded(span.high_c, unit, ROUND_CEILING)
    true = Decimal(str(round(float(convert(Fraction(span.likely_c), "degC", unit)), 2)))
    if asked.true is not None:
        true = guards.number("true", asked.true)
        if not low <= true <= high:
            raise RecordError(
                "true",
                f"Water boils here between {low} and {high} {symbol(unit)}, not at "
                f"{true}. Leave it empty, or check the elevation and the pressure.",
                "wrong-truth",
            )
    return Truth(
        true,
        {
            "true_low": low,
            "true_high": high,
            "elevation_m": premises.elevation_m,
            "pressure": pressure,
            "pressure_unit": "" if pressure is None else asked.pressure_unit,
        },
    )


def _pressure(asked: Asked, elevation_m: float) -> tuple[Decimal | None, float | None]:
    if asked.pressure is None or asked.pressure == "":
        return None, None
    if asked.pressure_unit not in PRESSURE_UNITS:
        raise RecordError(
            "pressure_unit",
            f"A pressure is written in {' or '.join(PRESSURE_UNITS)}.",
            "wrong-unit",
        )
    pressure = guards.positive("pressure", asked.pressure)
    hpa = float(convert(pressure, asked.pressure_unit, "hPa"))
    if not is_pressure_of(hpa, elevation_m):
        raise RecordError(
            "pressure",
            f"{pressure} {asked.pressure_unit} cannot be the pressure at "
            f"{elevation_m:g} m. Read the barometer on the spot: the figure of a "
            "weather report is reduced to sea level and makes a bad thermometer look "
            "good. Or leave it empty.",
            "implausible",
        )
    return pressure, hpa


def _rounded(value_c: float, unit: str, towards: str) -> Decimal:
    exact = convert(Fraction(value_c), "degC", unit)
    wide = Decimal(exact.numerator) / Decimal(exact.denominator)
    return wide.quantize(STEP, rounding=towards)


def _reference(
    instrument: Instrument, unit: str, asked: Asked, occurred_at: datetime
) -> Truth:
    if asked.true is None:
        raise RecordError("true", "Say what the reference showed.", "blank")
    true = guards.number("true", asked.true)
    if asked.reference_instrument is None:
        guards.check_text("reference", asked.reference, "which reference it was")
    if asked.uncertainty is None or asked.uncertainty == "":
        raise RecordError(
            "uncertainty",
            "Say how closely the reference is known: its certificate, its maker or the "
            "label of the buffer tells. Not knowing is not zero.",
            "blank",
        )
    uncertainty = guards.positive("uncertainty", asked.uncertainty)
    down = up = Fraction(uncertainty)
    if asked.reference_instrument is not None:
        below, above = _doubt(instrument, asked.reference_instrument, unit, occurred_at)
        down, up = down + below, up + above
    return Truth(
        true,
        {
            "true_low": _outwards(Fraction(true) - down, ROUND_FLOOR),
            "true_high": _outwards(Fraction(true) + up, ROUND_CEILING),
            "reference": asked.reference.strip(),
            "reference_instrument": asked.reference_instrument,
            "certificate": asked.certificate.strip(),
            "uncertainty": uncertainty,
        },
    )


def _outwards(value: Fraction, towards: str) -> Decimal:
    wide = Decimal(value.numerator) / Decimal(value.denominator)
    return wide.quantize(FINE, rounding=towards)


def _doubt(
    instrument: Instrument, other: Instrument, unit: str, at: datetime
) -> tuple[Fraction, Fraction]:
    """Return how far below and above what it showed the truth of a reference may lie."""
    guards.check_own(other, instrument.producer, "reference_instrument", "instrument")
    last = (
        other.checks
        .current()
        .filter(occurred_at__lte=at, adjusted=False)
        .select_related("instrument", "reference_instrument")
        .order_by("-occurred_at", "-pk")
        .first()
    )
    problem = _not_fit(instrument, other, last, at)
    if problem or last is None:
        raise RecordError(
            "reference_instrument",
            f"{other.code} {problem}. Take another reference, or the ice point.",
            "bad-reference",
        )
    found = weighed(last)
    low, high = (
        convert_difference(error, found.unit, unit)
        for error in (found.lowest_error, found.highest_error)
    )
    return max(Fraction(0), high), max(Fraction(0), -low)


def _not_fit(
    instrument: Instrument,
    other: Instrument,
    last: InstrumentCheck | None,
    at: datetime,
) -> str:
    if other.pk == instrument.pk:
        return "cannot be checked against itself"
    if other.measures != instrument.measures:
        return f"measures {other.measures}"
    use = other.uses.order_by("-recorded_at", "-pk").first()
    if use is not None and use.state == InstrumentUse.OUT:
        return "is out of use"
    if last is None:
        return "was never checked itself"
    if last.occurred_at < at - timedelta(days=other.check_every_days):
        return f"was itself last checked more than {other.check_every_days} days before"
    if weighed(last).acceptance is not Acceptance.ACCEPTED:
        return "did not pass its own last check"
    return ""
