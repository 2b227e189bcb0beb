"""Where the season's lots came from, and what was done with the raw fish in store."""

import tomllib
from datetime import datetime
from decimal import Decimal
from typing import Any

from batches import recording
from batches.demo.diary import UNIT, Diary, Firm, written
from batches.demo.story import DATA, Row, local, table
from batches.lookups import names_of

PAPERS_READ = 2  # written down after the lot and its check


def keep_raw_fish(diary: Diary) -> None:
    """Write down each lot's papers, then what was frozen and trimmed of it."""
    told = tomllib.loads((DATA / "lot_origins.toml").read_text("utf-8"))
    received = {row["lot"]: local(row["received"]) for row in table("lots")}
    for code, own in told["lots"].items():
        content = told[own["from"]] | {key: own[key] for key in own if key != "from"}
        at = written(received[code], PAPERS_READ)
        diary.add(at, _read_papers, diary.firm, code, content, received[code])
    for row in table("lot_handlings"):
        diary.add(written(local(row["at"])), _handle, diary.firm, row)


def _read_papers(
    firm: Firm, code: str, content: dict[str, Any], when: datetime, *, at: datetime
) -> None:
    lot = firm.lots[code]
    market_name, latin_name = names_of(lot)
    recording.record_origin(
        firm.premises,
        lot=lot,
        market_name=market_name,
        latin_name=latin_name,
        **content,
        occurred_at=when,
        by=firm.owner,
        at=at,
    )


def _handle(firm: Firm, row: Row, *, at: datetime) -> None:
    recording.handle_lot(
        firm.premises,
        lot=firm.lots[row["lot"]],
        kind=row["kind"],
        mass_kg=Decimal(row["mass_kg"]),
        place=row["place"],
        temperature=row["core_f"] or None,
        unit=UNIT,
        note=row["note"],
        occurred_at=local(row["at"]),
        by=firm.owner,
        at=at,
    )
