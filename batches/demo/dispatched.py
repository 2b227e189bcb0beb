"""Where the packages of the season went, as the firm counted them.

Where the story gives only a day, one hour of it is used for all batches. How many packages
were taken to a market beyond those sold is our own addition to the story.
"""

from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from batches import recording
from batches.demo.diary import REVIEWER, Diary, Firm, written
from batches.demo.making import COOKED_AGAIN, OPENED, heating_of
from batches.demo.story import Row, local, row_of, rows_of, season
from batches.lookups.recalls import account_of
from batches.models import Dispatch, MarketCount

Kind = Dispatch.Kind
LOADED, BACK = "05:30", "13:20"
HOURS = {
    "restaurant": "08:00",
    "market": "13:10",
    "laboratory": "06:35",
    "destroyed": "18:00",
    "stock": "14:00",
}
AT_THE_STALL = "stall leftover"
KINDS = {
    "restaurant": Kind.BUSINESS,
    "market": Kind.CONSUMER,
    "laboratory": Kind.LABORATORY,
    "destroyed": Kind.DESTROYED,
    "retained": Kind.RETAINED,
    "recooked": Kind.REWORKED,
}
A_DAY = timedelta(days=1)
SOLD_BY_REVIEWER = ("2025-07-12", "2025-08-23")


def pack(diary: Diary, row: Row, packed_at: datetime) -> None:
    """Write down what a batch was packed into."""
    product = season()["products"][_product(row["batch"])]
    labels = {
        name: int(row[name])
        for name in ("labels_printed", "labels_used", "labels_spoiled")
        if row[name]
    }
    diary.write(
        recording.pack,
        row["batch"],
        written(packed_at, 3),
        kind=product["packaging"],
        packages=int(row["packs"]),
        net_g=Decimal(product["net_g"]),
        use_by=date.fromisoformat(row["use_by"]),
        occurred_at=packed_at,
        **labels,
    )


def send_out(diary: Diary, row: Row, packed_at: datetime) -> None:
    """Write down where every package of a batch went."""
    for pack_row in rows_of("packs", row["batch"]):
        at = _when(pack_row, packed_at)
        if pack_row["went_to"] == "stock":
            diary.write(
                recording.count_stock,
                row["batch"],
                written(at, 2),
                packages=int(pack_row["packs"]),
                occurred_at=at,
            )
        else:
            diary.add(written(at, 6), _send, diary.firm, pack_row, at)


def open_stall(diary: Diary, row: Row) -> None:
    """Write down a day at market: the box, what went into it, what came home."""
    begun, back = (local(f"{row['day']}T{hour}") for hour in (LOADED, BACK))
    diary.add(written(begun), _open, diary.firm, row, begun)
    for order, code in enumerate(row["batches"].split()):
        sold = sum(
            int(each["packs"])
            for each in rows_of("packs", code)
            if each["day"] == row["day"]
            and (each["went_to"] == "market" or each["why"] == AT_THE_STALL)
        )
        home = int(row["home"].split()[order])
        for edge, at, packages in (
            (MarketCount.Edge.OUT, begun, sold + home),
            (MarketCount.Edge.BACK, back, home),
        ):
            told = {"code": code, "edge": edge, "packages": packages}
            deed = _count
            diary.add(written(at, order + 1), deed, diary.firm, row, told, at)


def buy(diary: Diary) -> None:
    """Put the one business that buys on record."""
    told = season()["restaurant"]
    at = local(season()["producer"]["since"]) + timedelta(minutes=20)
    diary.add(at, _buy, diary.firm, told)


def drill(diary: Diary) -> None:
    """Write down the drill of the season: begun, the buyer asked, the end signed."""
    told = season()["drill"]
    begun, asked, ended = (local(told[name]) for name in ("begun", "asked", "ended"))
    diary.add(written(begun), _begin_drill, diary.firm, told, begun)
    diary.add(written(asked), _ask, diary.firm, told, asked)
    diary.add(ended, _end_drill, diary.firm, told)


# ------------------------------------------------------------ deeds


def _buy(firm: Firm, told: dict[str, str], *, at: datetime) -> None:
    buyer = recording.add_buyer(firm.producer, **told, by=firm.owner, at=at)
    firm.entries[told["name"]] = buyer


def _open(firm: Firm, row: Row, begun: datetime, *, at: datetime) -> None:
    market = season()["market"]
    firm.entries[f"market {row['day']}"] = recording.open_market(
        firm.producer,
        place=market["place"],
        box=market["box"],
        minutes_away=market["minutes_away"],
        ice_kg=row["ice_kg"],
        note=row["decision"],
        occurred_at=begun,
        by=firm.owner,
        at=at,
    )


def _count(
    firm: Firm, row: Row, told: dict[str, Any], occurred_at: datetime, *, at: datetime
) -> None:
    recording.count_for_market(
        firm.batches[told["code"]],
        market=firm.entries[f"market {row['day']}"],
        edge=told["edge"],
        packages=told["packages"],
        occurred_at=occurred_at,
        by=firm.owner,
        at=at,
    )


def _send(firm: Firm, row: Row, occurred_at: datetime, *, at: datetime) -> None:
    kind = KINDS[row["went_to"]]
    is_sold_there = row["went_to"] == "market" or row["why"] == AT_THE_STALL
    told: dict[str, Any] = {}
    if kind == Kind.BUSINESS:
        told["buyer"] = firm.entries[season()["restaurant"]["name"]]
        told["document"] = f"delivery note {row['day']}"
    if is_sold_there:
        told["market"] = firm.entries[f"market {row['day']}"]
    by_reviewer = row["went_to"] == "market" and row["day"] in SOLD_BY_REVIEWER
    recording.dispatch(
        firm.batches[row["batch"]],
        kind=kind,
        packages=int(row["packs"]),
        note=row["why"],
        occurred_at=occurred_at,
        by=firm.members[REVIEWER] if by_reviewer else firm.owner,
        at=at,
        **told,
    )


def _when(row: Row, packed_at: datetime) -> datetime:
    """Return when packages went: at the hour of their kind, or right after packing."""
    if row["went_to"] == "recooked" or "opening" in row["why"]:
        return heating_of(COOKED_AGAIN)[0] - OPENED
    day = row["day"]
    if row["went_to"] == "laboratory":
        reports = rows_of("laboratory", row["batch"])
        day = reports[0]["sampled"] if reports else str((packed_at + A_DAY).date())
    if not day:
        return packed_at + timedelta(minutes=1)
    hour = BACK if row["why"] == AT_THE_STALL else HOURS[row["went_to"]]
    return local(f"{day}T{hour}")


def _product(batch: str) -> str:
    origin = batch.removesuffix("R") if batch == COOKED_AGAIN else batch
    return row_of("brine", origin)["product"]


def _begin_drill(firm: Firm, told: Row, begun: datetime, *, at: datetime) -> None:
    firm.entries["drill"] = recording.begin_recall(
        firm.producer,
        batches=[firm.batches[told["batch"]]],
        code=told["batch"],
        reason=told["reason"],
        is_drill=True,
        began_at=begun,
        by=firm.owner,
        at=at,
    )


def _ask(firm: Firm, told: Row, asked: datetime, *, at: datetime) -> None:
    recording.ask_about(
        firm.entries["drill"],
        buyer=firm.entries[season()["restaurant"]["name"]],
        how="phone",
        reached=True,
        still_there=int(told["still_there"]),
        contacted_at=asked,
        by=firm.owner,
        at=at,
    )


def _end_drill(firm: Firm, told: Row, *, at: datetime) -> None:
    case = firm.entries["drill"]
    recording.end_recall(
        case,
        seen_sha256=account_of(case, at=at).sha256,
        password=season()["producer"]["password"],
        title=f"{firm.owner.name}, owner",
        learned=told["learned"],
        by=firm.owner,
        at=at,
    )
