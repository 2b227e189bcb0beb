"""What was written about packages, each row in words: for reviewers and for paper."""

from typing import Any

from batches.lotcode import shown
from batches.models import (
    Dispatch,
    MarketCount,
    MarketDay,
    Packing,
    RecallCase,
    RecallContact,
    RecallEnd,
    StockCount,
)

KINDS: tuple[tuple[str, type[Any]], ...] = (
    ("packing", Packing),
    ("dispatch", Dispatch),
    ("stock-count", StockCount),
    ("market-count", MarketCount),
)


def words(row: Any) -> str:
    """Return an entry about packages in words."""
    return _joined(_WORDS[type(row)](row))


def _joined(parts: list[str]) -> str:
    return "; ".join(part.rstrip(".") for part in parts if part)


def _packing(row: Packing) -> list[str]:
    net = f" of {row.net_g} g" if row.net_g is not None else ""
    return [
        f"{row.packages} packages{net} filled, code {shown(row.code)}",
        row.get_kind_display(),
        "" if row.otr is None else f"oxygen let through {row.otr} cc per m² and day",
        "" if row.use_by is None else f"use by {row.use_by}",
        "" if row.trimmed_kg is None else f"{row.trimmed_kg} kg trimmed off",
        _labels(row),
        row.note,
    ]


def _labels(row: Packing) -> str:
    counts = (
        (row.labels_printed, "printed"),
        (row.labels_used, "used"),
        (row.labels_spoiled, "of them spoiled"),
    )
    said = [f"{count} {what}" for count, what in counts if count is not None]
    return f"labels: {', '.join(said)}" if said else ""


def _dispatch(row: Dispatch) -> list[str]:
    whom = row.buyer.name if row.buyer is not None else ""
    place = str(row.market.place) if row.market is not None else ""
    return [
        f"{row.packages} packages: {row.get_kind_display().lower()}",
        whom,
        place,
        row.document,
        row.note,
    ]


def _stock_count(row: StockCount) -> list[str]:
    return [f"{row.packages} packages counted on the shelf", row.note]


def _market_count(row: MarketCount) -> list[str]:
    verb = row.get_edge_display().lower()
    return [f"{row.packages} packages {verb}: {row.market.place}"]


def _market_day(row: MarketDay) -> list[str]:
    return [
        f"Day at market: {row.place}",
        f"box {row.box}" if row.box else "",
        "" if row.ice_kg is None else f"{row.ice_kg} kg ice",
        "" if row.minutes_away is None else f"{row.minutes_away} min away",
        row.note,
    ]


def _recall(row: RecallCase) -> list[str]:
    return [f"{row} begun from {row.code}", row.reason]


def _asked(row: RecallContact) -> list[str]:
    return [
        f"{row.case}: {row.buyer.name if row.buyer is not None else row.whom}",
        "reached" if row.reached else "not reached",
        "" if row.still_there is None else f"{row.still_there} still there",
        "" if row.destroyed is None else f"{row.destroyed} destroyed there",
        row.note,
    ]


def _ended(row: RecallEnd) -> list[str]:
    made, missing = row.account["made"], row.account["missing"]
    return [
        f"{row.case} ended, signed: {made} packages, {missing} missing",
        row.learned,
    ]


_WORDS: dict[type[Any], Any] = {
    Packing: _packing,
    Dispatch: _dispatch,
    StockCount: _stock_count,
    MarketCount: _market_count,
    MarketDay: _market_day,
    RecallCase: _recall,
    RecallContact: _asked,
    RecallEnd: _ended,
}
