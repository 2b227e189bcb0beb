"""Two people write at the same time: one row counts, the other hears why not."""

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from uuid import uuid4

import pytest
from django.db import connection

from batches import models, recording
from batches.errors import RecordError
from tests import factories
from tests.factories import START, at

pytestmark = pytest.mark.django_db(transaction=True)

PEOPLE = 4


def at_once(deed):
    """Let several people do one thing at the same instant; return what each got."""
    gate = Barrier(PEOPLE)

    def one(number):
        gate.wait()
        try:
            return deed(number)
        except RecordError as error:
            return error.code
        finally:
            connection.close()

    with ThreadPoolExecutor(PEOPLE) as people:
        return list(people.map(one, range(PEOPLE)))


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
