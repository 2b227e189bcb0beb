"""What became of the packages of a batch, as rows of its record."""

from typing import Any

from batches.lookups import Stock
from batches.models import Dispatch, MarketCount, Packing, StockCount
from batches.packagewords import words
from reports.observed import Scribe, shown
from reports.sheets import SaidRow

PACKAGE_WORDS: dict[type[Any], str] = {
    Packing: "packed",
    Dispatch: "went out",
    StockCount: "counted",
    MarketCount: "market",
}


def package_rows(stock: Stock, scribe: Scribe) -> tuple[SaidRow, ...]:
    """Return what was packed, sent out and counted, in the order in which it was done."""
    lines = [
        (row, rows)
        for rows in (stock.packings, stock.dispatches, stock.counts, stock.carried)
        for row in shown(rows)
    ]
    lines.sort(key=lambda line: (line[0].occurred_at, line[0].recorded_at))
    return tuple(
        SaidRow(
            kind=PACKAGE_WORDS[type(row)],
            text=words(row),
            at=scribe.at(row.occurred_at),
            made=scribe.made(row, rows),
        )
        for row, rows in lines
    )


def packages_say(stock: Stock) -> str:
    """Return the account of the packages in a sentence; empty where none was filled."""
    if not stock.filled:
        return ""
    went = [
        f"{count} {Dispatch.Kind(kind).label.lower()}"
        for kind, count in stock.went.items()
        if count
    ]
    parts = [f"{stock.filled} packages filled", *went, f"{stock.left} left"]
    missing = stock.unaccounted
    if missing:
        parts.append(f"{missing} not found at the last count")
    return "; ".join(parts) + "."
