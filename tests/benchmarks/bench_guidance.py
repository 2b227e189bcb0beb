"""Loads all published guidance; prints milliseconds and the ratio to plain parsing.

Run as ``python tests/benchmarks/bench_guidance.py``. Both sides read the same files in one
run; the best of several rounds counts. Plain parsing is ``tomllib`` alone, with decimals.
"""

import sys
import time
import tomllib
from collections.abc import Callable
from decimal import Decimal
from importlib.resources import files
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from safety.limits.load import load

ROUNDS = 9
TARGET_MS = 150
DATA = files("safety.limits").joinpath("data")


def parse() -> None:
    """Read every file without looking at what it says."""
    for path in DATA.iterdir():
        if path.name.endswith(".toml"):
            tomllib.loads(path.read_text("utf-8"), parse_float=Decimal)


def best_ms(work: Callable[[], object]) -> float:
    """Return the milliseconds of the fastest round."""
    taken = []
    for _ in range(ROUNDS):
        begun = time.perf_counter()
        work()
        taken.append(time.perf_counter() - begun)
    return min(taken) * 1000


def main() -> int:
    """Print what loading costs; fail where it costs too much."""
    found = load(DATA)
    parsing, loading = best_ms(parse), best_ms(lambda: load(DATA))
    print(
        f"{len(found.publications)} publications, {len(found.limits)} limits, "
        f"{len(found.figures)} figures, {len(found.tables)} tables\n"
        f"parse {parsing:.1f} ms, load {loading:.1f} ms (at most {TARGET_MS} ms)\n"
        f"ratio {loading / parsing:.2f}"
    )
    return 0 if loading <= TARGET_MS else 1


if __name__ == "__main__":
    sys.exit(main())
