"""Arrows point down, and the science runs without the web."""

import subprocess
import sys
from pathlib import Path

from tests.house.tree import ROOT

PURE = """
import pkgutil, sys
import safety, safety.audit, safety.judge, safety.limits, safety.processes
for found in pkgutil.walk_packages(safety.__path__, "safety."):
    if not found.name.startswith("safety.site"):
        __import__(found.name)
seen = {name.partition(".")[0] for name in sys.modules}
print(*sorted(seen & {"django", "batches", "reports"}))
"""


def test_import_contracts_are_kept():
    lint = Path(sys.executable).parent / "lint-imports"
    done = subprocess.run(
        [lint, "--no-cache"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_science_in_a_fresh_interpreter_brings_no_web():
    done = subprocess.run(
        [sys.executable, "-c", PURE],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.split() == []
