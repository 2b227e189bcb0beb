"""Writes: a batch is packed; packages are counted."""

from datetime import date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import transaction

from batches import lotcode
from batches.errors import RecordError
from batches.lookups.deviations import open_holds_of
from batches.lookups.packages import net, stock_of
from batches.models import Batch, Member, NamedDate, Packing, StockCount
from batches.planning import planned
from batches.recording import guards, rows
from batches.recording.entries import record_date
from safety.limits.model import WithinLimit

USE_BY = "use-by"
MOST_PACKAGES = 100_000  # own figure: more in one packing is a slip of the finger
Figure = Decimal | int | str | None


@transaction.atomic
def pack(
    batch: Batch,
    *,
    kind: str,
    packages: int,
    occurred_at: datetime,
    by: Member,
    at: datetime,
    net_g: Figure = None,
    otr: Figure = None,
    use_by: date | None = None,
    trimmed_kg: Figure = None,
    labels_printed: int | None = None,
    labels_used: int | None = None,
    labels_spoiled: int | None = None,
    note: str = "",
    corrects: Packing | None = None,
    reason: str = "",
    entry_id: UUID | str | None = None,
    paper_initials: str | None = None,
) -> Packing:
    """Write down how many packages were filled, of which kind, to be used by when.

    The code is given here, and a correction keeps it. The use-by date of the batch is
    put on record with the first packing that has one.
    """
    batch = rows.locked(batch)
    guards.check_member(by, batch.producer)
    content: dict[str, Any] = {
        "batch": batch,
        "kind": _kind(kind),
        "packages": count_of("packages", packages, least=1),
        "net_g": figure_of("net_g", net_g),
        "otr": figure_of("otr", otr, may_be_zero=True),
        "use_by": use_by,
        "trimmed_kg": figure_of("trimmed_kg", trimmed_kg, may_be_zero=True),
        "labels_printed": _counted("labels_printed", labels_printed),
        "labels_used": _counted("labels_used", labels_used),
        "labels_spoiled": _counted("labels_spoiled", labels_spoiled),
        "note": note.strip(),
        "occurred_at": occurred_at,
        "corrects": corrects,
        "reason": reason.strip(),
    } | rows.on_paper(paper_initials, corrects)
    if (before := rows.repeated(Packing, entry_id, content)) is not None:
        return before
    rows.check_correction(corrects, reason, of=batch, kind=Packing)
    zone = batch.premises.zone
    guards.check_past("occurred_at", occurred_at, at=at, zone=zone)
    day = occurred_at.astimezone(zone).date()
    _check_use_by(batch, use_by, day)
    _check_labels(content)
    if corrects is None:
        _check_not_held(batch)
        code = next_code(batch, day)
    else:
        code = corrects.code
        _check_enough(batch, corrects, content["packages"])
    row = rows.add(
        Packing,
        **content,
        code=code,
        **rows.identified(entry_id),
        **rows.signed(by, at),
    )
    if use_by is not None and not _has_use_by(batch):
        instant = datetime(use_by.year, use_by.month, use_by.day, tzinfo=zone)
        record_date(batch, what=USE_BY, occurs_at=instant, by=by, at=at)
    return row


@transaction.atomic
def count_stock(
    batch: Batch,
    *,
    packages: int,
    occurred_at: datetime,
    by: Member,
    at: datetime,
    note: str = "",
    corrects: StockCount | None = None,
    reason: str = "",
    entry_id: UUID | str | None = None,
    paper_initials: str | None = None,
) -> StockCount:
    """Write down how many packages of a batch lie on the shelf; what that means is derived."""
    batch = rows.locked(batch)
    guards.check_member(by, batch.producer)
    content = {
        "batch": batch,
        "packages": count_of("packages", packages),
        "note": note.strip(),
        "occurred_at": occurred_at,
        "corrects": corrects,
        "reason": reason.strip(),
    } | rows.on_paper(paper_initials, corrects)
    if (before := rows.repeated(StockCount, entry_id, content)) is not None:
        return before
    rows.check_correction(corrects, reason, of=batch, kind=StockCount)
    guards.check_past("occurred_at", occurred_at, at=at, zone=batch.premises.zone)
    return rows.add(
        StockCount, **content, **rows.identified(entry_id), **rows.signed(by, at)
    )


def next_code(batch: Batch, day: date) -> str:
    """Return the code for the next packing of that day; none is ever given twice."""
    given = set(
        Packing.objects.filter(batch__producer=batch.producer_id).values_list(
            "code", flat=True
        )
    )
    for number in range(lotcode.MOST_A_DAY):
        code = lotcode.code_of(day, number)
        if code not in given:
            return code
    raise RecordError(
        "occurred_at",
        f"All {lotcode.MOST_A_DAY} codes of {day} are given. Check the day.",
        "no-code-left",
    )


def latest_use_by(batch: Batch, packed_on: date) -> tuple[date, str] | None:
    """Return the last use-by date that plan and product allow, and who says so.

    Days count from the day of packing, as a limit from the end of packing counts them.
    """
    allowed: list[tuple[int, str]] = []
    days = batch.product.shelf_life_days
    if days is not None:
        allowed.append((days, "the shelf life of the product"))
    if batch.plan is not None:
        allowed += [
            (int(each.limit.days), f"plan v{batch.plan.number}")
            for each in planned(batch.plan)
            if isinstance(each.limit, WithinLimit)
            and each.limit.what == USE_BY
            and each.limit.of.partition(".")[0] == "packing"
        ]
    if not allowed:
        return None
    fewest, who = min(allowed)
    return date.fromordinal(packed_on.toordinal() + fewest), who


# ------------------------------------------------------------ parts


def _check_use_by(batch: Batch, use_by: date | None, day: date) -> None:
    if use_by is None:
        return
    if use_by < day:
        raise RecordError(
            "use_by",
            f"{use_by} is before the day of packing, {day}. Check both days.",
            "before-packing",
        )
    latest = latest_use_by(batch, day)
    if latest is not None and use_by > latest[0]:
        raise RecordError(
            "use_by",
            f"{use_by} is later than {latest[1]} allows: packed on {day}, the last day "
            f"is {latest[0]}. Choose that day or an earlier one.",
            "use-by-too-far",
        )


def _check_labels(content: dict[str, Any]) -> None:
    used, spoiled = content["labels_used"], content["labels_spoiled"]
    if used is not None and spoiled is not None and spoiled > used:
        raise RecordError(
            "labels_spoiled",
            f"{spoiled} labels spoiled of {used} used cannot be. Used labels count "
            "those that were spoiled, too.",
            "more-spoiled-than-used",
        )


def _check_not_held(batch: Batch) -> None:
    lots = (used.lot for used in batch.batch_lots.select_related("lot"))
    for thing in (batch, *lots):
        for hold in open_holds_of(thing):
            raise RecordError(
                "",
                f"{thing} is on hold since "
                f"{guards.wall(hold.held_at, batch.premises.zone)}: "
                f"{hold.reason.rstrip('.')}. Decide what becomes of it before it is "
                "packed.",
                "on-hold",
            )


def _check_enough(batch: Batch, corrects: Packing, packages: int) -> None:
    stock = stock_of(batch)
    gone = net(stock.went)
    others = stock.filled - corrects.packages
    if others + packages < gone:
        raise RecordError(
            "packages",
            f"{gone} packages of this batch are already gone. Correct those entries "
            "first, or check the number.",
            "fewer-than-gone",
        )


def _has_use_by(batch: Batch) -> bool:
    return NamedDate.objects.current().filter(batch=batch, what=USE_BY).exists()


def _kind(kind: str) -> str:
    if kind not in Packing.Kind.values:
        raise RecordError("kind", "Say which kind of package it is.", "unknown-kind")
    return kind


def count_of(field: str, typed: int, *, least: int = 0) -> int:
    figure = guards.number(field, typed)
    if figure != int(figure) or not least <= figure <= MOST_PACKAGES:
        raise RecordError(
            field,
            f"{typed} cannot be. Type a whole number from {least} to {MOST_PACKAGES}.",
            "bad-count",
        )
    return int(figure)


def _counted(field: str, typed: int | None) -> int | None:
    return None if typed is None else count_of(field, typed)


def figure_of(
    field: str, typed: Figure, *, may_be_zero: bool = False
) -> Decimal | None:
    if typed is None or typed == "":
        return None
    value = guards.number(field, typed)
    if value < 0 or (value == 0 and not may_be_zero):
        raise RecordError(
            field, f"{value} is not above zero. Check what was typed.", "not-positive"
        )
    return value
