"""Reads: where food came from and where it went, from any code, name or day."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta, tzinfo
from decimal import Decimal
from typing import Any

from django.db.models import Q

from batches import lotcode
from batches.lookups.packages import Stock, stocks_of
from batches.models import (
    Batch,
    BatchLot,
    Buyer,
    Dispatch,
    Disposition,
    Lot,
    Packing,
    Producer,
    Reading,
    Rework,
)

LONGEST_CHAIN = (
    12  # own figure: how often food is worked again before we stop following
)
GONE = (Disposition.Kind.DESTROY, Disposition.Kind.RETURN, Disposition.Kind.DIVERT)
G_IN_KG = 1000
SMOKED = "smoked"  # the place of the reading that weighs what came out


@dataclass(frozen=True, slots=True)
class Start:
    """What somebody asked about: its kind, its name, and the batches and lots it names."""

    kind: str
    name: str
    batches: tuple[int, ...] = ()
    lots: tuple[int, ...] = ()
    packing: Packing | None = None
    buyer: Buyer | None = None


@dataclass(frozen=True)
class LotBalance:
    """One lot by weight: received, used in which batches, decided away, and the rest."""

    lot: Lot
    uses: tuple[BatchLot, ...]
    decided_kg: Decimal = Decimal(0)

    @property
    def used_kg(self) -> Decimal:
        """Return how much went into batches, kg."""
        return sum((use.mass_kg for use in self.uses), Decimal(0))

    @property
    def rest_kg(self) -> Decimal:
        """Return what is neither used nor decided away: trimmings, stock, or missing."""
        return self.lot.mass_kg - self.used_kg - self.decided_kg

    @property
    def rest_pct(self) -> float:
        """Return the rest as a share of what came in, %."""
        return float(self.rest_kg / self.lot.mass_kg * 100) if self.lot.mass_kg else 0.0


@dataclass(frozen=True)
class BatchBalance:
    """One batch: what went in, what came out by weight and by packages."""

    batch: Batch
    uses: tuple[BatchLot, ...]
    stock: Stock
    out_kg: Decimal | None = None
    reworked_in: tuple[Rework, ...] = ()
    reworked_out: tuple[Rework, ...] = ()
    destroyed_kg: Decimal = Decimal(0)

    @property
    def in_kg(self) -> Decimal:
        """Return what went in from lots and from batches worked again, kg."""
        return sum(
            (each.mass_kg for each in self.uses),
            sum((each.kg for each in self.reworked_in), Decimal(0)),
        )

    @property
    def packed_kg(self) -> Decimal | None:
        """Return the net weight of all packages, kg; None where one was not weighed."""
        packings = self.stock.packings.current
        if not packings or any(each.net_g is None for each in packings):
            return None
        return sum(
            (each.net_g * each.packages / G_IN_KG for each in packings), Decimal(0)
        )


@dataclass(frozen=True)
class Trace:
    """Everything that hangs together with what was asked about."""

    start: Start
    lots: tuple[LotBalance, ...]
    batches: tuple[BatchBalance, ...]
    reworks: tuple[Rework, ...]
    siblings: tuple[Batch, ...] = field(default=())
    """Other batches from the same lots, which the question did not ask about."""

    @property
    def dispatches(self) -> tuple[Dispatch, ...]:
        """Return everything that went out of these batches, by its instant."""
        found = [row for each in self.batches for row in each.stock.dispatches.current]
        if self.start.buyer is not None:
            found = [row for row in found if row.buyer_id == self.start.buyer.pk]
        return tuple(sorted(found, key=lambda row: (row.occurred_at, row.pk)))


def found_under(producer: Producer, text: str, zone: tzinfo) -> Start | None:
    """Return what a code, a name or a day means, at most six questions; None if nothing."""
    text = text.strip()
    if not text:
        return None
    if _is_day(text):
        return _of_day(producer, date.fromisoformat(text), zone)
    batch = Batch.objects.filter(producer=producer, code__iexact=text).first()
    if batch is not None:
        return Start("batch", batch.code, batches=(batch.pk,))
    lot = Lot.objects.filter(producer=producer, code__iexact=text).first()
    if lot is None:
        theirs = Q(supplier_code__iexact=text) | Q(supplier_code__iendswith=f" {text}")
        lot = Lot.objects.filter(theirs, producer=producer).first()
    if lot is not None:
        return Start("lot", lot.code, lots=(lot.pk,))
    packing = (
        Packing.objects
        .current()
        .filter(batch__producer=producer, code=lotcode.tidied(text))
        .first()
    )
    if packing is not None:
        return Start(
            "package", packing.code, batches=(packing.batch_id,), packing=packing
        )
    buyer = Buyer.objects.filter(producer=producer, name__iexact=text).first()
    if buyer is not None:
        sold = Dispatch.objects.current().filter(buyer=buyer)
        return Start("buyer", buyer.name, batches=_keys(sold, "batch"), buyer=buyer)
    return None


def trace_of(producer: Producer, start: Start) -> Trace:
    """Return everything that hangs together with it, in a fixed number of questions.

    Back to every lot and forward to every package, through food that was worked again.
    """
    batches = set(start.batches)
    if start.lots:
        batches |= set(_keys(BatchLot.objects.filter(lot__in=start.lots), "batch"))
    batches, reworks = _with_reworks(batches)
    uses = list(
        BatchLot.objects.filter(batch__in=batches).select_related("lot").order_by("pk")
    )
    lots = set(start.lots) | {use.lot_id for use in uses}
    all_uses = list(
        BatchLot.objects.filter(lot__in=lots).select_related("lot", "batch__product")
    )
    return Trace(
        start=start,
        lots=_lots(producer, lots, all_uses),
        batches=_batches(producer, batches, uses, reworks),
        reworks=reworks,
        siblings=_siblings(all_uses, batches),
    )


# ------------------------------------------------------------ parts


def _is_day(text: str) -> bool:
    try:
        date.fromisoformat(text)
    except ValueError:
        return False
    return True


def _of_day(producer: Producer, day: date, zone: tzinfo) -> Start | None:
    begin = datetime.combine(day, time.min, tzinfo=zone)
    span = (begin, begin + timedelta(days=1) - timedelta(microseconds=1))
    out = Dispatch.objects.current().filter(
        batch__producer=producer, occurred_at__range=span
    )
    packed = Packing.objects.current().filter(
        batch__producer=producer, occurred_at__range=span
    )
    lots = Lot.objects.filter(producer=producer, received_at__range=span)
    batches = {*_keys(out, "batch"), *_keys(packed, "batch")}
    keys = tuple(lots.values_list("pk", flat=True))
    if not batches and not keys:
        return None
    return Start("day", str(day), batches=tuple(sorted(batches)), lots=keys)


def _keys(rows: Any, column: str) -> tuple[int, ...]:
    return tuple(sorted(set(rows.values_list(column, flat=True))))


def _with_reworks(batches: Iterable[int]) -> tuple[set[int], tuple[Rework, ...]]:
    """Return the batches with all that were worked into them, or out of them, again."""
    known, reworks = set(batches), {}
    fresh = set(known)
    for _ in range(LONGEST_CHAIN):
        if not fresh:
            break
        found = Rework.objects.filter(
            Q(from_batch__in=fresh) | Q(to_batch__in=fresh)
        ).select_related("from_batch", "to_batch")
        fresh = set()
        for row in found:
            reworks[row.pk] = row
            fresh |= {row.from_batch_id, row.to_batch_id} - known
        known |= fresh
    return known, tuple(reworks[key] for key in sorted(reworks))


def _lots(
    producer: Producer, keys: Iterable[int], uses: Iterable[BatchLot]
) -> tuple[LotBalance, ...]:
    keys = set(keys)
    decided: dict[int, Decimal] = {}
    rows = Disposition.objects.filter(deviation__lot__in=keys, kind__in=GONE)
    for row in rows.select_related("deviation"):
        lot = row.deviation.lot_id
        decided[lot] = decided.get(lot, Decimal(0)) + (row.kg or 0)
    by_lot: dict[int, list[BatchLot]] = {key: [] for key in keys}
    for use in uses:
        by_lot[use.lot_id].append(use)
    lots = Lot.objects.filter(producer=producer, pk__in=keys).order_by(
        "received_at", "pk"
    )
    return tuple(
        LotBalance(lot, tuple(by_lot[lot.pk]), decided.get(lot.pk, Decimal(0)))
        for lot in lots
    )


def _batches(
    producer: Producer,
    keys: Iterable[int],
    uses: Iterable[BatchLot],
    reworks: Iterable[Rework],
) -> tuple[BatchBalance, ...]:
    keys, reworks, uses = set(keys), tuple(reworks), tuple(uses)
    batches = list(
        Batch.objects
        .filter(producer=producer, pk__in=keys)
        .select_related("product", "premises")
        .order_by("started_at", "pk")
    )
    weighed: dict[int, Decimal] = {}
    for row in Reading.objects.current().filter(
        batch__in=keys, step="packing", quantity="mass", unit="kg", place=SMOKED
    ):
        weighed[row.batch_id] = weighed.get(row.batch_id, Decimal(0)) + row.value
    destroyed: dict[int, Decimal] = {}
    for made in Disposition.objects.filter(
        deviation__batch__in=keys, kind=Disposition.Kind.DESTROY
    ).select_related("deviation"):
        key = made.deviation.batch_id
        destroyed[key] = max(destroyed.get(key, Decimal(0)), made.kg or Decimal(0))
    return tuple(
        BatchBalance(
            batch=stock.batch,
            uses=tuple(use for use in uses if use.batch_id == stock.batch.pk),
            stock=stock,
            out_kg=weighed.get(stock.batch.pk),
            reworked_in=tuple(
                row for row in reworks if row.to_batch_id == stock.batch.pk
            ),
            reworked_out=tuple(
                row for row in reworks if row.from_batch_id == stock.batch.pk
            ),
            destroyed_kg=destroyed.get(stock.batch.pk, Decimal(0)),
        )
        for stock in stocks_of(batches)
    )


def _siblings(uses: Iterable[BatchLot], asked: Iterable[int]) -> tuple[Batch, ...]:
    asked = set(asked)
    found = {use.batch_id: use.batch for use in uses if use.batch_id not in asked}
    return tuple(found[key] for key in sorted(found))
