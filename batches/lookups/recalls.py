"""Reads: recalls and drills, with the account of every package that they look for."""

import hashlib
import json
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db.models import QuerySet

from batches.lookups.packages import Stock, stocks_of
from batches.models import (
    Batch,
    Buyer,
    Dispatch,
    MarketDay,
    Packing,
    Producer,
    RecallCase,
    RecallContact,
    RecallEnd,
)
from safety.science.balance import number_to_ask, share_pct

Kind: Any = Dispatch.Kind
DRILL_EVERY = timedelta(days=365)  # common practice, no source: once a year
MARKET_LASTS = timedelta(hours=18)  # own figure: then a stall is over, counted or not
KEPT_HERE = (Kind.LABORATORY, Kind.RETAINED)
NO_LONGER_FOOD = (Kind.TASTED, Kind.DAMAGED, Kind.DESTROYED, Kind.REWORKED)


@dataclass(frozen=True, slots=True)
class AtBuyer:
    """What one business took of the batches, and what it has said since."""

    buyer: Buyer
    rows: tuple[Dispatch, ...]
    contacts: tuple[RecallContact, ...]

    @property
    def packages(self) -> int:
        """Return how many packages it took, less those that came back."""
        return sum(
            -row.packages if row.kind == Kind.RETURNED else row.packages
            for row in self.rows
        )

    @property
    def is_reached(self) -> bool:
        """Say whether anybody there was reached."""
        return any(each.reached for each in self.contacts)

    @property
    def still_there(self) -> int | None:
        """Return how many packages it last said to have, or None where nobody knows."""
        said = [each for each in self.contacts if each.still_there is not None]
        return said[-1].still_there if said else None


@dataclass(frozen=True)
class Account:
    """Where every package of a recall is, in whole packages."""

    case: RecallCase
    stocks: tuple[Stock, ...]
    at_market: Counter[int]
    buyers: tuple[AtBuyer, ...]
    contacts: tuple[RecallContact, ...]
    end: RecallEnd | None = None

    @property
    def made(self) -> int:
        """Return how many packages were filled."""
        return sum(stock.filled for stock in self.stocks)

    @property
    def went(self) -> Counter[str]:
        """Return how many packages went where."""
        found: Counter[str] = Counter()
        for stock in self.stocks:
            found.update(stock.went)
        return found

    @property
    def in_stock(self) -> int:
        """Return how many are on the shelf: left, and not in a box at market."""
        return sum(stock.left for stock in self.stocks) - self.in_box

    @property
    def in_box(self) -> int:
        """Return how many are in a box at market now."""
        return sum(self.at_market.values())

    @property
    def with_buyers(self) -> int:
        """Return how many went to named businesses, less those that came back."""
        return sum(each.packages for each in self.buyers)

    @property
    def with_consumers(self) -> int:
        """Return how many went to people whom nobody can call by name."""
        given = self.went[Kind.CONSUMER.value] + self.went[Kind.DONATED.value]
        return given - self.returned_by_people

    @property
    def returned_by_people(self) -> int:
        """Return how many came back without a business being named."""
        return sum(
            row.packages
            for stock in self.stocks
            for row in stock.dispatches.current
            if row.kind == Kind.RETURNED and row.buyer_id is None
        )

    @property
    def kept(self) -> int:
        """Return how many are with a laboratory or kept as a reference."""
        return sum(self.went[kind.value] for kind in KEPT_HERE)

    @property
    def gone(self) -> int:
        """Return how many are no longer food: destroyed, opened, worked again."""
        return sum(self.went[kind.value] for kind in NO_LONGER_FOOD)

    @property
    def missing(self) -> int:
        """Return how many the last counts of the shelf did not find."""
        return sum(stock.unaccounted or 0 for stock in self.stocks)

    @property
    def accounted_pct(self) -> float | None:
        """Return the share whose place is known, %: all but what a count missed."""
        if not self.made:
            return None
        return share_pct(max(self.made - self.missing, 0), self.made)

    @property
    def distributed(self) -> int:
        """Return how many left for somebody who may eat or sell them."""
        kinds = (Kind.CONSUMER, Kind.BUSINESS, Kind.DONATED)
        return sum(self.went[kind.value] for kind in kinds)

    @property
    def recovered(self) -> int:
        """Return how many came back, or are held or destroyed where they went."""
        there = sum(each.still_there or 0 for each in self.buyers)
        destroyed = sum(each.destroyed or 0 for each in self.contacts)
        return self.went[Kind.RETURNED.value] + there + destroyed

    @property
    def recovered_pct(self) -> float | None:
        """Return the recovered share of what was distributed, %."""
        if not self.distributed:
            return None
        return share_pct(self.recovered, self.distributed)

    @property
    def to_ask(self) -> int:
        """Return how many businesses are to be asked whether the telling worked."""
        return number_to_ask(len(self.buyers), percent=self.case.ask_percent)

    @property
    def reached(self) -> int:
        """Return how many businesses were reached."""
        return sum(each.is_reached for each in self.buyers)

    def plain(self) -> dict[str, Any]:
        """Return the account as plain values: what a signature keeps."""
        return {
            "batches": [stock.batch.code for stock in self.stocks],
            "codes": sorted(
                row.code for stock in self.stocks for row in stock.packings.current
            ),
            "made": self.made,
            "in_stock": self.in_stock,
            "in_box": self.in_box,
            "with_buyers": {each.buyer.name: each.packages for each in self.buyers},
            "with_consumers": self.with_consumers,
            "kept": self.kept,
            "gone": self.gone,
            "missing": self.missing,
            "distributed": self.distributed,
            "recovered": self.recovered,
            "to_ask": self.to_ask,
            "reached": self.reached,
            "contacts": len(self.contacts),
        }

    @property
    def sha256(self) -> str:
        """Return the number of the account as it is now."""
        text = json.dumps(self.plain(), sort_keys=True, ensure_ascii=False)
        return hashlib.sha256(text.encode()).hexdigest()


def recalls_of(producer: Producer) -> QuerySet[RecallCase]:
    """Return recalls and drills, the last first."""
    return (
        RecallCase.objects
        .filter(producer=producer)
        .select_related("end", "by")
        .order_by("-number")
    )


def recall_of(producer: Producer, number: int) -> RecallCase:
    """Return a recall by its number; one of another producer does not exist."""
    return recalls_of(producer).get(number=number)


def account_of(case: RecallCase, *, at: datetime) -> Account:
    """Return where every package is at an instant, in a fixed number of questions."""
    batches = list(
        Batch.objects
        .filter(recall_cases__case=case)
        .select_related("product", "premises")
        .order_by("started_at", "pk")
    )
    stocks = stocks_of(batches)
    contacts = tuple(case.contacts.select_related("buyer", "by").order_by("pk"))
    return Account(
        case=case,
        stocks=stocks,
        at_market=_in_boxes(stocks, at),
        buyers=_buyers(stocks, contacts),
        contacts=contacts,
        end=getattr(case, "end", None),
    )


def drill_due(producer: Producer, *, now: datetime) -> bool:
    """Say whether the yearly drill is due: food was packed, and none ended in a year."""
    if not Packing.objects.filter(batch__producer=producer).exists():
        return False
    return not RecallEnd.objects.filter(
        producer=producer, ended_at__gt=now - DRILL_EVERY
    ).exists()


def _in_boxes(stocks: Iterable[Stock], at: datetime) -> Counter[int]:
    """Return how many packages of each batch are at a market that is not over."""
    found: Counter[int] = Counter()
    for stock in stocks:
        days: dict[int, MarketDay] = {
            row.market_id: row.market for row in stock.carried.current
        }
        for day in days.values():
            out, gone, back = stock.at(day)
            is_on = day.occurred_at <= at < day.occurred_at + MARKET_LASTS
            if back is None and is_on:
                found[stock.batch.pk] += max(out - gone, 0)
    return found


def _buyers(
    stocks: Iterable[Stock], contacts: Iterable[RecallContact]
) -> tuple[AtBuyer, ...]:
    rows: dict[int, list[Dispatch]] = {}
    buyers: dict[int, Buyer] = {}
    for stock in stocks:
        for row in stock.dispatches.current:
            if row.buyer is not None:
                buyers[row.buyer.pk] = row.buyer
                rows.setdefault(row.buyer.pk, []).append(row)
    said = tuple(contacts)
    return tuple(
        AtBuyer(
            buyer,
            tuple(rows[key]),
            tuple(each for each in said if each.buyer_id == key),
        )
        for key, buyer in sorted(buyers.items(), key=lambda one: one[1].name)
    )
