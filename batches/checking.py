"""The checks of an instrument as the judge reads them, and what each of them shows."""

from collections.abc import Iterable, Iterator
from datetime import UTC, datetime, tzinfo
from decimal import Decimal

from batches.models import Instrument, InstrumentCheck
from safety.judge import evidence
from safety.judge.acceptance import Acceptance, Weighed, weigh
from safety.units import symbol


def described(
    instrument: Instrument, checks: Iterable[evidence.Check] = ()
) -> evidence.Instrument:
    """Return an instrument as the judge reads it."""
    tolerance = instrument.tolerance
    return evidence.Instrument(
        id=instrument.code,
        measures=instrument.measures,
        tolerance=(
            None if tolerance is None else evidence.Amount(tolerance, instrument.unit)
        ),
        check_every_days=instrument.check_every_days,
        checks=tuple(checks),
    )


def compared(
    check: InstrumentCheck, zone: tzinfo, *, judged_at: datetime | None = None
) -> Iterator[evidence.Check]:
    """Yield a check for the judge, once for either end of what the truth may have been.

    Checks at one instant are one check with all their errors, accepted only where all
    are: so a range makes nothing pass that one of its ends would not. What was left
    after an adjustment is a check of its own, at its own instant.
    """
    yield from _ends(
        check, check.occurred_at, check.shown, zone, adjusted=check.adjusted
    )
    if check.as_left is None or check.as_left_at is None:
        return
    if judged_at is None or check.as_left_at <= judged_at:
        yield from _ends(check, check.as_left_at, check.as_left, zone)


def _ends(
    check: InstrumentCheck,
    at: datetime,
    shown: Decimal,
    zone: tzinfo,
    *,
    adjusted: bool = False,
) -> Iterator[evidence.Check]:
    for true in sorted(set(check.true_span)):
        yield evidence.Check(
            at=at.astimezone(zone),
            method=check.method,
            shown=evidence.Amount(shown, check.unit),
            true=evidence.Amount(true, check.unit),
            adjusted=adjusted,
        )


def weighed(check: InstrumentCheck) -> Weighed:
    """Return what a check shows of the instrument as it was found."""
    ends = _ends(check, check.occurred_at, check.shown, UTC)
    return weigh(described(check.instrument), list(ends))


def weighed_as_left(check: InstrumentCheck) -> Weighed | None:
    """Return what it shows of the instrument as it was left; None if nobody looked."""
    if check.as_left is None or check.as_left_at is None:
        return None
    ends = _ends(check, check.as_left_at, check.as_left, UTC)
    return weigh(described(check.instrument), list(ends))


def is_failed(check: InstrumentCheck) -> bool:
    """Say whether the readings before or after a check are in doubt because of it."""
    left = weighed_as_left(check)
    return weighed(check).acceptance is not Acceptance.ACCEPTED or (
        left is not None and left.acceptance is not Acceptance.ACCEPTED
    )


def truth_words(check: InstrumentCheck) -> str:
    """Return where the truth of a check came from, for people."""
    parts = []
    if check.elevation_m is not None:
        parts.append(f"at {check.elevation_m.normalize():f} m")
    if check.pressure is not None:
        parts.append(f"barometer {check.pressure} {check.pressure_unit}")
    elif check.elevation_m is not None:
        parts.append("no barometer, so in any usual weather")
    if check.reference_instrument_id is not None:
        parts.append(f"against {check.reference_instrument.code}")
    parts += [text for text in (check.reference, check.certificate) if text]
    if check.uncertainty is not None:
        sure = f"known within {check.uncertainty} {symbol(check.unit)}"
        parts.append(sure.strip())
    low, high = check.true_span
    if low != high:
        parts.append(f"so between {low} and {high} {symbol(check.unit)}".strip())
    return ", ".join(parts)
