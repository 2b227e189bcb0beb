"""Writes: packages leave the stock, or come back; days at market; buyers."""

from collections import Counter
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import transaction

from batches.errors import RecordError
from batches.lookups.packages import TO_PEOPLE, Stock, net, stock_of
from batches.models import (
    Batch,
    Buyer,
    Dispatch,
    MarketCount,
    MarketDay,
    Member,
    Packing,
    Producer,
)
from batches.recording import guards, rows
from batches.recording.packing import count_of, figure_of

Kind: Any = Dispatch.Kind
KEEP = (
    " If it happened all the same, say so below: it is kept, and the record shows it."
)
BUYER_FIELDS = (
    "street",
    "city",
    "region",
    "postcode",
    "phone",
    "email",
    "contact",
)


@transaction.atomic
def dispatch(
    batch: Batch,
    *,
    kind: str,
    packages: int,
    occurred_at: datetime,
    by: Member,
    at: datetime,
    packing: Packing | None = None,
    buyer: Buyer | None = None,
    market: MarketDay | None = None,
    document: str = "",
    note: str = "",
    happened: bool = False,
    corrects: Dispatch | None = None,
    reason: str = "",
    entry_id: UUID | str | None = None,
    paper_initials: str | None = None,
) -> Dispatch:
    """Write down that packages left the stock, to whom and why, or that some came back.

    Never more than there are. What must not be (sold while held, or past its use-by date) is refused, unless a person says that it ``happened``: a record of
    what was done wrong is worth more than none.
    """
    batch = rows.locked(batch)
    guards.check_member(by, batch.producer)
    if kind not in Kind.values:
        raise RecordError("kind", "Say where the packages went.", "unknown-kind")
    content = {
        "batch": batch,
        "kind": kind,
        "packages": count_of("packages", packages, least=1),
        "packing": packing,
        "buyer": buyer,
        "market": market,
        "document": document.strip(),
        "note": note.strip(),
        "occurred_at": occurred_at,
        "corrects": corrects,
        "reason": reason.strip(),
    } | rows.on_paper(paper_initials, corrects)
    if (before := rows.repeated(Dispatch, entry_id, content)) is not None:
        return before
    rows.check_correction(corrects, reason, of=batch, kind=Dispatch)
    guards.check_past("occurred_at", occurred_at, at=at, zone=batch.premises.zone)
    _check_parties(batch, content)
    _check_amount(batch, content, corrects)
    if kind in TO_PEOPLE and not happened:
        _check_may_leave(batch, content)
    return rows.add(
        Dispatch, **content, **rows.identified(entry_id), **rows.signed(by, at)
    )


@transaction.atomic
def open_market(
    producer: Producer,
    *,
    place: str,
    occurred_at: datetime,
    by: Member,
    at: datetime,
    box: str = "",
    minutes_away: int | None = None,
    ice_kg: Decimal | int | str | None = None,
    note: str = "",
    corrects: MarketDay | None = None,
    reason: str = "",
    entry_id: UUID | str | None = None,
) -> MarketDay:
    """Write down a day at market, as it begins with the loading."""
    guards.check_member(by, producer)
    content: dict[str, Any] = {
        "producer": producer,
        "place": guards.check_text("place", place, "where the stall is"),
        "box": box.strip(),
        "minutes_away": None
        if minutes_away is None
        else count_of("minutes_away", minutes_away),
        "ice_kg": figure_of("ice_kg", ice_kg, may_be_zero=True),
        "note": note.strip(),
        "occurred_at": occurred_at,
        "corrects": corrects,
        "reason": reason.strip(),
    }
    if (before := rows.repeated(MarketDay, entry_id, content)) is not None:
        return before
    if corrects is not None:
        guards.check_own(corrects, producer, "corrects", "day at market")
        rows.check_newest(corrects)
        guards.check_text("reason", reason, "why it is corrected")
    guards.check_past("occurred_at", occurred_at, at=at)
    return rows.add(
        MarketDay, **content, **rows.identified(entry_id), **rows.signed(by, at)
    )


@transaction.atomic
def count_for_market(
    batch: Batch,
    *,
    market: MarketDay,
    edge: str,
    packages: int,
    occurred_at: datetime,
    by: Member,
    at: datetime,
    corrects: MarketCount | None = None,
    reason: str = "",
    entry_id: UUID | str | None = None,
    paper_initials: str | None = None,
) -> MarketCount:
    """Write down how many packages of a batch went into the box, or came home in it."""
    batch = rows.locked(batch)
    guards.check_member(by, batch.producer)
    guards.check_own(market, batch.producer, "market", "day at market")
    if edge not in MarketCount.Edge.values:
        raise RecordError("edge", "Say whether they go or come back.", "unknown-edge")
    content = {
        "batch": batch,
        "market": market,
        "edge": edge,
        "packages": count_of("packages", packages),
        "occurred_at": occurred_at,
        "corrects": corrects,
        "reason": reason.strip(),
    } | rows.on_paper(paper_initials, corrects)
    if (before := rows.repeated(MarketCount, entry_id, content)) is not None:
        return before
    rows.check_correction(corrects, reason, of=batch, kind=MarketCount)
    guards.check_past("occurred_at", occurred_at, at=at, zone=batch.premises.zone)
    _check_carried(batch, content)
    return rows.add(
        MarketCount, **content, **rows.identified(entry_id), **rows.signed(by, at)
    )


@transaction.atomic
def add_buyer(
    producer: Producer, *, name: str, by: Member, at: datetime, **told: str
) -> Buyer:
    """Put a business that buys on record; one of the same name is that one."""
    guards.check_member(by, producer)
    name = guards.check_text("name", name, "who buys")
    before = Buyer.objects.filter(producer=producer, name=name).first()
    if before is not None:
        raise RecordError(
            "name", f"{name} is already on the list. Change that entry.", "already"
        )
    return rows.add(
        Buyer, rows.signed(by, at), producer=producer, name=name, **_tidied(told)
    )


@transaction.atomic
def change_buyer(
    buyer: Buyer, *, name: str, by: Member, at: datetime, **told: str
) -> Buyer:
    """Set right what is known of a buyer; the trail keeps what it was."""
    guards.check_member(by, buyer.producer)
    name = guards.check_text("name", name, "who buys")
    others = Buyer.objects.filter(producer=buyer.producer, name=name)
    if others.exclude(pk=buyer.pk).exists():
        raise RecordError("name", f"{name} is another entry of the list.", "already")
    return rows.change(
        buyer, act="buyer.changed", by=by, at=at, name=name, **_tidied(told)
    )


def check_still_there(row: Dispatch | Packing) -> None:
    """Refuse to take back what later entries lean on: more would be gone than there was."""
    stock = stock_of(row.batch)
    left = stock.left
    if isinstance(row, Packing) or row.kind == Kind.RETURNED:
        left -= row.packages
    else:
        left += row.packages
    if left < 0:
        raise RecordError(
            "corrects",
            f"{-left} of these packages are gone by later entries. Take those back "
            "first.",
            "fewer-than-gone",
        )


# ------------------------------------------------------------ parts


def _tidied(told: dict[str, str]) -> dict[str, str]:
    return {name: told[name].strip() for name in BUYER_FIELDS if name in told}


def _check_parties(batch: Batch, content: dict[str, Any]) -> None:
    producer, kind = batch.producer, content["kind"]
    for name, what in (("buyer", "buyer"), ("market", "day at market")):
        if content[name] is not None:
            guards.check_own(content[name], producer, name, what)
    packing = content["packing"]
    if packing is not None and packing.batch_id != batch.pk:
        raise RecordError("packing", "There is no such packing here.", "not-found")
    if kind == Kind.BUSINESS and content["buyer"] is None:
        raise RecordError(
            "buyer",
            "Say which business took the packages: without its name they cannot be "
            "found again.",
            "no-buyer",
        )
    if kind != Kind.RETURNED and content["buyer"] is not None and kind != Kind.BUSINESS:
        raise RecordError(
            "buyer",
            "A buyer belongs to packages sold to a business, or come back from one.",
            "buyer-out-of-place",
        )


def _check_amount(
    batch: Batch, content: dict[str, Any], corrects: Dispatch | None
) -> None:
    """Refuse more than there are; a correction gives back what it replaces first."""
    stock = stock_of(batch)
    went = stock.went.copy()
    if corrects is not None:
        went[corrects.kind] -= corrects.packages
    wanted = content["packages"]
    if content["kind"] == Kind.RETURNED:
        out = _out(went)
        if wanted > out:
            raise RecordError(
                "packages",
                f"{wanted} cannot come back: only {out} packages of {batch.code} are "
                "out. Check the batch and the number.",
                "more-than-out",
            )
        return
    left = stock.filled - net(went)
    if wanted > left:
        said = (
            f"{left} are left of the {stock.filled} packages"
            if stock.filled
            else "no packing is on record"
        )
        raise RecordError(
            "packages",
            f"{wanted} packages of {batch.code} cannot go: {said}. Check the batch and "
            "the number, or record the packing first.",
            "more-than-packed",
        )


def _out(went: Counter[str]) -> int:
    """Return how many packages are with somebody who could bring them back."""
    with_people = sum(
        went[each.value] for each in (Kind.CONSUMER, Kind.BUSINESS, Kind.DONATED)
    )
    return with_people - went[Kind.RETURNED.value]


def _check_may_leave(batch: Batch, content: dict[str, Any]) -> None:
    """Refuse what must not be, each with the way to keep it where it was done."""
    stock, zone = stock_of(batch), batch.premises.zone
    held = _held_then(stock, content["occurred_at"])
    if held is not None and content["packages"] > stock.left - (
        stock.left if held.packages is None else held.packages
    ):
        raise RecordError(
            "packages",
            f"{batch.code} is on hold since {guards.wall(held.held_at, zone)}: "
            f"{held.reason.rstrip('.')}. Nothing that is held may go out." + KEEP,
            "on-hold",
        )
    day = content["occurred_at"].astimezone(zone).date()
    if stock.use_by is not None and day > stock.use_by:
        raise RecordError(
            "occurred_at",
            f"The use-by date of {batch.code} was {stock.use_by}. What is left is "
            "destroyed." + KEEP,
            "past-use-by",
        )


def _held_then(stock: Stock, instant: datetime) -> Any:
    holds = [hold for hold in stock.holds if hold.held_at <= instant]
    whole = [hold for hold in holds if hold.packages is None]
    if whole:
        return whole[0]
    return max(holds, key=lambda hold: hold.packages or 0, default=None)


def _check_carried(batch: Batch, content: dict[str, Any]) -> None:
    stock, packages = stock_of(batch), content["packages"]
    out, gone, back = stock.at(content["market"])
    replaced = content["corrects"].packages if content["corrects"] is not None else 0
    if content["edge"] == MarketCount.Edge.OUT:
        left = stock.left + gone
        if out - replaced + packages > left:
            raise RecordError(
                "packages",
                f"{packages} packages of {batch.code} cannot go into the box: {left} "
                "are in stock. Check the number.",
                "more-than-packed",
            )
        return
    if (back or 0) - replaced + packages > out:
        raise RecordError(
            "packages",
            f"{packages} packages of {batch.code} cannot come home: {out} were taken "
            "along. Check the number.",
            "more-than-taken",
        )
