"""What the trail costs: recording with and without it, and verifying 50,000 events.

Run: python -m pytest tests/benchmarks/bench_trail.py -s

Ratios within one run: they say the same on a slow machine and on a fast one.
"""

import hashlib
from datetime import UTC
from time import perf_counter
from uuid import uuid4

import pytest
from django.db import transaction

from batches import models
from batches.canonical import START_OF_TRAIL, canonical, content_of, link, told_by
from batches.recording import trail
from batches.verifying import verify
from tests import factories
from tests.batches.firm import open_firm, read
from tests.factories import at

READINGS = 400
EVENTS = 50_000
CHUNK = 5_000
COSTS_AT_MOST = 3.0  # recording with the trail, as a multiple of without
VERIFY_AT_MOST = 200  # as a multiple of hashing the same bytes and nothing else


def seconds(deed):
    began = perf_counter()
    deed()
    return perf_counter() - began


@pytest.mark.django_db(transaction=True)
def test_recording_with_the_trail_costs_little_more_than_without(monkeypatch):
    kept = open_firm(readings=0)

    def record():
        for number in range(READINGS):
            read(kept.batch, kept.owner, number % 50, entry_id=uuid4())

    record()  # warm
    with_it = seconds(record)
    with monkeypatch.context() as patch:
        patch.setattr(trail, "append", lambda *told, **more: None)
        without = seconds(record)
    print(
        f"\none reading: {with_it / READINGS * 1e3:.2f} ms with the trail, "
        f"{without / READINGS * 1e3:.2f} ms without: {with_it / without:.2f} times"
    )
    assert with_it / without < COSTS_AT_MOST


@pytest.mark.django_db
def test_fifty_thousand_events_are_verified():
    kept = open_firm(readings=0)
    fill(kept, EVENTS - kept.producer.trail.count())
    texts = [
        canonical(told_by(event)).encode()
        for event in kept.producer.trail.order_by("number").iterator(CHUNK)
    ]
    reports = []
    took = seconds(lambda: reports.append(verify(kept.producer)))
    hashing = seconds(lambda: [hashlib.sha256(text).digest() for text in texts])
    size_mb = sum(map(len, texts)) / 1e6
    print(
        f"\n{EVENTS} events ({size_mb:.0f} MB) and their rows verified in {took:.1f} s; "
        f"SHA-256 alone {hashing:.2f} s: {took / hashing:.0f} times"
    )
    assert reports[0].events == EVENTS
    assert reports[0].is_intact
    assert took / hashing < VERIFY_AT_MOST


@transaction.atomic
def fill(kept, count):
    """Add readings and their events in bulk, as `rows.add` would one by one."""
    last = trail.head(kept.producer)
    number, previous = last.number, last.sha256 or START_OF_TRAIL
    signed = trail.Signed(kept.owner, kept.owner.name, at(60).astimezone(UTC))
    for first in range(0, count, CHUNK):
        made = models.Reading.objects.bulk_create(
            factories.ReadingFactory.build_batch(
                min(CHUNK, count - first),
                batch=kept.batch,
                by=kept.owner,
                recorded_at=signed.at,
            )
        )
        events = []
        for row in made:
            number += 1
            event = models.TrailEvent(
                producer=kept.producer,
                number=number,
                act="reading.recorded",
                subject="batches.Reading",
                subject_key=str(row.pk),
                words=str(row),
                by=signed.by,
                by_name=signed.by_name,
                at=signed.at,
                group=uuid4(),
                after=canonical(content_of(row)),
                previous_sha256=previous,
            )
            event.sha256 = previous = link(previous, told_by(event))
            events.append(event)
        models.TrailEvent.objects.bulk_create(events)
