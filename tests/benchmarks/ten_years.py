"""Ten invented years of a smokehouse in bulk, and a plain recount of all of its packages.

2,500 batches from 400 lots, 60,000 packages. Everything follows from one seed. The rows are
made past `batches.recording`, without a trail: for benchmarks of reads, and nothing else.
"""

from collections import Counter, defaultdict
from dataclasses import dataclass, field
from datetime import timedelta
from decimal import Decimal
from random import Random

from django.db import transaction

from batches import lotcode, models
from tests import factories
from tests.factories import START

LOTS, BATCHES, PACKAGES, BUYERS = 400, 2_500, 60_000, 40
EACH = PACKAGES // BATCHES
FIRST = START - timedelta(days=3650)
PACE = timedelta(days=3650) / BATCHES
REWORKED_EVERY = (
    125  # so many batches apart, one is opened and worked again as the next
)
MIXED_EVERY = 5  # so many batches apart, one is made from two lots
CHUNK = 1_000
BATCH_KG, NET_G = Decimal("7.2"), Decimal("200")
Kind = models.Dispatch.Kind
SPLIT = (  # of 24 packages at most so many to each
    (Kind.BUSINESS, 10),
    (Kind.CONSUMER, 8),
    (Kind.LABORATORY, 2),
    (Kind.RETAINED, 1),
)
FRESH = 30  # so many of the last batches still have what was not sold
USE_BY = timedelta(days=14)


@dataclass
class TenYears:
    """The rows, and beside them what plain Python knows without asking for them."""

    owner: models.Member
    premises: models.Premises
    product: models.Product
    lots: list = field(default_factory=list)
    batches: list = field(default_factory=list)
    packings: list = field(default_factory=list)
    buyers: list = field(default_factory=list)
    lots_of: dict = field(default_factory=dict)  # batch code: codes of its lots
    parent_of: dict = field(default_factory=dict)  # batch code: worked again from
    went: dict = field(default_factory=lambda: defaultdict(Counter))
    bought: dict = field(default_factory=lambda: defaultdict(Counter))

    @property
    def producer(self):
        return self.owner.producer

    def signed(self, at):
        return {"by": self.owner, "by_name": self.owner.name, "recorded_at": at}

    def left(self, code):
        """Return how many packages of a batch are still in stock, counted by hand."""
        return EACH - sum(self.went[code].values())

    def family(self, code):
        """Return the batches that a batch was worked into or from, itself among them."""
        found, fresh = {code}, {code}
        pairs = list(self.parent_of.items())
        while fresh:
            fresh = {
                other
                for child, parent in pairs
                for one, other in ((child, parent), (parent, child))
                if one in fresh
            } - found
            found |= fresh
        return found

    def batches_of_lot(self, code):
        """Return every batch that fish of a lot went into, worked again ones too."""
        direct = [batch for batch, lots in self.lots_of.items() if code in lots]
        return set().union(*(self.family(batch) for batch in direct))


@transaction.atomic
def ten_years(seed=1):
    """Make the history; about ten seconds."""
    owner = factories.MemberFactory()
    told = TenYears(
        owner,
        factories.PremisesFactory(producer=owner.producer),
        factories.ProductFactory(producer=owner.producer),
    )
    chance = Random(seed)
    told.buyers = models.Buyer.objects.bulk_create(
        models.Buyer(
            producer=told.producer, name=f"Buyer {number:02}", city="Merrowick"
        )
        for number in range(BUYERS)
    )
    _receive(told)
    _make(told)
    _pack(told)
    _send(told, chance)
    _work_again(told)
    return told


def _receive(told):
    told.lots = models.Lot.objects.bulk_create(
        (
            models.Lot(
                producer=told.producer,
                code=f"RL-{number:03}",
                food="coho-salmon",
                supplier=f"Supplier {number % 7}",
                supplier_code=f"WB-{number:04}",
                received_at=FIRST + PACE * (number * BATCHES // LOTS),
                mass_kg=Decimal("60.0"),
                **told.signed(FIRST + PACE * (number * BATCHES // LOTS)),
            )
            for number in range(LOTS)
        ),
        CHUNK,
    )


def _make(told):
    started = [FIRST + PACE * number for number in range(BATCHES)]
    told.batches = models.Batch.objects.bulk_create(
        (
            models.Batch(
                producer=told.producer,
                premises=told.premises,
                product=told.product,
                code=f"B{number:04}",
                started_at=at,
                **told.signed(at),
            )
            for number, at in enumerate(started)
        ),
        CHUNK,
    )
    uses = []
    for number, batch in enumerate(told.batches):
        main = number * LOTS // BATCHES
        is_mixed = number % MIXED_EVERY == 0 and main > 0
        lots = [told.lots[main], told.lots[main - 1]] if is_mixed else [told.lots[main]]
        told.lots_of[batch.code] = [lot.code for lot in lots]
        uses += [
            models.BatchLot(batch=batch, lot=lot, mass_kg=BATCH_KG / len(lots))
            for lot in lots
        ]
    models.BatchLot.objects.bulk_create(uses, CHUNK)


def _pack(told):
    numbers = Counter()
    rows = []
    for batch in told.batches:
        at = batch.started_at + timedelta(hours=24)
        day = at.date()
        rows.append(
            models.Packing(
                batch=batch,
                code=lotcode.code_of(day, numbers[day]),
                kind=models.Packing.Kind.REDUCED,
                packages=EACH,
                net_g=NET_G,
                use_by=day + USE_BY,
                occurred_at=at,
                **told.signed(at),
            )
        )
        numbers[day] += 1
    told.packings = models.Packing.objects.bulk_create(rows, CHUNK)


def _send(told, chance):
    rows = []
    for number, batch in enumerate(told.batches):
        if number % REWORKED_EVERY == 1:
            continue  # all of it is opened and worked again
        for day, (kind, most) in enumerate(SPLIT, start=2):
            count = chance.randint(0, most)
            if not count:
                continue
            buyer = chance.choice(told.buyers) if kind == Kind.BUSINESS else None
            at = batch.started_at + timedelta(days=day)
            rows.append(_dispatch(told, batch, kind, count, at, buyer=buyer))
            if buyer is not None:
                told.bought[buyer.name][batch.code] += count
        rest = told.left(batch.code)
        if rest and number < BATCHES - FRESH:
            at = batch.started_at + USE_BY
            rows.append(_dispatch(told, batch, Kind.DESTROYED, rest, at))
    models.Dispatch.objects.bulk_create(rows, CHUNK)


def _work_again(told):
    for number in range(1, BATCHES - 1, REWORKED_EVERY):
        first, again = told.batches[number], told.batches[number + 1]
        at = first.started_at + timedelta(days=2)
        _dispatch(told, first, Kind.REWORKED, EACH, at).save()
        deviation = models.Deviation.objects.create(
            producer=told.producer,
            batch=first,
            number=number,
            control_point="heating",
            status="by hand",
            observed_words="invented",
            observed_at=at,
            detected_at=at,
            **told.signed(at),
        )
        disposition = models.Disposition.objects.create(
            producer=told.producer,
            deviation=deviation,
            kind="rework",
            packages=EACH,
            reason="invented",
            decided_by=told.owner.name,
            function="owner",
            decided_at=at,
            **told.signed(at),
        )
        models.Rework.objects.create(
            producer=told.producer,
            disposition=disposition,
            from_batch=first,
            to_batch=again,
            kg=NET_G * EACH / 1000,
            packages=EACH,
            **told.signed(at),
        )
        told.parent_of[again.code] = first.code


def _dispatch(told, batch, kind, count, at, buyer=None):
    told.went[batch.code][str(kind)] += count
    return models.Dispatch(
        batch=batch,
        kind=kind,
        packages=count,
        buyer=buyer,
        document="invoice" if buyer else "",
        occurred_at=at,
        **told.signed(at),
    )
