"""kill -9 at random moments: what was acknowledged is there, nothing is there by half."""

import json
import os
import random
import subprocess
import sys
from pathlib import Path

CHECKOUT = Path(__file__).resolve().parents[2]
READINGS, IMPORTS = 140, 60
MOST_S = 90


def test_killed_200_times_nothing_acknowledged_is_lost_or_half_stored(tmp_path):
    seed = random.randrange(10**6)
    ended = subprocess.run(
        [
            sys.executable,
            *("-m", "tests.batches.killing"),
            *(str(READINGS), str(IMPORTS), str(seed)),
        ],
        cwd=CHECKOUT,
        env=os.environ
        | {
            "BRINEWRIGHT_HOME": str(tmp_path),
            "DATABASE_URL": "",  # the file in which a smokehouse keeps its records
            "DJANGO_SETTINGS_MODULE": "safety.site.settings",
        },
        check=False,
        capture_output=True,
        text=True,
        timeout=MOST_S,
    )
    assert ended.returncode == 0, ended.stderr
    result = json.loads(ended.stdout)
    assert result["problems"] == [], f"seed {seed}"
    assert result["readings"] > READINGS / 2  # they did record before they died
    assert result["traces"] > 0
    assert result["said"] <= result["events"]
