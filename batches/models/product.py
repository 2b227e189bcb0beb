"""What a producer makes, with the facts that decide which limits apply."""

from typing import ClassVar

from django.db import models

from batches.models.exact import ExactDecimalField
from batches.models.producer import Premises, Producer
from safety.facts import FACTS
from safety.judge import evidence
from safety.limits.load import catalogue

FACT_COLUMNS = ("food", "process", "packaging", "storage", "programme")


def _fact(name: str) -> models.CharField:
    values = FACTS[name].values
    choices = [(value, value) for value in values] if values else None
    return models.CharField(max_length=60, blank=True, choices=choices)


class Product(models.Model):
    """A product as a plan sees it; a fact that is blank is unknown, not false."""

    ACT: ClassVar[str] = "product.added"
    CHANGES: ClassVar[tuple[str, ...]] = ("product.answered", "product.changed")

    producer = models.ForeignKey(Producer, models.PROTECT, related_name="products")
    name = models.CharField(max_length=120)
    food = _fact("food")
    process = _fact("process")
    packaging = _fact("packaging")
    storage = _fact("storage")
    programme = _fact("programme")
    facts = models.JSONField(default=dict, blank=True)
    shelf_life_days = models.PositiveSmallIntegerField(null=True, blank=True)
    thickest_mm = ExactDecimalField(null=True, blank=True)
    heating_check_min = models.PositiveSmallIntegerField()
    cold_typed_twice_a_day = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["producer", "name"], name="product_name_once_per_producer"
            )
        ]

    def __str__(self) -> str:
        return self.name

    def evidence(self, premises: Premises) -> evidence.Product:
        """Return the facts that select limits, as known at these premises."""
        known = {name: getattr(self, name) for name in FACT_COLUMNS}
        known |= self.facts
        known["jurisdiction"] = premises.jurisdiction
        return evidence.Product(
            name=self.name, facts={name: fact for name, fact in known.items() if fact}
        )

    def check_intervals_min(self, *, is_cold_logged: bool = False) -> dict[str, int]:
        """Return this product's own longest gaps between readings, by control point.

        A plan that lets people look at the cold store twice a day has the widest
        interval allowed there; a cold store that a logger watches has not.
        """
        intervals = {"heating": self.heating_check_min}
        if self.cold_typed_twice_a_day and not is_cold_logged:
            widest = catalogue().intervals["cold-store"].ceiling_min
            intervals["cold-holding"] = int(widest)
        return intervals
