"""What a batch was packed into, and where its packages went."""

import uuid
from typing import ClassVar

from django.db import models

from batches.models.append_only import Correctable
from batches.models.entry import LATE_AFTER, Entry
from batches.models.exact import ExactDecimalField
from batches.models.producer import Producer


class Packing(Entry):
    """Packages of one kind, filled from one batch at one time, under one code.

    The code is the traceability lot code of the food in them. ``use_by`` is the last day;
    a count of labels that is None was not made.
    """

    ACT: ClassVar[str] = "packing.recorded"

    class Kind(models.TextChoices):
        AIR = "air", "Air gets in (film, paper, open)"
        REDUCED = "reduced-oxygen", "Oxygen is kept out (vacuum, gas, oil)"

    code = models.CharField(max_length=12)
    kind = models.CharField(max_length=16, choices=Kind.choices)
    packages = models.PositiveIntegerField()
    net_g = ExactDecimalField(null=True, blank=True)
    otr = ExactDecimalField(null=True, blank=True)
    use_by = models.DateField(null=True, blank=True)
    trimmed_kg = ExactDecimalField(null=True, blank=True)
    labels_printed = models.PositiveIntegerField(null=True, blank=True)
    labels_used = models.PositiveIntegerField(null=True, blank=True)
    labels_spoiled = models.PositiveIntegerField(null=True, blank=True)
    note = models.TextField(blank=True)
    occurred_at = models.DateTimeField()

    class Meta(Entry.Meta):
        indexes = [models.Index(fields=["code"], name="packing_by_code")]

    def __str__(self) -> str:
        return self.code


class Buyer(models.Model):
    """A business that buys packages, as it must be named when food goes to it."""

    ACT: ClassVar[str] = "buyer.added"
    CHANGES: ClassVar[tuple[str, ...]] = ("buyer.changed",)

    producer = models.ForeignKey(Producer, models.PROTECT, related_name="buyers")
    name = models.CharField(max_length=120)
    street = models.CharField(max_length=200, blank=True)
    city = models.CharField(max_length=120, blank=True)
    region = models.CharField(max_length=60, blank=True)
    postcode = models.CharField(max_length=20, blank=True)
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField(blank=True)
    contact = models.CharField(max_length=120, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["producer", "name"], name="buyer_name_once_per_producer"
            )
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def location(self) -> str:
        """Return the location description: street, city, region and postcode."""
        parts = (self.street, self.city, f"{self.region} {self.postcode}".strip())
        return ", ".join(part for part in parts if part)


class MarketDay(Correctable):
    """One day at a stall: where, with which box, how far from the place of work."""

    ACT: ClassVar[str] = "market.opened"

    producer = models.ForeignKey(Producer, models.PROTECT, related_name="market_days")
    entry_id = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    place = models.CharField(max_length=120)
    box = models.CharField(max_length=60, blank=True)
    minutes_away = models.PositiveSmallIntegerField(null=True, blank=True)
    ice_kg = ExactDecimalField(null=True, blank=True)
    note = models.TextField(blank=True)
    occurred_at = models.DateTimeField()

    class Meta(Correctable.Meta):
        pass

    def __str__(self) -> str:
        return f"{self.place} {self.occurred_at:%Y-%m-%d}"

    @property
    def is_late(self) -> bool:
        """Say whether it was written down too long after it began."""
        return self.recorded_at - self.occurred_at > LATE_AFTER


class MarketCount(Entry):
    """Packages of one batch counted into the box, or out of it at the end of the day."""

    ACT: ClassVar[str] = "market-count.recorded"

    class Edge(models.TextChoices):
        OUT = "out", "Taken along"
        BACK = "back", "Brought back"

    market = models.ForeignKey(MarketDay, models.PROTECT, related_name="counts")
    edge = models.CharField(max_length=4, choices=Edge.choices)
    packages = models.PositiveIntegerField()
    occurred_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.packages} {self.edge}"


class Dispatch(Entry):
    """Packages of one batch that left the stock, or came back to it, and why.

    ``document`` is the reference document of a delivery, its kind and number.
    """

    ACT: ClassVar[str] = "dispatch.recorded"

    class Kind(models.TextChoices):
        CONSUMER = "consumer", "Sold to people who eat it"
        BUSINESS = "business", "Sold to a business"
        DONATED = "donated", "Given away"
        TASTED = "tasted", "Opened for tasting"
        LABORATORY = "laboratory", "Sent to a laboratory"
        RETAINED = "retained", "Kept as a reference"
        REWORKED = "reworked", "Opened to be worked again"
        DAMAGED = "damaged", "Damaged, thrown away"
        DESTROYED = "destroyed", "Destroyed"
        RETURNED = "returned", "Came back"

    kind = models.CharField(max_length=12, choices=Kind.choices)
    packages = models.PositiveIntegerField()
    packing = models.ForeignKey(
        Packing, models.PROTECT, null=True, blank=True, related_name="dispatches"
    )
    buyer = models.ForeignKey(
        Buyer, models.PROTECT, null=True, blank=True, related_name="dispatches"
    )
    market = models.ForeignKey(
        MarketDay, models.PROTECT, null=True, blank=True, related_name="sales"
    )
    document = models.CharField(max_length=120, blank=True)
    note = models.TextField(blank=True)
    occurred_at = models.DateTimeField()

    class Meta(Entry.Meta):
        indexes = [models.Index(fields=["batch", "kind"], name="dispatch_by_batch")]

    def __str__(self) -> str:
        return f"{self.packages} {self.kind}"


class StockCount(Entry):
    """Packages of one batch that were counted on the shelf."""

    ACT: ClassVar[str] = "stock.counted"

    packages = models.PositiveIntegerField()
    note = models.TextField(blank=True)
    occurred_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.packages} counted"
