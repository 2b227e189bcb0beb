"""The look-back finds what plain judging of every batch finds, and nothing else."""

from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal

import pytest
from django.db import transaction
from django.test import override_settings

from batches import judging, lookups, recording
from batches.checking import is_failed
from batches.demo.load import load_demo
from batches.lookback import look_back, touched, touched_batch, written_at
from batches.lookups.records import Rows
from batches.models import InstrumentCheck, Producer
from tests import factories
from tests.factories import START, ZONE, at

pytestmark = pytest.mark.django_db

FAILED_AT = datetime(2025, 7, 28, 6, 40, tzinfo=ZONE)


def found_by(changes):
    return {
        (each.batch.code, each.control_point, each.limit_id, each.place): (
            each.before,
            each.after,
        )
        for each in changes
    }


def plainly(producer, check, at=None):
    """Judge every batch of the producer twice and put the findings side by side."""
    at = at or written_at(check)
    found = {}
    for batch in lookups.batches_of(producer):
        records = lookups.records_of(batch)
        known = {row.pk: row for row in records.checks.all}

        def leads_to(row, known=known):
            while row is not None:
                if row.pk == check.pk:
                    return True
                row = known.get(row.corrects_id)
            return False

        kept = Rows([row for row in records.checks.all if not leads_to(row)])
        one = judging.judge(replace(records, checks=kept), judged_at=at)
        two = judging.judge(records, judged_at=at)
        before, after = (
            {(f.control_point, f.limit_id, f.place): f.status.value for f in j.findings}
            for j in (one, two)
        )
        for key in before.keys() | after.keys():
            pair = before.get(key, "—"), after.get(key, "—")
            if pair[0] != pair[1]:
                found[batch.code, *key] = pair
    return found


@pytest.fixture(scope="module")
def season(django_db_setup, django_db_blocker, tmp_path_factory):
    files = override_settings(MEDIA_ROOT=tmp_path_factory.mktemp("files"))
    with django_db_blocker.unblock(), files, transaction.atomic():
        producer = Producer.objects.get(name=load_demo().name)
        yield producer
        transaction.set_rollback(True)


def checks_of(producer, code):
    found = InstrumentCheck.objects.filter(
        instrument__producer=producer, instrument__code=code
    )
    return list(found.select_related("instrument__producer"))


def test_demo_failed_check_re_opens_exactly_the_two_batches_of_its_story(season):
    (failed,) = [
        check
        for check in checks_of(season, "P2")
        if is_failed(check) and check.occurred_at == FAILED_AT
    ]
    heating = "us-fda.hazards-guide.ch13.heating"
    assert found_by(look_back(failed)) == {
        ("B10", "instrument-check", "instrument-check", "P2"): ("met", "missed"),
        ("B11", "instrument-check", "instrument-check", "P2"): ("met", "missed"),
        ("B11", "heating", heating, "P2"): ("met", "not shown"),
    }


def test_demo_boiling_points_are_accepted_but_for_the_failed_probe(season):
    boiled = [
        check
        for code in ("P1", "P2", "P3")
        for check in checks_of(season, code)
        if check.method == "boiling-point"
    ]
    assert [str(check.shown) for check in boiled if is_failed(check)] == ["213.3"]
    assert {check.pressure for check in boiled} == {Decimal(990)}


def test_demo_probe_that_failed_is_out_of_use(season):
    out = [s.instrument.code for s in lookups.instruments_of(season) if s.is_out_of_use]
    assert out == ["P2"]


@pytest.mark.parametrize("code", ["P2", "C1"])
def test_look_back_is_what_judging_all_batches_gives(season, code):
    for check in checks_of(season, code):
        assert found_by(look_back(check)) == plainly(season, check), check.occurred_at


@pytest.mark.parametrize(
    ("code", "day", "told"),
    [
        # Invented checks thrown into the season, each the newest of its instrument.
        ("P1", "2025-08-25T06:40", {"shown": "36.0"}),
        ("P3", "2025-08-15T06:40", {"shown": "35.0"}),
        ("H1", "2025-08-09T06:40", {"shown": "29.0", "adjusted": True}),
        (
            "P1",
            "2025-08-15T06:40",
            {"shown": "35.0", "adjusted": True, "as_left": "32.0", "later_min": 5},
        ),
        ("P2b", "2025-08-20T06:40", {"shown": "213.4", "method": "boiling-point"}),
        ("P2b", "2025-08-04T06:40", {"shown": "34.1"}),
        ("CH", "2025-07-09T06:40", {"shown": "20.0"}),
    ],
)
def test_look_back_on_a_check_written_late_is_exact_too(season, code, day, told):
    member = season.members.get(role="owner")
    instrument = season.instruments.get(code=code)
    then = datetime.fromisoformat(day).replace(tzinfo=ZONE)
    told = {"method": "ice-point", "unit": "degF", "occurred_at": then, **told}
    if "later_min" in told:
        told["as_left_at"] = then + timedelta(minutes=told.pop("later_min"))
    late = datetime(2025, 9, 1, 12, tzinfo=ZONE)
    with transaction.atomic():
        check = recording.record_check(instrument, **told, by=member, at=late)
        expected = plainly(season, check)
        assert found_by(look_back(check)) == expected
        assert expected
        transaction.set_rollback(True)


# ---------------------------------------------------------------- small ones


@pytest.fixture
def probe():
    place = factories.PremisesFactory()
    return factories.InstrumentFactory(producer=place.producer, code="P1")


@pytest.fixture
def by(probe):
    return factories.MemberFactory(producer=probe.producer)


def check(probe, by, minutes, shown, **told):
    told = {"method": "ice-point", "unit": "degF", **told}
    return recording.record_check(
        probe, shown=shown, occurred_at=at(minutes), by=by, **{"at": at(900), **told}
    )


def batch_read_at(probe, by, minutes, code="B1"):
    made = factories.BatchFactory(
        producer=probe.producer,
        premises=probe.producer.premises.first(),
        by=by,
        code=code,
    )
    factories.ReadingFactory(batch=made, instrument=probe, occurred_at=at(minutes))
    return made


def codes(check):
    return [batch.code for batch in touched(check)]


def test_only_batches_between_the_neighbouring_checks_are_judged(probe, by):
    for number, minutes in enumerate((10, 100, 199, 200, 201, 300, 301, 400)):
        batch_read_at(probe, by, minutes, code=f"B{number}")
    other = factories.InstrumentFactory(producer=probe.producer, code="P9")
    batch_read_at(other, by, 200, code="B9")
    check(probe, by, 100, "32")
    check(probe, by, 300, "32")
    failed = check(probe, by, 200, "36")
    assert codes(failed) == ["B1", "B2", "B3", "B4", "B5"]
    assert found_by(look_back(failed)) == plainly(probe.producer, failed)


def test_good_check_corrected_to_a_failed_one_is_compared_with_the_good_one(probe, by):
    check(probe, by, 0, "32")
    batch_read_at(probe, by, 50)
    good = check(probe, by, 100, "32.1")
    wrong = check(probe, by, 100, "36.1", corrects=good, reason="slip", at=at(910))
    key = ("B1", "instrument-check", "instrument-check", "P1")
    assert found_by(look_back(wrong)) == {key: ("met", "missed")}
    back = check(probe, by, 100, "32.1", corrects=wrong, reason="no slip", at=at(920))
    assert found_by(look_back(back)) == {key: ("missed", "met")}
    assert found_by(look_back(wrong)) == {key: ("met", "missed")}  # as it stood then


def test_check_moved_by_its_correction_touches_both_places(probe, by):
    check(probe, by, 0, "32")
    batch_read_at(probe, by, 50, code="B1")
    check(probe, by, 100, "32")
    batch_read_at(probe, by, 150, code="B2")
    late = check(probe, by, 200, "36")
    early = check(probe, by, 80, "36", corrects=late, reason="wrong hour", at=at(910))
    assert codes(early) == ["B1", "B2"]
    found = found_by(look_back(early))
    assert found == plainly(probe.producer, early)
    assert {key[0]: pair for key, pair in found.items()} == {
        "B1": ("met", "missed"),
        "B2": ("missed", "met"),
    }


def test_check_taken_back_is_looked_back_on_too(probe, by):
    check(probe, by, 0, "32")
    batch_read_at(probe, by, 50)
    failed = check(probe, by, 100, "36")
    gone = recording.withdraw(failed, reason="other probe", by=by, at=at(910))
    (change,) = look_back(gone)
    assert (change.before, change.after) == ("missed", "met")
    assert not change.is_worse


def test_batch_written_down_after_the_check_is_shown_as_it_stands_now(probe, by):
    check(probe, by, 0, "32")
    failed = check(probe, by, 100, "36", at=at(101))
    made = batch_read_at(probe, by, 50)
    factories.ReadingFactory(
        batch=made, instrument=probe, occurred_at=at(60), recorded_at=at(950)
    )
    late = factories.BatchFactory(
        producer=probe.producer,
        premises=probe.producer.premises.first(),
        by=by,
        code="B2",
    )
    factories.ReadingFactory(
        batch=late, instrument=probe, occurred_at=at(70), recorded_at=at(950)
    )
    assert [each.batch.code for each in look_back(failed)] == ["B1"]
    assert codes(failed) == ["B1", "B2"]
    found = touched_batch(late, failed, now=at(960))
    assert found.changes == ()
    assert found.instrument == "missed"
    assert found.is_in_doubt


def test_look_back_says_how_far_it_is(probe, by):
    check(probe, by, 0, "32")
    for number in range(3):
        batch_read_at(probe, by, 50 + number, code=f"B{number}")
    failed = check(probe, by, 100, "36")
    said = []
    look_back(failed, progress=lambda done, total: said.append((done, total)))
    assert said == [(1, 3), (2, 3), (3, 3)]
    assert written_at(failed) == at(900)
    assert failed.occurred_at > START
