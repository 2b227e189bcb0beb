"""Reads: lots by weight and by where they are, and what tracing still asks about them."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Any

from batches.elements import Element, Event, events_of
from batches.lookups.records import Rows
from batches.models import (
    BatchLot,
    Disposition,
    Hold,
    Lot,
    LotHandling,
    LotOrigin,
    ReceivingCheck,
)
from safety.foods.load import foods

NOTHING = Decimal(0)
Kind: Any = LotHandling.Kind
LOST = frozenset({Kind.TRIMMED, Kind.DISCARDED})
COLD = (Kind.FROZEN, Kind.THAW_BEGUN, Kind.THAW_ENDED)
GONE = (Disposition.Kind.DESTROY, Disposition.Kind.DIVERT, Disposition.Kind.RETURN)


@dataclass(frozen=True)
class RawFish:
    """One lot: what came in, what became of it, and what follows from that."""

    lot: Lot
    uses: tuple[BatchLot, ...]
    origins: Rows[LotOrigin]
    handlings: Rows[LotHandling]
    decided_kg: Decimal = NOTHING
    is_rejected: bool = False
    is_held: bool = False

    @cached_property
    def used_kg(self) -> Decimal:
        """Return how much went into batches, kg."""
        return sum((use.mass_kg for use in self.uses), NOTHING)

    @cached_property
    def lost_kg(self) -> Decimal:
        """Return how much was trimmed off and thrown away, kg."""
        return self.lost_by(None)

    def lost_by(self, upto: LotHandling | None) -> Decimal:
        """Return how much was lost until a handling; all of it with None."""
        return sum(
            (
                row.mass_kg or NOTHING
                for row in self.handlings.current
                if row.kind in LOST
                and (upto is None or row.occurred_at <= upto.occurred_at)
            ),
            NOTHING,
        )

    @property
    def rest_kg(self) -> Decimal:
        """Return what no row tells of, kg; below zero, more was used than came in."""
        return self.lot.mass_kg - self.used_kg - self.lost_kg - self.decided_kg

    @property
    def left_kg(self) -> Decimal:
        """Return how much should still be in store, kg; never less than nothing."""
        return max(NOTHING, self.rest_kg)

    @property
    def too_much_kg(self) -> Decimal:
        """Return how much more was used than came in, kg."""
        return max(NOTHING, -self.rest_kg)

    @property
    def is_usable(self) -> bool:
        """Say whether a batch may be started from what is left."""
        return bool(self.left_kg) and not (self.is_rejected or self.is_held)

    @property
    def last_weighing(self) -> LotHandling | None:
        """Return the last time that somebody weighed what is left."""
        return self._last((Kind.WEIGHED,))

    @property
    def unaccounted_kg(self) -> Decimal | None:
        """Return what the last weighing did not find, kg; None where nobody weighed.

        What was decided away counts, whenever it was decided: the answer may then be too
        small, never too large.
        """
        weighing = self.last_weighing
        if weighing is None or weighing.mass_kg is None:
            return None
        used = sum(
            (
                use.mass_kg
                for use in self.uses
                if use.batch.started_at <= weighing.occurred_at
            ),
            NOTHING,
        )
        expected = self.lot.mass_kg - used - self.lost_by(weighing) - self.decided_kg
        return expected - weighing.mass_kg

    @property
    def cold(self) -> LotHandling | None:
        """Return the last thing that froze or thawed it; None where nobody wrote any."""
        return self._last(COLD)

    @property
    def is_thawing(self) -> bool:
        """Say whether a thawing began and did not end."""
        last = self._last((Kind.THAW_BEGUN, Kind.THAW_ENDED))
        return last is not None and last.kind == Kind.THAW_BEGUN

    @property
    def origin(self) -> LotOrigin | None:
        """Return what is known of where it came from; None where nobody wrote it."""
        return self.origins.current[-1] if self.origins.current else None

    @cached_property
    def values(self) -> dict[str, Any]:
        """Return what is known, by the names that `batches.elements` asks for."""
        lot, origin = self.lot, self.origin
        known: dict[str, Any] = defaultdict(str)
        known |= {
            "mass_kg": lot.mass_kg,
            "received_on": lot.received_at,
            "supplier": lot.supplier,
        }
        if origin is not None:
            known |= {
                field.name: getattr(origin, field.attname)
                for field in origin._meta.concrete_fields
            }
            known["premises_place"] = origin.premises.address
        return known

    @property
    def asked(self) -> tuple[tuple[Event, tuple[Element, ...]], ...]:
        """Return each set of data for its way here, with what of it is not known."""
        if self.origin is None:
            return ()
        events = events_of(self.origin.way)
        return tuple((event, event.missing(self.values)) for event in events)

    @property
    def missing(self) -> tuple[str, ...]:
        """Return in words what tracing asks and nobody wrote down, each thing once."""
        found = [each.words for _, missing in self.asked for each in missing]
        return tuple(dict.fromkeys(found))

    def _last(self, kinds: Iterable[str]) -> LotHandling | None:
        wanted = set(kinds)
        return max(
            (row for row in self.handlings.current if row.kind in wanted),
            key=lambda row: (row.occurred_at, row.pk),
            default=None,
        )


def raw_fish_of(lots: Sequence[Lot]) -> tuple[RawFish, ...]:
    """Return what became of several lots, in six questions for all of them."""
    uses = _by_lot(BatchLot.objects.filter(lot__in=lots).select_related("batch"))
    related = ("by", "premises", "lot")
    origins = _by_lot(
        LotOrigin.objects.filter(lot__in=lots).select_related(*related).order_by("pk")
    )
    handlings = _by_lot(
        LotHandling.objects
        .filter(lot__in=lots)
        .select_related(*related)
        .order_by("occurred_at", "pk")
    )
    rejected = ReceivingCheck.objects.current().filter(
        lot__in=lots, decision=ReceivingCheck.Decision.REJECTED
    )
    held = Hold.objects.filter(lot__in=lots, lifting__isnull=True)
    refused = set(rejected.values_list("lot_id", flat=True))
    stopped = set(held.values_list("lot_id", flat=True))
    decided = _decided(lots)
    return tuple(
        RawFish(
            lot=lot,
            uses=tuple(uses[lot.pk]),
            origins=Rows(origins[lot.pk]),
            handlings=Rows(handlings[lot.pk]),
            decided_kg=decided.get(lot.pk, NOTHING),
            is_rejected=lot.pk in refused,
            is_held=lot.pk in stopped,
        )
        for lot in lots
    )


def raw_fish(lot: Lot) -> RawFish:
    """Return what became of one lot."""
    (found,) = raw_fish_of([lot])
    return found


def names_of(lot: Lot) -> tuple[str, str]:
    """Return the market name and the Latin name that the guidance has for a lot's food."""
    food = foods().get(lot.food)
    if food is None:
        return lot.food.replace("-", " ").capitalize(), ""
    return food.market_name, food.latin_name


def _decided(lots: Sequence[Lot]) -> dict[int, Decimal]:
    """Return how much of each lot decisions sent away, kg.

    Several deviations are of the same fish, so the largest amount counts; a decision
    without an amount is one about all of it.
    """
    masses = {lot.pk: lot.mass_kg for lot in lots}
    by_case: dict[tuple[int, int], Decimal] = defaultdict(lambda: NOTHING)
    rows = Disposition.objects.filter(deviation__lot__in=masses, kind__in=GONE)
    for row in rows.select_related("deviation"):
        key = row.deviation.lot_id
        by_case[key, row.deviation_id] += masses[key] if row.kg is None else row.kg
    found: dict[int, Decimal] = {}
    for (key, _), amount in by_case.items():
        whole: Decimal = masses[key]
        found[key] = max(found.get(key, NOTHING), min(amount, whole))
    return found


def _by_lot(rows: Iterable[Any]) -> dict[int, list[Any]]:
    found: dict[int, list[Any]] = defaultdict(list)
    for row in rows:
        found[row.lot_id].append(row)
    return found
