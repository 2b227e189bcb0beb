"""How long it takes to store and to judge a logger's series of 50,000 rows.

Run: python -m pytest tests/benchmarks/bench_import.py -s
"""

from time import perf_counter
from types import SimpleNamespace

import numpy as np
import pytest

from batches import judging, lookups, recording
from tests import factories
from tests.factories import START, at

ROWS = 50_000
EVERY_S = 60
ALLOWED_S = 1.0  # to store and to judge, together
DAY_MIN = 24 * 60


def a_cold_store(rows: int) -> SimpleNamespace:
    """Make a fridge's series: a slow swing with the unrest of a thermostat."""
    drawn = np.random.default_rng(7)
    swing = 340 + 15 * np.sin(np.arange(rows) / 40)
    return SimpleNamespace(
        at_us=(int(START.timestamp()) + EVERY_S * np.arange(rows)) * 10**6,
        values=(swing + drawn.normal(0, 4, rows)).astype(np.int64),
        decimals=1,
    )


@pytest.mark.django_db
def test_fifty_thousand_rows_are_stored_and_judged_in_a_second():
    batch = factories.BatchFactory()
    probe = factories.InstrumentFactory(producer=batch.producer)
    factories.InstrumentCheckFactory(instrument=probe, by=batch.by)
    factories.StepMarkFactory(batch=batch, step="cold-holding")
    series = a_cold_store(ROWS)
    now = at(ROWS * EVERY_S / 60 + DAY_MIN)
    data = b"2026-05-02 08:00:00,34.1\n" * ROWS
    judging.judge(records(batch), judged_at=now)  # reads the published limits once

    began = perf_counter()
    kept = recording.store_logger_file(
        batch.producer, name="c1.csv", data=data, understanding={}, by=batch.by, at=now
    )
    recording.record_trace(
        batch,
        step="cold-holding",
        quantity="air-temperature",
        place="C1",
        unit="degF",
        instrument=probe,
        series=series,
        logger_file=kept,
        by=batch.by,
        at=now,
    )
    stored = perf_counter()
    judgement = judging.judge(records(batch), judged_at=now)
    judged = perf_counter()

    size = len(batch.traces.get().at_us) + len(batch.traces.get().values)
    print(
        f"\n{ROWS} rows: stored in {stored - began:.3f} s ({size} bytes), "
        f"judged in {judged - stored:.3f} s"
    )
    assert any(finding.place == "C1" for finding in judgement.findings)
    assert judged - began < ALLOWED_S


def records(batch):
    return lookups.records_of(lookups.batch_of(batch.producer, batch.code))
