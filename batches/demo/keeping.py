"""Packing, the cooler, the market stall and the laboratory, as the firm wrote them down.

Where the story gives only a day, one hour of it is used for all batches; packing begins
10 min after the last cooling reading and takes 30 min, before the cleaning of that day.
"""

from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from batches import recording
from batches.demo.diary import OWNER, REVIEWER, UNIT, Diary, written
from batches.demo.dispatched import buy, drill, open_stall, pack, send_out
from batches.demo.making import (
    COOKED_AGAIN,
    COOKED_TWICE,
    OPENED,
    cooled_at,
    heating_of,
    is_logged,
)
from batches.demo.story import Row, local, row_of, rows_of, season, table

AFTER_COOLING = timedelta(minutes=10)
PACKING = timedelta(minutes=30)

SAMPLED, REPORTED, READ = "06:30", "08:00", "09:00"
DESTROYED, WEEKLY, STOCKTAKE = "18:00", "06:50", "14:00"
STOCKTAKE_DAY = "2025-08-30"

MIXED_PIECES = 5  # in each composite of the story

LABELLED = ("label-keep-refrigerated", "label-names-fish")
MARKET_HOURS = ("05:30", "09:00", "10:00", "11:00", "12:00", "13:20")
MARKET_END = MARKET_HOURS[-1]
REVIEWER_AT_THE_STALL = ("2025-07-12", "2025-08-23")
OWNER_INITIALS = ("2025-07-12", "11:00")  # all the same: the story's own fault
UNCOOLED = "ambient"


def keep_batches(diary: Diary) -> None:
    """Write down every batch from the packing to the last of its packs."""
    buy(diary)
    drill(diary)
    for row in table("packing"):
        if row["use_by"]:
            _pack(diary, row)
            _store(diary, row)
        _close(diary, row)
    for row in table("market"):
        open_stall(diary, row)
        _sell(diary, row)
    _read_laboratory(diary)
    _read_cooler(diary)


def _at(day: str, hour: str) -> datetime:
    return local(f"{day}T{hour}")


def packing_of(batch: str) -> tuple[datetime, datetime]:
    """Return when packing began and when the packs went into the cooler."""
    cooled = cooled_at(batch)
    begun = cooled + AFTER_COOLING if is_logged(batch) else cooled
    return begun, begun + PACKING


def _pack(diary: Diary, row: Row) -> None:
    batch = row["batch"]
    begun, stored = packing_of(batch)
    diary.mark(batch, "packing", "start", begun, order=1)
    smoked: dict[str, Any] = {
        "step": "packing",
        "quantity": "mass",
        "place": "smoked",
        "unit": "kg",
    }
    diary.read(batch, begun, row["smoked_kg"], order=2, **smoked)
    diary.mark(batch, "packing", "end", stored, order=1)
    pack(diary, row, stored)
    send_out(diary, row, stored)


def _store(diary: Diary, row: Row) -> None:
    batch = row["batch"]
    if is_uncooled(batch):
        return
    _, stored = packing_of(batch)
    for order, what in enumerate(LABELLED, start=3):
        diary.write(
            recording.record_statement,
            batch,
            written(stored, order),
            what=what,
            complies=True,
            occurred_at=stored,
        )
    diary.mark(batch, "cold-holding", "start", stored, order=4)
    ended = _gone_at(batch)
    if ended is not None:
        diary.mark(batch, "cold-holding", "end", ended, order=8)


def is_uncooled(batch: str) -> bool:
    """Say whether a batch needs no cooler."""
    brine = row_of("brine", COOKED_TWICE if batch == COOKED_AGAIN else batch)
    return season()["products"][brine["product"]]["storage"] == UNCOOLED


def _gone_at(batch: str) -> datetime | None:
    """Return when the last pack left the cooler, None while some are in stock."""
    packs = rows_of("packs", batch)
    kinds = {row["went_to"] for row in packs}
    if "stock" in kinds:
        return None
    if not packs:  # destroyed before it was packed
        return _at(str(cooled_at(batch).date()), DESTROYED)
    if "recooked" in kinds:
        return heating_of(COOKED_AGAIN)[0] - OPENED
    last = max((row for row in packs if row["day"]), key=lambda row: row["day"])
    outage_end = local(table("outage")[-1]["at"])
    if last["went_to"] == "destroyed" and last["day"] == str(outage_end.date()):
        return outage_end
    return _at(last["day"], MARKET_END if last["went_to"] == "market" else DESTROYED)


def _close(diary: Diary, row: Row) -> None:
    batch = row["batch"]
    at = _gone_at(batch) or _at(STOCKTAKE_DAY, STOCKTAKE)
    diary.remark(batch, at, f"State: {row['state']}.", order=9)


def _sell(diary: Diary, row: Row) -> None:
    """Read the warmest pack in the market box, for every batch that lies in it."""
    for order, batch in enumerate(row["batches"].split()):
        if is_uncooled(batch):
            continue
        for hour in MARKET_HOURS:
            diary.read(
                batch,
                _at(row["day"], hour),
                row[hour],
                order=order,
                by=_who_reads(row["day"], hour),
                step="cold-holding",
                quantity="product-temperature",
                place="MB1",
                unit=UNIT,
                instrument="H1",
            )
        text = f"Market: {row['ice_kg']} kg ice; {row['decision']}."
        closing = _at(row["day"], MARKET_END)
        diary.remark(batch, closing, text, step="cold-holding", order=order + 4)


def _who_reads(day: str, hour: str) -> str:
    if day in REVIEWER_AT_THE_STALL and (day, hour) != OWNER_INITIALS:
        return REVIEWER
    return OWNER


def _read_laboratory(diary: Diary) -> None:
    for packing in table("packing"):
        rows = rows_of("laboratory", packing["batch"])
        if not rows:
            continue
        first = rows[0]
        read = _instant(first["read"], READ)
        diary.write(
            recording.record_lab_result,
            packing["batch"],
            written(read),
            laboratory=season()["laboratory"]["name"],
            sampled_at=_at(first["sampled"], SAMPLED),
            reported_at=_instant(first["reported"], REPORTED),
            read_at=read,
            mixed=MIXED_PIECES if first["piece"].startswith("composite") else 1,
            pieces=[
                {
                    "place": row["piece"],
                    "salt": Decimal(row["salt_pct"]),
                    "moisture": Decimal(row["moisture_pct"]),
                }
                for row in rows
            ],
            note=(
                "Loin; salt by chloride titration, moisture by oven. "
                f"Result: {first['result']}."
            ),
        )


def _instant(text: str, hour: str) -> datetime:
    return local(text) if "T" in text else _at(text, hour)


def _read_cooler(diary: Diary) -> None:
    """Read the cooler by hand; note the logger's lowest and highest of every week."""
    for row in table("cooler_by_hand"):
        diary.read(
            "B02",
            local(row["at"]),
            row["by_hand_f"],
            step="cold-holding",
            quantity="air-temperature",
            place="C1 by hand",
            unit=UNIT,
            instrument="H1",
        )
    for row in table("cooler_weeks"):
        monday = date.fromisoformat(row["week"])
        next_monday = monday + timedelta(days=7)
        text = (
            f"Cooler C1, week of {row['week']}: logger lowest {row['lowest_f']} °F, "
            f"highest {row['highest_f']} °F."
        )
        for packing in table("packing"):
            batch = packing["batch"]
            if not packing["use_by"] or is_uncooled(batch):
                continue
            gone = _gone_at(batch)
            stored = packing_of(batch)[1].date()
            if stored < next_monday and (gone is None or gone.date() >= monday):
                at = _at(str(next_monday), WEEKLY)
                diary.remark(batch, at, text, step="cold-holding")
