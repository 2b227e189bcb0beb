"""How long it takes to understand a logger file of 50,000 rows and three sensors.

Run as ``python tests/benchmarks/bench_loggerfile.py``. The readings are invented. Each
dialect prints milliseconds and the ratio to a plain ``csv.reader`` pass over the same
bytes; the target is 600 ms on one core.
"""

import csv
import io
import random
import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from batches.loggerfile import Answers, Understanding, understand

ROWS = 50_000
TARGET_MS = 600
REPEATS = 5


def plain_file(*, decimals: int = 1) -> bytes:
    """ISO times every ten seconds, commas and points."""
    return _file(
        "Time,P1 (°F),P2 (°F),P3 (°F)", ",", "%Y-%m-%d %H:%M:%S", decimals, "."
    )


def european_file() -> bytes:
    """Day first, semicolons, decimal commas."""
    heading = "Datum/Uhrzeit;P1 °C;P2 °C;P3 °C"
    return _file(heading, ";", "%d.%m.%Y %H:%M:%S", 2, ",")


def american_file() -> bytes:
    """Month first, twelve hours with AM and PM, UTF-16 and tabs."""
    heading = "Date Time\tP1 (°F)\tP2 (°F)\tP3 (°F)"
    data = _file(heading, "\t", "%m/%d/%Y %I:%M:%S %p", 1, ".")
    return data.decode().encode("utf-16")


def _file(heading: str, delimiter: str, shape: str, decimals: int, mark: str) -> bytes:
    chance = random.Random(4)
    start = datetime(2025, 6, 30)  # noqa: DTZ001 - written as local time
    lines = [heading]
    for row in range(ROWS):
        when = (start + timedelta(seconds=10 * row)).strftime(shape)
        values = (
            f"{chance.uniform(60, 160):.{decimals}f}".replace(".", mark) for _ in "abc"
        )
        cells = [when, *values]
        if chance.random() < 0.001:
            cells[1] = "ERR"
        lines.append(delimiter.join(cells))
    return "\r\n".join(lines).encode()


def _understood(data: bytes) -> Understanding:
    return understand(
        data,
        name="invented.csv",
        time_zone="America/Los_Angeles",
        now=datetime(2026, 1, 1, tzinfo=UTC),
        answers=Answers(),
    )


def _best_ms(work: object, *arguments: object) -> float:
    best = float("inf")
    for _ in range(REPEATS):
        start = time.perf_counter()
        work(*arguments)
        best = min(best, time.perf_counter() - start)
    return best * 1000


def _csv_pass(text: str) -> int:
    return sum(1 for _ in csv.reader(io.StringIO(text)))


def main() -> None:
    """Print one line for each dialect."""
    dialects = {
        "ISO, commas, one decimal": (plain_file(), "utf-8"),
        "ISO, commas, six decimals": (plain_file(decimals=6), "utf-8"),
        "day first, decimal commas": (european_file(), "utf-8"),
        "AM/PM, tabs, UTF-16": (american_file(), "utf-16"),
    }
    for title, (data, encoding) in dialects.items():
        understood = _understood(data)
        read = sum(map(len, understood.series))
        plain_ms = _best_ms(_csv_pass, data.decode(encoding))
        ms = _best_ms(_understood, data)
        verdict = "within" if ms < TARGET_MS else "OVER"
        print(
            f"{title:28} {len(data) / 1e6:4.1f} MB {read:7,} readings {ms:6.0f} ms, "
            f"{ms / plain_ms:4.1f} times a csv.reader pass, {verdict} {TARGET_MS} ms"
        )


if __name__ == "__main__":
    main()
