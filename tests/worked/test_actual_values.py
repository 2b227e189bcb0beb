"""A record holds the value that was read: a tick or a word in its place is refused."""

import json
from datetime import datetime

import pytest

from safety.errors import Refused
from safety.judge import read_batch

NOW = datetime.fromisoformat("2026-06-02T08:00:00-04:00")
READ = {
    "step": "heating", "quantity": "core-temperature", "place": "A",
    "at": "2026-06-01T08:00:00-04:00", "unit": "degF",
}  # fmt: skip


def batch_with(reading):
    return json.dumps({
        "format": "brinewright.batch/1",
        "judged_at": NOW.isoformat(),
        "readings": [reading],
    })


# 21 CFR 117.305(b): the actual values and observations. The 146 °F is of our own making.
@pytest.mark.parametrize("ticked", [True, "ok", "146 °F", "✓", None])
def test_a_tick_is_no_reading(ticked):
    with pytest.raises(Refused) as refused:
        read_batch(batch_with({**READ, "value": ticked}), now=NOW)
    assert refused.value.pointer == "/readings/0/value"


def test_a_reading_without_a_value_is_refused():
    with pytest.raises(Refused):
        read_batch(batch_with(READ), now=NOW)


def test_the_value_itself_is_taken():
    assert read_batch(batch_with({**READ, "value": 146}), now=NOW)
