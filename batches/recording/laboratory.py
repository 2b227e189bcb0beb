"""Writes: what a laboratory found."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import transaction

from batches.errors import RecordError
from batches.models import Batch, LabRead, LabResult, Member, Reading
from batches.recording import guards, rows
from batches.recording.corrections import withdraw_readings
from safety.quantities import QUANTITIES

LAB_QUANTITIES = (
    "salt",
    "moisture",
    "water-phase-salt",
    "water-activity",
    "ph",
    "nitrite",
)


@transaction.atomic
def record_lab_result(
    batch: Batch,
    *,
    laboratory: str,
    sampled_at: datetime,
    sent_at: datetime | None = None,
    reported_at: datetime | None = None,
    read_at: datetime | None = None,
    mixed: int = 1,
    pieces: Sequence[Mapping[str, Any]],
    by: Member,
    at: datetime,
    reference: str = "",
    note: str = "",
    step: str = "packing",
    corrects: LabResult | None = None,
    reason: str = "",
    entry_id: UUID | str | None = None,
) -> LabResult:
    """Write down a laboratory's report, piece by piece, or that samples were sent.

    A piece is ``{"place": "A", "salt": "3.1", "moisture": "62.0", …}``. A correction
    takes back the figures of the report that it corrects. ``mixed`` pieces make a sample.
    """
    batch = rows.locked(batch)
    guards.check_member(by, batch.producer)
    guards.check_step(step)
    figures = _figures(pieces)
    content = {
        "batch": batch,
        "laboratory": guards.check_text("laboratory", laboratory, "which laboratory"),
        "reference": reference.strip(),
        "mixed": _check_mixed(mixed),
        "sampled_at": sampled_at,
        "sent_at": sent_at,
        "reported_at": reported_at,
        "read_at": read_at,
        "note": note.strip(),
        "corrects": corrects,
        "reason": reason.strip(),
    }
    if (before := rows.repeated(LabResult, entry_id, content)) is not None:
        _check_same_figures(before, figures)
        return before
    rows.check_correction(corrects, reason, of=batch, kind=LabResult)
    _check_order(batch, content, at)
    if reported_at is not None and not figures:
        raise RecordError(
            "pieces", "The report has no figure. Type at least one.", "blank"
        )
    if corrects is not None:
        withdraw_readings(corrects, reason=reason, by=by, at=at)
    signature = rows.signed(by, at)
    result = rows.add(LabResult, **content, **rows.identified(entry_id), **signature)
    for place, quantity, value in figures:
        rows.add(
            Reading,
            batch=batch,
            step=step,
            quantity=quantity,
            place=place,
            value=value,
            unit=QUANTITIES[quantity].units[0],
            occurred_at=sampled_at,
            lab_result=result,
            **signature,
        )
    return result


@transaction.atomic
def read_lab_result(result: LabResult, *, by: Member, at: datetime) -> LabRead:
    """Write down that a report which was on record unread has been read."""
    batch = rows.locked(result.batch)
    guards.check_member(by, batch.producer)
    rows.check_newest(result)
    if result.reported_at is None:
        raise RecordError(
            "",
            "No report has come yet. Record it with its figures when it does.",
            "no-report",
        )
    before = LabRead.objects.filter(result=result).first()
    if before is not None:
        return before
    if result.read_at is not None:
        raise RecordError("", "It is on record that it was read.", "read")
    read: LabRead = rows.add(
        LabRead, producer=batch.producer, result=result, **rows.signed(by, at)
    )
    return read


def _figures(pieces: Sequence[Mapping[str, Any]]) -> list[tuple[str, str, Decimal]]:
    figures = []
    for piece in pieces:
        place = str(piece.get("place", "")).strip()
        found = {}
        for name, typed in piece.items():
            if name == "place" or typed is None or typed == "":
                continue
            found[name] = _figure(name, typed)
        _check_parts(place, found)
        figures += [(place, name, value) for name, value in found.items()]
    return figures


def _figure(name: str, typed: Decimal | str) -> Decimal:
    if name not in LAB_QUANTITIES:
        raise RecordError(
            "pieces",
            f"A laboratory does not report {name!r} here. "
            f"It may report: {', '.join(LAB_QUANTITIES)}.",
            "unknown-quantity",
        )
    value = guards.number("pieces", typed)
    guards.check_plausible(name, value, QUANTITIES[name].units[0], field="pieces")
    return value


def _check_parts(place: str, found: Mapping[str, Decimal]) -> None:
    if not {"salt", "moisture"} <= found.keys():
        return
    whole = found["salt"] + found["moisture"]
    if not 0 < whole <= Decimal(100):
        raise RecordError(
            "pieces",
            f"{place or 'The piece'}: salt and moisture together are {whole} g in "
            "100 g. Check both figures.",
            "implausible",
        )


def _check_mixed(mixed: int) -> int:
    if mixed < 1:
        raise RecordError(
            "mixed", "A sample is made of 1 piece or more. Give their number.", "count"
        )
    return mixed


def _check_order(batch: Batch, told: Mapping[str, Any], at: datetime) -> None:
    earlier, zone = told["sampled_at"], batch.premises.zone
    for field in ("sampled_at", "sent_at", "reported_at", "read_at"):
        instant = told[field]
        if instant is None:
            continue
        guards.check_past(field, instant, at=at, zone=zone)
        if instant < earlier:
            raise RecordError(
                field,
                f"{guards.wall(instant, zone)} is before {guards.wall(earlier, zone)}: "
                "a sample is taken, then sent, then reported, then read.",
                "wrong-order",
            )
        earlier = instant


def _check_same_figures(
    before: LabResult, figures: list[tuple[str, str, Decimal]]
) -> None:
    known = before.readings.filter(corrects=None)
    if sorted((row.place, row.quantity, row.value) for row in known) != sorted(figures):
        raise RecordError(
            "entry_id",
            "This report was already recorded with other figures. Correct that one.",
            "entry-id-used",
        )
