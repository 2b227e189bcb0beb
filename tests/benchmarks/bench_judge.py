"""Judges a million trace points; prints the ratio to five plain comparison passes.

Run as ``python tests/benchmarks/bench_judge.py``. Both sides are measured in one run, on
the same arrays, by the median of several rounds; the data is invented. First each kind
of limit by itself, then all three on one trace in one judgement.
"""

import sys
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from statistics import median

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from safety.judge import judge_batch
from safety.judge.evidence import (
    Amount,
    Batch,
    Check,
    Instrument,
    Trace,
    Window,
    us_of,
)
from safety.limits.parse import parse_limits

POINTS = 1_000_000
ROUNDS = 15
PASSES = 5
TARGET_RATIO = 8
START = datetime(2026, 5, 1, tzinfo=UTC)


def limits() -> list[dict[str, object]]:
    """Return one limit of each kind that reads a long series."""
    common = {"quantity": "core-temperature", "unit": "degF"}
    return [
        {
            "id": "hold", "control_point": "heating", "kind": "dwell_at_least",
            "value": Decimal(145), "minutes": Decimal(30),
            "check_every_min": Decimal(15), **common,
        },
        {
            "id": "cool", "control_point": "cooling", "kind": "cool_through",
            "from": Decimal(135), "to": Decimal(70), "minutes": Decimal(120), **common,
        },
        {
            "id": "cold", "control_point": "cold-holding", "kind": "stay_at_most",
            "value": Decimal(40), "check_every_min": Decimal(60), **common,
        },
    ]  # fmt: skip


def batch(step: str, *which: dict[str, object]) -> Batch:
    """Return a batch whose one step holds a million invented points."""
    shapes = {
        "heating": np.linspace(380, 1600, POINTS),
        "cooling": np.linspace(1600, 380, POINTS),
        "cold-holding": 360 + 30 * np.sin(np.linspace(0, 4000, POINTS)),
    }
    at_us = us_of(START) + np.arange(POINTS, dtype=np.int64) * 10_000
    end = START + timedelta(microseconds=(POINTS - 1) * 10_000)
    return Batch(
        judged_at=end + timedelta(days=1),
        instruments=(
            Instrument(
                id="P1",
                measures="temperature",
                checks=(
                    Check(
                        at=START - timedelta(days=1),
                        method="ice-point",
                        shown=Amount(Decimal("32.4"), "degF"),
                        true=Amount(Decimal(32), "degF"),
                    ),
                ),
            ),
        ),
        windows=(Window(step=step, start=START, end=end),),
        traces=(
            Trace(
                step=step,
                quantity="core-temperature",
                unit="degF",
                place="A",
                instrument="P1",
                at_us=at_us,
                values=shapes[step].astype(np.int64),
                decimals=1,
            ),
        ),
        limits=parse_limits(list(which), pointer="/limits"),
    )


def seconds(act: Callable[[], object]) -> float:
    """Return the median time of an act, s."""
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        act()
        times.append(time.perf_counter() - start)
    return median(times)


def compare(name: str, judged: Batch) -> float:
    """Print what one judgement costs, and return the ratio."""
    values = judged.traces[0].values
    took = seconds(lambda: judge_batch(judged))
    passes = seconds(lambda: [values >= 1000 + i for i in range(PASSES)])
    statuses = ", ".join(
        finding.status.value for finding in judge_batch(judged).findings
    )
    print(
        f"{name}: {took * 1e3:.1f} ms, {PASSES} passes {passes * 1e3:.1f} ms, "
        f"ratio {took / passes:.1f} ({statuses})"
    )
    return took / passes


def main() -> None:
    """Print one line per kind, and one for all three together."""
    for which in limits():
        compare(str(which["kind"]), batch(str(which["control_point"]), which))
    together = [
        {**which, "control_point": "cooling", "id": str(i)}
        for i, which in enumerate(limits())
    ]
    one = batch("cooling", *together)
    ratio = compare("all three, one trace", one)
    word = "within" if ratio <= TARGET_RATIO else "ABOVE"
    print(f"{word} the aim of {TARGET_RATIO}")


if __name__ == "__main__":
    main()
