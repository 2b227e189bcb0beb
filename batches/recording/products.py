"""Writes: what is made, and what came in."""

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from batches.errors import RecordError
from batches.models import Lot, Member, Producer, Product
from batches.models.product import FACT_COLUMNS
from batches.recording import guards, rows
from safety.facts import FURTHER_FACTS
from safety.limits.load import catalogue


@transaction.atomic
def add_product(
    producer: Producer,
    *,
    name: str,
    food: str = "",
    process: str = "",
    packaging: str = "",
    storage: str = "",
    programme: str = "",
    facts: Mapping[str, str] | None = None,
    shelf_life_days: int | None = None,
    by: Member,
    at: datetime,
    **own: Any,
) -> Product:
    """Describe a product; a fact left out is unknown.

    ``own`` are the plan's own figures: ``thickest_mm``, ``heating_check_min`` and
    ``cold_typed_twice_a_day``.
    """
    guards.check_may(by, producer, "product")
    guards.check_aware("at", at)
    name = guards.check_text("name", name, "what the product is called")
    if producer.products.filter(name=name).exists():
        raise RecordError(
            "name", f"{name} is already among the products. Choose it there.", "taken"
        )
    columns = dict(
        zip(FACT_COLUMNS, (food, process, packaging, storage, programme), strict=True)
    )
    further = {key: value for key, value in (facts or {}).items() if value}
    for key, value in columns.items():
        guards.check_fact(key, value)
    for key, value in further.items():
        _check_further(key, value)
    return rows.add(
        Product,
        rows.signed(by, at),
        producer=producer,
        name=name,
        facts=further,
        shelf_life_days=shelf_life_days,
        **columns,
        **_own_figures(**own),
    )


@transaction.atomic
def receive_lot(
    producer: Producer,
    *,
    code: str,
    food: str,
    supplier: str,
    supplier_code: str = "",
    received_at: datetime,
    mass_kg: Decimal | str,
    note: str = "",
    by: Member,
    at: datetime,
) -> Lot:
    """Take in a delivery."""
    guards.check_may(by, producer, "start")
    guards.check_past("received_at", received_at, at=at)
    code = guards.check_code("code", code, "lot")
    if producer.lots.filter(code=code).exists():
        raise RecordError(
            "code", f"There is already a lot {code}. Give this one another.", "taken"
        )
    guards.check_text("food", food, "which food it is")
    guards.check_fact("food", food)
    return rows.add(
        Lot,
        producer=producer,
        code=code,
        food=food,
        supplier=guards.check_text("supplier", supplier, "who supplied it"),
        supplier_code=supplier_code.strip(),
        received_at=received_at,
        mass_kg=guards.positive("mass_kg", mass_kg),
        note=note.strip(),
        **rows.signed(by, at),
    )


def _check_further(name: str, value: str) -> None:
    if name not in FURTHER_FACTS:
        raise RecordError(
            "facts",
            f"There is no further fact called {name!r}. "
            f"Facts are: {', '.join(FURTHER_FACTS)}.",
            "unknown-fact",
        )
    guards.check_fact(name, value)


def _own_figures(
    *,
    thickest_mm: Decimal | str | None = None,
    heating_check_min: int | None = None,
    cold_typed_twice_a_day: bool = False,
) -> dict[str, Any]:
    if thickest_mm is not None:
        thickest_mm = guards.positive("thickest_mm", thickest_mm)
        guards.check_plausible("thickness", thickest_mm, "mm", field="thickest_mm")
    interval = catalogue().intervals["heating"]
    if heating_check_min is None:
        heating_check_min = int(interval.check_every_min)
    if not 0 < heating_check_min <= interval.ceiling_min:
        raise RecordError(
            "heating_check_min",
            f"{heating_check_min} min cannot be the time between core checks. "
            f"Choose 1 to {interval.ceiling_min} min.",
            "bad-interval",
        )
    return {
        "thickest_mm": thickest_mm,
        "heating_check_min": heating_check_min,
        "cold_typed_twice_a_day": cold_typed_twice_a_day,
    }
