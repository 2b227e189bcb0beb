"""Reads: packages of a batch: filled, gone, counted, and what is left of them."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property
from typing import Any

from django.db.models import QuerySet

from batches.lookups.records import Rows
from batches.models import (
    Batch,
    Buyer,
    Dispatch,
    Hold,
    MarketCount,
    MarketDay,
    Packing,
    Producer,
    StockCount,
)

Went: Any = Dispatch.Kind
TO_PEOPLE = frozenset({
    Went.CONSUMER,
    Went.BUSINESS,
    Went.DONATED,
    Went.TASTED,
})  # somebody may eat it


@dataclass(frozen=True)
class Stock:
    """The packages of one batch: every row about them, and the sums that follow."""

    batch: Batch
    packings: Rows[Packing]
    dispatches: Rows[Dispatch]
    counts: Rows[StockCount]
    carried: Rows[MarketCount]
    holds: tuple[Hold, ...] = ()

    @cached_property
    def filled(self) -> int:
        """Return how many packages were filled."""
        return sum(each.packages for each in self.packings.current)

    @cached_property
    def went(self) -> Counter[str]:
        """Return how many packages went where; those that came back are one kind."""
        return self.went_by(None)

    def went_by(self, instant: datetime | None) -> Counter[str]:
        """Return how many packages had gone where at an instant; by now with None."""
        found: Counter[str] = Counter()
        for each in self.dispatches.current:
            if instant is None or each.occurred_at <= instant:
                found[each.kind] += each.packages
        return found

    @property
    def left(self) -> int:
        """Return how many packages should still be here to be sold."""
        return self.filled - net(self.went)

    @property
    def last_count(self) -> StockCount | None:
        """Return the last time that somebody counted what is left."""
        return max(
            self.counts.current,
            key=lambda each: (each.occurred_at, each.pk),
            default=None,
        )

    @property
    def unaccounted(self) -> int | None:
        """Return how many packages the last count did not find; None without a count."""
        count = self.last_count
        if count is None:
            return None
        return self.filled - net(self.went_by(count.occurred_at)) - count.packages

    @property
    def held(self) -> int:
        """Return how many of the packages that are left are on hold."""
        if any(hold.packages is None for hold in self.holds):
            return self.left
        return min(
            self.left, max((hold.packages or 0 for hold in self.holds), default=0)
        )

    @property
    def free(self) -> int:
        """Return how many packages are left and not held."""
        return self.left - self.held

    @property
    def use_by(self) -> date | None:
        """Return the first use-by date of its packages; None where none has one."""
        days = [each.use_by for each in self.packings.current if each.use_by]
        return min(days, default=None)

    def at(self, market: MarketDay) -> tuple[int, int, int | None]:
        """Return what was taken to a market, what went there, what came back of it."""
        keys = {market.pk, market.corrects_id} - {None}
        out, back = 0, None
        for each in self.carried.current:
            if each.market_id in keys and each.edge == MarketCount.Edge.OUT:
                out += each.packages
            elif each.market_id in keys:
                back = (back or 0) + each.packages
        gone = sum(
            each.packages for each in self.dispatches.current if each.market_id in keys
        )
        return out, gone, back


def net(went: Counter[str]) -> int:
    """Return how many packages are gone: those that came back are here again."""
    back = went[Went.RETURNED.value]
    return sum(went.values()) - 2 * back


def stocks_of(batches: Sequence[Batch]) -> tuple[Stock, ...]:
    """Return the packages of several batches, in five queries for all of them.

    Where nothing was ever packed nothing can have gone: then it is one.
    """
    packings = _by_batch(batches, Packing.objects.select_related("by"))
    is_packed = any(packings.values())
    kinds: dict[Any, dict[int, list[Any]]] = {
        model: _by_batch(batches, model.objects.select_related("by", *related))
        if is_packed
        else {batch.pk: [] for batch in batches}
        for model, related in (
            (Dispatch, ("buyer", "market", "packing")),
            (StockCount, ()),
            (MarketCount, ("market",)),
        )
    }
    holds: dict[int, list[Hold]] = defaultdict(list)
    if is_packed:
        for hold in Hold.objects.filter(batch__in=batches, lifting__isnull=True):
            holds[hold.batch_id or 0].append(hold)
    return tuple(
        Stock(
            batch=batch,
            packings=Rows(packings[batch.pk]),
            dispatches=Rows(kinds[Dispatch][batch.pk]),
            counts=Rows(kinds[StockCount][batch.pk]),
            carried=Rows(kinds[MarketCount][batch.pk]),
            holds=tuple(holds[batch.pk]),
        )
        for batch in batches
    )


def stock_of(batch: Batch) -> Stock:
    """Return the packages of one batch."""
    (stock,) = stocks_of([batch])
    return stock


def buyers_of(producer: Producer) -> QuerySet[Buyer]:
    """Return the businesses that buy, by name."""
    return Buyer.objects.filter(producer=producer).order_by("name")


def buyer_of(producer: Producer, pk: int) -> Buyer:
    """Return a buyer; one of another producer does not exist."""
    return Buyer.objects.get(producer=producer, pk=pk)


def market_days_of(producer: Producer) -> QuerySet[MarketDay]:
    """Return the days at market, the last first."""
    return (
        MarketDay.objects
        .current()
        .filter(producer=producer)
        .select_related("by")
        .order_by("-occurred_at", "-pk")
    )


def market_day_of(producer: Producer, pk: int) -> MarketDay:
    """Return a day at market; one of another producer does not exist."""
    return market_days_of(producer).get(pk=pk)


def sold_at(market: MarketDay) -> tuple[Stock, ...]:
    """Return the batches that were taken to a market or sold there."""
    keys = {market.pk, market.corrects_id} - {None}
    batches = Batch.objects.filter(
        pk__in={
            *MarketCount.objects.filter(market__in=keys).values_list(
                "batch", flat=True
            ),
            *Dispatch.objects.filter(market__in=keys).values_list("batch", flat=True),
        }
    ).select_related("product", "premises")
    return stocks_of(list(batches.order_by("started_at", "pk")))


def in_stock(producer: Producer) -> tuple[Stock, ...]:
    """Return the batches of which packages are left, the oldest first."""
    packed = (
        Batch.objects
        .filter(producer=producer, packings__isnull=False)
        .distinct()
        .select_related("product", "premises")
        .order_by("started_at", "pk")
    )
    return tuple(stock for stock in stocks_of(list(packed)) if stock.left > 0)


def packings_with(producer: Producer, code: str) -> QuerySet[Packing]:
    """Return the packings under a code."""
    return (
        Packing.objects
        .current()
        .filter(batch__producer=producer, code=code)
        .select_related("batch__product", "batch__premises")
    )


def _by_batch(batches: Iterable[Batch], rows: QuerySet[Any]) -> dict[int, list[Any]]:
    by_pk = {batch.pk: batch for batch in batches}
    found: dict[int, list[Any]] = {pk: [] for pk in by_pk}
    for row in rows.filter(batch__in=by_pk).order_by("occurred_at", "pk"):
        row.batch = by_pk[row.batch_id]
        found[row.batch_id].append(row)
    return found
