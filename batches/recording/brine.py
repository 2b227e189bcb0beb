"""Writes: the brine of a batch, and when its fish was lifted out in between."""

from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import transaction

from batches.errors import RecordError
from batches.models import Batch, BrineMix, Member, SoakBreak
from batches.recording import guards, rows

MASS_UNITS = ("kg", "lb")
MOST_SAL = 100  # degrees of a salometer: a brine that holds all the salt it can


@transaction.atomic
def mix_brine(
    batch: Batch,
    *,
    water: Decimal | str,
    salt: Decimal | str,
    mass_unit: str,
    occurred_at: datetime,
    by: Member,
    at: datetime,
    salometer: Decimal | str | None = None,
    temperature: Decimal | str | None = None,
    temperature_unit: str = "",
    is_corrected: bool = False,
    corrects: BrineMix | None = None,
    reason: str = "",
    entry_id: UUID | str | None = None,
    paper_initials: str | None = None,
) -> BrineMix:
    """Write down what was weighed into a brine, and what a salometer read in it.

    ``is_corrected``: the reading is as it would be at the temperature that the
    salometer is made for.
    """
    batch = rows.locked(batch)
    guards.check_member(by, batch.producer)
    content = {
        "batch": batch,
        "water": guards.positive("water", water),
        "salt": guards.positive("salt", salt),
        "mass_unit": mass_unit,
        "salometer": _degrees(salometer),
        "temperature": _temperature(temperature, temperature_unit),
        "temperature_unit": "" if temperature is None else temperature_unit,
        "is_corrected": is_corrected,
        "occurred_at": occurred_at,
        "corrects": corrects,
        "reason": reason.strip(),
    } | rows.on_paper(paper_initials, corrects)
    if (before := rows.repeated(BrineMix, entry_id, content)) is not None:
        return before
    rows.check_correction(corrects, reason, of=batch, kind=BrineMix)
    if mass_unit not in MASS_UNITS:
        raise RecordError(
            "mass_unit", f"Weigh in {' or '.join(MASS_UNITS)}.", "wrong-unit"
        )
    guards.check_past("occurred_at", occurred_at, at=at, zone=batch.premises.zone)
    return _add(BrineMix, content, by=by, at=at, entry_id=entry_id)


@transaction.atomic
def interrupt_soak(
    batch: Batch,
    *,
    occurred_at: datetime,
    back_at: datetime,
    by: Member,
    at: datetime,
    corrects: SoakBreak | None = None,
    reason: str = "",
    entry_id: UUID | str | None = None,
    paper_initials: str | None = None,
) -> SoakBreak:
    """Write down that the fish lay outside the brine for a while within its soak."""
    batch = rows.locked(batch)
    guards.check_member(by, batch.producer)
    content = {
        "batch": batch,
        "occurred_at": occurred_at,
        "back_at": back_at,
        "corrects": corrects,
        "reason": reason.strip(),
    } | rows.on_paper(paper_initials, corrects)
    if (before := rows.repeated(SoakBreak, entry_id, content)) is not None:
        return before
    rows.check_correction(corrects, reason, of=batch, kind=SoakBreak)
    for field, instant in (("occurred_at", occurred_at), ("back_at", back_at)):
        guards.check_past(field, instant, at=at, zone=batch.premises.zone)
    if back_at <= occurred_at:
        raise RecordError(
            "back_at", "It went back in before it was lifted out.", "ends-first"
        )
    return _add(SoakBreak, content, by=by, at=at, entry_id=entry_id)


def _add(
    model: type[BrineMix] | type[SoakBreak],
    content: dict[str, Any],
    *,
    by: Member,
    at: datetime,
    entry_id: UUID | str | None,
) -> Any:
    return rows.add(
        model, **content, **rows.identified(entry_id), **rows.signed(by, at)
    )


def _degrees(typed: Decimal | str | None) -> Decimal | None:
    if typed is None:
        return None
    degrees = guards.number("salometer", typed)
    if not 0 <= degrees <= MOST_SAL:
        raise RecordError(
            "salometer",
            f"A salometer reads from 0 to {MOST_SAL} degrees, not {degrees}.",
            "implausible",
        )
    return degrees


def _temperature(typed: Decimal | str | None, unit: str) -> Decimal | None:
    if typed is None:
        return None
    figure = guards.number("temperature", typed)
    guards.check_plausible("water-temperature", figure, unit, field="temperature")
    return figure
