"""Two people write at the same time: one row counts, the other hears why not."""

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from uuid import uuid4

import pytest
from django.db import connection, transaction

from batches import models, recording
from batches.errors import RecordError
from batches.verifying import verify
from tests import factories
from tests.batches.firm import open_firm, read
from tests.factories import START, at

pytestmark = pytest.mark.django_db(transaction=True)

PEOPLE = 4
READINGS = 50


def at_once(deed, people=PEOPLE):
    """Let several people do one thing at the same instant; return what each got."""
    gate = Barrier(people)

    def one(number):
        gate.wait()
        try:
            return deed(number)
        except RecordError as error:
            return error.code
        finally:
            connection.close()

    with ThreadPoolExecutor(people) as pool:
        return list(pool.map(one, range(people)))


def codes(results):
    return sorted(each for each in results if isinstance(each, str))


def test_one_correction_wins_and_the_others_are_told():
    row = factories.ReadingFactory()
    results = at_once(
        lambda number: recording.record_reading(
            row.batch,
            step="heating",
            quantity="core-temperature",
            value=f"14{number}.0",
            unit="degF",
            occurred_at=START,
            corrects=row,
            reason="misread",
            by=row.by,
            at=at(1),
        )
    )
    assert codes(results) == ["already-corrected"] * (PEOPLE - 1)
    assert models.Reading.objects.current().count() == 1


def test_one_start_of_a_step_wins():
    batch = factories.BatchFactory()
    results = at_once(
        lambda number: recording.mark_step(
            batch,
            step="heating",
            edge="start",
            occurred_at=at(number),
            by=batch.by,
            at=at(PEOPLE),
        )
    )
    assert codes(results) == ["already-marked"] * (PEOPLE - 1)
    assert models.StepMark.objects.count() == 1


def test_one_entry_sent_several_times_is_one_row():
    batch, key = factories.BatchFactory(), uuid4()
    results = at_once(
        lambda _: recording.record_remark(
            batch, text="windy", occurred_at=START, by=batch.by, at=START, entry_id=key
        )
    )
    assert len({row.pk for row in results}) == 1
    assert models.Remark.objects.count() == 1


def test_batches_started_together_get_codes_of_their_own():
    by = factories.MemberFactory()
    product = factories.ProductFactory(producer=by.producer)
    premises = factories.PremisesFactory(producer=by.producer)
    results = at_once(
        lambda _: recording.start_batch(
            by.producer,
            product=product,
            premises=premises,
            started_at=START,
            by=by,
            at=START,
        )
    )
    assert sorted(batch.code for batch in results) == [
        f"2605-{number:02d}" for number in range(1, PEOPLE + 1)
    ]


def test_check_of_an_instrument_is_corrected_once():
    row = factories.InstrumentCheckFactory()
    results = at_once(
        lambda number: recording.record_check(
            row.instrument,
            method="ice-point",
            shown=f"32.{number}",
            true="32",
            unit="degF",
            occurred_at=START,
            corrects=row,
            reason="misread",
            by=row.by,
            at=START,
        )
    )
    assert codes(results) == ["already-corrected"] * (PEOPLE - 1)
    assert row.instrument.checks.current().count() == 1


def test_two_phones_record_into_one_batch_and_nothing_is_lost_or_doubled():
    kept = open_firm(readings=0)
    seconds = recording.add_member(
        kept.producer,
        name="Ole Brandt",
        initials="OB",
        username="ole",
        password="alder and brine",
        role="maker",
        temperature_unit="degF",
        by=kept.owner,
        at=START,
    )
    phones = (kept.owner, seconds)

    def record(phone):
        return [
            read(kept.batch, phones[phone], number, entry_id=uuid4()).pk
            for number in range(READINGS)
        ]

    made = at_once(record, people=len(phones))
    keys = [key for each in made for key in each]
    rows = kept.batch.readings.all()
    assert sorted(keys) == sorted(row.pk for row in rows)
    assert len(set(keys)) == len(phones) * READINGS
    for person in phones:
        typed = [row.typed for row in rows if row.by_id == person.pk]
        assert sorted(typed) == [f"{140 + n / 10:.1f}" for n in range(READINGS)]
    report = verify(kept.producer)
    assert [fault for fault in report.faults if fault.kind != "clock"] == []
    notes = kept.producer.trail.filter(after="").count()  # they change no row
    assert report.events == report.rows + notes


def test_writers_of_several_batches_never_wait_for_each_other_in_a_circle():
    kept = open_firm(readings=0)
    batches = [
        kept.batch,
        recording.start_batch(
            kept.producer,
            product=kept.product,
            premises=kept.batch.premises,
            started_at=START,
            by=kept.owner,
            at=START,
        ),
    ]

    def both_ways(person):
        order = batches if person % 2 else batches[::-1]
        for number in range(10):
            with transaction.atomic():
                for batch in order:
                    read(batch, kept.owner, number)

    at_once(both_ways)
    assert models.Reading.objects.count() == PEOPLE * 10 * len(batches)
