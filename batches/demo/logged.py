"""The files of the loggers, made from the story's series and imported like a user's."""

import csv
import io
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from typing import Any

from batches import recording
from batches.demo.diary import UNIT, Diary, Firm
from batches.demo.making import heating_of
from batches.demo.story import local, rows_of, season, table
from batches.loggerfile import Understanding, understand

IMPORT_AFTER = timedelta(minutes=3)
SMOKE_COLUMNS = ("CH", "P1", "P2", "P3")
NEW_PROBE_SINCE = "2025-07-28"
BY_HAND = "B02"
OUTAGE = ("B08", "B09")
KEPT = (
    "encoding",
    "delimiter",
    "decimal_mark",
    "date_order",
    "time_zone",
    "time_zone_known_by",
    "row_count",
    "rows_read",
    "repeated_rows",
    "out_of_order_rows",
)


@dataclass(frozen=True)
class Sensor:
    """What one column of a logger's file measured."""

    column: str
    step: str
    quantity: str
    place: str
    instrument: str


def logger_csv(
    columns: Sequence[str], samples: Iterable[tuple[datetime, Sequence[str]]]
) -> bytes:
    """Return a logger's file: an instant and one figure for each sensor."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(["Date and time", *(f"{name} (°F)" for name in columns)])
    for at, figures in samples:
        writer.writerow([f"{at:%Y-%m-%d %H:%M:%S}", *figures])
    return text.getvalue().encode()


def import_logged(diary: Diary) -> None:
    """Import what the smoke logger and the cooler's logger stored."""
    for row in table("smoke_starts"):
        _import_smoke(diary, row["batch"])
    _import_by_hand(diary)
    _import_outage(diary)


def _import_smoke(diary: Diary, batch: str) -> None:
    start, end = heating_of(batch)
    samples = [
        (start + timedelta(minutes=int(row["minute"])), [row[c] for c in SMOKE_COLUMNS])
        for row in rows_of("smoke", batch)
    ]
    is_new = str(start.date()) >= NEW_PROBE_SINCE
    sensors = [Sensor("CH", "heating", "air-temperature", "CH", "CH")] + [
        Sensor(
            probe,
            "heating",
            "core-temperature",
            probe,
            "P2b" if probe == "P2" and is_new else probe,
        )
        for probe in SMOKE_COLUMNS[1:]
    ]
    data = logger_csv(SMOKE_COLUMNS, samples)
    name = f"smoker-S1-{batch}.csv"
    diary.add(end + IMPORT_AFTER, import_file, diary.firm, [batch], name, data, sensors)


def _import_by_hand(diary: Diary) -> None:
    """Import what the cooler's logger stored at the minutes of the hand readings."""
    rows = table("cooler_by_hand")
    samples = [(local(row["at"]), [row["logger_f"]]) for row in rows]
    sensors = [Sensor("C1", "cold-holding", "air-temperature", "C1", "C1")]
    diary.add(
        samples[-1][0] + IMPORT_AFTER,
        import_file,
        diary.firm,
        [BY_HAND],
        "cooler-C1-june.csv",
        logger_csv(["C1"], samples),
        sensors,
    )


def _import_outage(diary: Diary) -> None:
    """Import the night without power: the air and the pack simulator."""
    rows = table("outage")
    samples = [(local(row["at"]), [row["air_f"], row["pack_f"]]) for row in rows]
    sensors = [
        Sensor("C1 air", "cold-holding", "air-temperature", "C1", "C1"),
        Sensor("C1 pack", "cold-holding", "product-temperature", "C1 pack", "C1"),
    ]
    diary.add(
        samples[-1][0] + IMPORT_AFTER,
        import_file,
        diary.firm,
        list(OUTAGE),
        "cooler-C1-outage.csv",
        logger_csv([sensor.column for sensor in sensors], samples),
        sensors,
    )


def import_file(
    firm: Firm,
    batches: Sequence[str],
    name: str,
    data: bytes,
    sensors: Sequence[Sensor],
    *,
    at: datetime,
) -> None:
    """Understand a logger's file, keep it, and take its series into batches."""
    understood = _understand(name, data, at)
    logger_file = recording.store_logger_file(
        firm.producer,
        name=name,
        data=data,
        understanding=_told(understood),
        by=firm.owner,
        at=at,
    )
    found = {series.name: series for series in understood.series}
    for batch in batches:
        for sensor in sensors:
            recording.record_trace(
                firm.batches[batch],
                step=sensor.step,
                quantity=sensor.quantity,
                place=sensor.place,
                unit=UNIT,
                instrument=firm.instruments[sensor.instrument],
                series=found[sensor.column],
                logger_file=logger_file,
                by=firm.owner,
                at=at,
            )


def _understand(name: str, data: bytes, at: datetime) -> Understanding:
    zone = season()["producer"]["time_zone"]
    return understand(data, name=name, time_zone=zone, now=at)


def _told(found: Understanding) -> dict[str, Any]:
    """Return the understanding as an import keeps it: all but the series."""
    told = {name: getattr(found, name) for name in KEPT}
    left_out = [{"reason": one.reason, "count": one.count} for one in found.left_out]
    columns = [asdict(column) for column in found.columns]
    return told | {
        "left_out": left_out,
        "columns": columns,
        "warnings": list(found.warnings),
    }
