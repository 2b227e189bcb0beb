"""Writes: where a lot came from, and what was done with the raw fish in store."""

from datetime import date
from decimal import Decimal
from itertools import pairwise
from typing import Any

from django.db import transaction

from batches.errors import RecordError
from batches.lookups.raw_fish import LOST, RawFish, raw_fish
from batches.models import Lot, LotHandling, LotOrigin, Premises
from batches.recording import guards, trail
from batches.recording.logbook import enter

Kind: Any = LotHandling.Kind
Way: Any = LotOrigin.Way
DAYS = ("first_caught_on", "last_caught_on", "landed_on")
WORDS = (
    "code_source",
    "market_name",
    "latin_name",
    "description",
    "source_place",
    "source_phone",
    "caught_where",
    "vessel",
    "farm_place",
    "farm_phone",
    "pond",
    "document",
    "document_number",
    "carrier",
)
GIVEN_HERE = frozenset({Way.EXEMPT, Way.LANDED, Way.FARMED})
WEIGHED_ALWAYS = LOST | {Kind.WEIGHED}


@transaction.atomic
def record_origin(
    premises: Premises, *, lot: Lot, way: str, code: str = "", **told: Any
) -> LotOrigin:
    """Write down where a lot came from; what is left out is not known.

    Where nobody had to give it a traceability lot code it gets our own lot code.
    """
    guards.check_own(lot, premises.producer, "lot", "lot")
    if way not in Way.values:
        raise RecordError("way", "Say how the lot came to you.", "unknown-way")
    entry = {name: told.pop(name) for name in list(told) if name not in WORDS + DAYS}
    content: dict[str, Any] = {name: told.get(name, "").strip() for name in WORDS}
    content |= {name: told.get(name) for name in DAYS}
    code = code.strip()
    is_own = not code and way in GIVEN_HERE
    content |= {
        "lot": lot,
        "way": way,
        "code": lot.code if is_own else code,
        "is_own_code": is_own,
    }
    trail.hold(premises.producer_id)
    _check_once(lot, entry)
    _check_days(lot, content, premises)
    return enter(LotOrigin, premises, content, entry)


@transaction.atomic
def handle_lot(
    premises: Premises,
    *,
    lot: Lot,
    kind: str,
    mass_kg: Decimal | int | str | None = None,
    place: str = "",
    temperature: Decimal | str | None = None,
    unit: str = "",
    **entry: Any,
) -> LotHandling:
    """Write down what was done with raw fish in store; never more than there is."""
    guards.check_own(lot, premises.producer, "lot", "lot")
    if kind not in Kind.values:
        raise RecordError("kind", "Say what was done with the fish.", "unknown-kind")
    if temperature is not None:
        temperature = guards.number("temperature", temperature)
        guards.check_plausible(
            "product-temperature", temperature, unit, field="temperature"
        )
    content = {
        "lot": lot,
        "kind": kind,
        "mass_kg": _mass(kind, mass_kg),
        "place": place.strip(),
        "temperature": temperature,
        "unit": unit if temperature is not None else "",
    }
    trail.hold(premises.producer_id)
    if not _is_repeated(entry):
        _check_fits(raw_fish(lot), content, entry, premises)
    return enter(LotHandling, premises, content, entry)


# ------------------------------------------------------------ what is asked before


def _mass(kind: str, typed: Decimal | int | str | None) -> Decimal | None:
    if typed is None or typed == "":
        if kind in WEIGHED_ALWAYS:
            raise RecordError("mass_kg", "Say how much it weighed, in kg.", "no-weight")
        return None
    value = guards.number("mass_kg", typed)
    if value < 0 or (value == 0 and kind != Kind.WEIGHED):
        raise RecordError(
            "mass_kg",
            f"{value} kg is not above zero. Check what was typed.",
            "not-positive",
        )
    return value


def _is_repeated(entry: dict[str, Any]) -> bool:
    key = entry.get("entry_id")
    return key is not None and LotHandling.objects.filter(entry_id=key).exists()


def _check_once(lot: Lot, entry: dict[str, Any]) -> None:
    before = LotOrigin.objects.current().filter(lot=lot)
    again = before.exclude(entry_id=entry.get("entry_id")).exists()
    if entry.get("corrects") is None and again:
        raise RecordError(
            "lot",
            f"Where lot {lot.code} came from is on record. Correct that entry instead.",
            "already-said",
        )


def _check_days(lot: Lot, content: dict[str, Any], premises: Premises) -> None:
    """Refuse days in the wrong order: caught first, then landed, then received here."""
    words = ("first caught", "last caught", "landed", "received here")
    days = [content[name] for name in DAYS]
    received = lot.received_at.astimezone(premises.zone).date()
    told: list[tuple[str, str, date]] = [
        (name, word, day)
        for name, word, day in zip(
            (*DAYS, "lot"), words, (*days, received), strict=True
        )
        if day is not None
    ]
    for (earlier, before, first), (later, after, second) in pairwise(told):
        if first > second:
            raise RecordError(
                later if later in DAYS else earlier,
                f"The lot was {before} on {first} but {after} on {second}, which is "
                "earlier. Check both days.",
                "wrong-order",
            )


def _check_fits(
    fish: RawFish, content: dict[str, Any], entry: dict[str, Any], premises: Premises
) -> None:
    lot, kind, mass = fish.lot, content["kind"], content["mass_kg"]
    corrected = entry.get("corrects")
    back = (
        corrected.mass_kg or 0
        if isinstance(corrected, LotHandling) and corrected.kind in LOST
        else 0
    )
    if kind in LOST and mass > fish.left_kg + back:
        raise RecordError(
            "mass_kg",
            f"Of lot {lot.code} only {fish.left_kg + back} kg are left by the record: "
            f"{lot.mass_kg} kg came in, {fish.used_kg} kg went into batches, "
            f"{fish.lost_kg - back} kg were trimmed off or thrown away. Weigh again.",
            "more-than-left",
        )
    if mass is not None and mass > lot.mass_kg:
        raise RecordError(
            "mass_kg",
            f"{mass} kg are more than came in: lot {lot.code} was {lot.mass_kg} kg. "
            "Weigh again.",
            "more-than-came",
        )
    when = entry["occurred_at"]
    guards.check_aware("occurred_at", when)
    if when < lot.received_at:
        raise RecordError(
            "occurred_at",
            f"Lot {lot.code} came in only at {guards.wall(lot.received_at, premises.zone)}. "
            "Check the day and the hour.",
            "before-receipt",
        )
    if kind == Kind.THAW_ENDED and not _began(fish, when):
        raise RecordError(
            "kind",
            f"No thawing of lot {lot.code} began before that. Write down first when it "
            "began.",
            "not-begun",
        )


def _began(fish: RawFish, when: Any) -> bool:
    rows = [row for row in fish.handlings.current if row.occurred_at <= when]
    return any(row.kind == Kind.THAW_BEGUN for row in rows)
