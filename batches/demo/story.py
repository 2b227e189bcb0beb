"""The data files of the invented season, as plain rows."""

import csv
import tomllib
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

DATA = Path(__file__).parent / "data"
Row = dict[str, str]


@cache
def season() -> dict[str, Any]:
    """Return the firm: producer, people, products, instruments."""
    return tomllib.loads((DATA / "season.toml").read_text("utf-8"))


@cache
def table(name: str) -> tuple[Row, ...]:
    """Return the rows of one data file."""
    with (DATA / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return tuple(csv.DictReader(file))


def rows_of(name: str, batch: str) -> list[Row]:
    """Return the rows of one data file that are about one batch."""
    return [row for row in table(name) if row["batch"] == batch]


def row_of(name: str, batch: str) -> Row:
    """Return the one row of a data file that is about a batch."""
    (found,) = rows_of(name, batch)
    return found


def local(text: str) -> datetime:
    """Return an instant written in the local time of the premises."""
    zone = ZoneInfo(season()["producer"]["time_zone"])
    return datetime.fromisoformat(text).replace(tzinfo=zone)
