"""Writes: what is known of an instrument, set right; never so that the past looks better.

Past batches are judged by an instrument's tolerance and interval as they are now. So both
may become stricter at any time, and looser only where that changes nothing that was.
"""

from collections.abc import Iterator
from datetime import datetime
from decimal import Decimal
from itertools import pairwise

from django.db import transaction

from batches.checking import weighed, weighed_as_left
from batches.errors import RecordError
from batches.models import Instrument, InstrumentCheck, Member
from batches.recording import guards, rows
from batches.recording.instrument_uses import locked
from batches.recording.instruments import check_interval, check_tolerance, check_unit
from safety.judge.acceptance import Acceptance


@transaction.atomic
def change_instrument(
    instrument: Instrument,
    *,
    name: str,
    unit: str,
    tolerance: Decimal | str | None,
    check_every_days: int,
    by: Member,
    at: datetime,
) -> Instrument:
    """Set right what is known of an instrument; the trail keeps what it was."""
    known = locked(instrument, by)
    guards.check_aware("at", at)
    check_unit(known.measures, unit)
    check_interval(check_every_days)
    own = check_tolerance(known.measures, tolerance, unit)
    checks = list(
        InstrumentCheck.objects
        .current()
        .filter(instrument=known)
        .select_related("instrument")
    )
    _refuse_passing(known, checks, unit, own)
    _refuse_longer(known, checks, check_every_days, at)
    changed: Instrument = rows.change(
        known,
        act="instrument.changed",
        by=by,
        at=at,
        name=name.strip(),
        unit=unit,
        tolerance=own,
        check_every_days=check_every_days,
    )
    return changed


def _refuse_passing(
    known: Instrument,
    checks: list[InstrumentCheck],
    unit: str,
    tolerance: Decimal | None,
) -> None:
    """Refuse a tolerance by which a check that was not accepted would be."""
    failed = [check for check in checks if not all(_accepted(check))]
    was = known.unit, known.tolerance
    for check in failed:
        before = list(_accepted(check))
        check.instrument.unit, check.instrument.tolerance = unit, tolerance
        after = list(_accepted(check))
        check.instrument.unit, check.instrument.tolerance = was
        if any(new and not old for old, new in zip(before, after, strict=True)):
            raise RecordError(
                "tolerance",
                f"With it the check of {check.occurred_at:%Y-%m-%d} would be accepted, "
                "which was not. Add the instrument anew under another name instead; "
                "what was read with it before stays judged as it was.",
                "would-pass",
            )


def _accepted(check: InstrumentCheck) -> Iterator[bool]:
    yield weighed(check).acceptance is Acceptance.ACCEPTED
    left = weighed_as_left(check)
    if left is not None:
        yield left.acceptance is Acceptance.ACCEPTED


def _refuse_longer(
    known: Instrument, checks: list[InstrumentCheck], days: int, at: datetime
) -> None:
    """Refuse a longer interval where a check was once late by the one that held."""
    if days <= known.check_every_days:
        return
    premises = known.producer.premises.order_by("pk").first()
    zone = at.tzinfo if premises is None else premises.zone
    instants = [check.occurred_at for check in checks if not check.adjusted]
    instants += [check.as_left_at for check in checks if check.as_left_at]
    on = sorted(instant.astimezone(zone).date() for instant in (*instants, at))
    for earlier, later in pairwise(on):
        if (later - earlier).days > known.check_every_days:
            raise RecordError(
                "check_every_days",
                f"Between {earlier:%Y-%m-%d} and {later:%Y-%m-%d} it was not checked "
                f"for more than {known.check_every_days} days; a longer time would "
                "make that look in order. Add the instrument anew under another name.",
                "would-pass",
            )
