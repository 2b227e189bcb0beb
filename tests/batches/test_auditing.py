"""The checks of the record on the demo season: each planted fault, and nothing else."""

import io
import json
from dataclasses import replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from django.core.management import CommandError, call_command
from django.db import transaction
from django.test import Client, override_settings
from django.urls import reverse

from batches import auditing, judging, lookups, recording
from batches.demo.load import load_demo
from batches.demo.story import local
from batches.lookups.told import told_of
from batches.models import Producer, Reading
from safety.audit import Audit, Parts, checks
from tests import factories
from tests.factories import at

ZONE = ZoneInfo("America/Detroit")
AT_THE_END = datetime(2025, 8, 31, 12, 0, tzinfo=ZONE)

# What the stored rows of the season show. The days of the cold store are no planted
# fault: the story tells its logger's weeks in words, and the rows hold no reading.
BY_ROWS = {
    "B01": {"cold-store-day"},
    "B02": {
        "cold-store-day",
        "monitoring-gap",
        "review-late",
        "same-value-run",
        "typed-flatter",
    },
    "B03": {"cold-store-day"},
    "B04": {"cold-store-day", "no-initials"},
    "B05": {"cold-store-day"},
    "B06": {
        "cold-store-day",
        "lab-unread",
        # The plan's own thickness: its food was held for the salt, by another limit.
        "missed-unanswered",
        "over-size",
        "slow-heating",
        "two-places-at-once",
    },
    "B07": {"cleaning-missing"},
    "B08": {"cold-store-day", "monitoring-gap", "two-places-at-once"},
    "B09": {"cold-store-day", "late-by-a-day", "monitoring-gap"},
    "B10": {
        "cold-store-day",
        "drift-past-half",
        "instrument-failed-later",
        "sold-before-test",
    },
    "B11": {"cold-store-day", "drift-past-half", "instrument-failed-later"},
    "B11R": {"cold-store-day"},  # worked again from B11: its fish counts once
    "B12": {"cold-store-day", "late-entry", "typed-in-bulk"},
    "B13": {"instrument-out-of-date"},  # the water activity meter was never checked
    "B14": {"cold-store-day", "unit-slip"},
    "B15": {"cold-store-day", "labels-against-packages"},
}


@pytest.fixture(scope="module")
def season(django_db_setup, django_db_blocker, tmp_path_factory):
    """Return what is found in every batch by what is stored of it."""
    files = override_settings(MEDIA_ROOT=tmp_path_factory.mktemp("files"))
    with django_db_blocker.unblock(), files, transaction.atomic():
        load_demo()
        found = {}
        for batch in lookups.batches_of(Producer.objects.get()):
            records = lookups.records_of(batch)
            found[batch.code] = auditing.found_in(records, now=AT_THE_END)
        transaction.set_rollback(True)
    return found


def ids(said: Audit):
    return {found.check for found in said.found}


@pytest.mark.parametrize("code", BY_ROWS)
def test_rows_of_the_season_show_these_faults_and_no_others(season, code):
    assert ids(season[code]) == BY_ROWS[code]


def test_season_runs_most_checks(season):
    ran = {identity for said in season.values() for identity in said.ran}
    left = set(checks()) - ran
    assert len(ran) >= 60, sorted(left)


def one(said, identity):
    (found,) = (each for each in said.found if each.check == identity)
    return found


def test_found_faults_name_their_entries(season):
    bulk = one(season["B12"], "typed-in-bulk")
    assert "12:41:05" in bulk.sentence
    assert "12:41:38" in bulk.sentence
    assert bulk.entries[0] == "2025-07-31 10:00 P3 78.8 °F"
    assert len(one(season["B04"], "no-initials").entries) == 3
    slow = one(season["B06"], "slow-heating")
    assert "1.07 times the median" in slow.sentence
    drift = one(season["B10"], "drift-past-half")
    assert "P2 was off by +1.10 on 2025-07-21" in drift.sentence
    late = one(season["B02"], "review-late")
    assert "11 days later: 4 too late" in late.sentence
    run = one(season["B02"], "same-value-run")
    assert "9 readings in a row say 36.0 °F" in run.sentence
    assert "(1.22)" in run.sentence  # the logger's spread at these minutes
    slips = [f for f in season["B14"].found if f.check == "unit-slip"]
    assert any("Corrected to 62.9 °C" in slip.sentence for slip in slips)


def test_each_found_fault_says_what_to_do_and_who_asks(season):
    for said in season.values():
        for found in said.found:
            assert found.sentence.endswith(".")
            assert found.remedy
            assert found.source


# ---------------------------------------------------------------- rows to record


@pytest.fixture
def batch(db):
    return factories.BatchFactory(code="B07")


def test_audit_asks_few_questions_more_and_writes_nothing(
    batch, django_assert_num_queries
):
    factories.BatchFactory(
        producer=batch.producer,
        premises=batch.premises,
        product=batch.product,
        by=batch.by,
        code="B06",
        started_at=batch.started_at - timedelta(days=7),
    )
    records = lookups.records_of(lookups.batch_of(batch.producer, "B07"))
    judged = judging.judge(records, judged_at=at(200))
    rows = Reading.objects.count()
    told = told_of(records)
    with django_assert_num_queries(5):  # the sixth asks about a signed plan
        auditing.found_in(records, now=at(200), judgement=judged, told=told)
    with django_assert_num_queries(8):  # nothing is told: one for each kind of record
        told_of(records)
    assert Reading.objects.count() == rows


def test_finding_of_a_limit_does_not_depend_on_the_checks(batch):
    records = lookups.records_of(lookups.batch_of(batch.producer, "B07"))
    before = judging.judge(records, judged_at=at(200))
    auditing.found_in(records, now=at(200))
    assert judging.judge(records, judged_at=at(200)) == before


def test_record_stands_as_it_was_at_its_instant(batch):
    factories.ReadingFactory(batch=batch, recorded_at=at(150), occurred_at=at(20))
    records = lookups.records_of(lookups.batch_of(batch.producer, "B07"))
    assert "late-entry" not in ids(auditing.found_in(records, now=at(149)))
    assert "late-entry" in ids(auditing.found_in(records, now=at(150)))


def test_lot_is_followed_through_the_batches_before(batch):
    lot = factories.LotFactory(producer=batch.producer, mass_kg=Decimal(20))
    factories.BatchLotFactory(batch=batch, lot=lot, mass_kg=Decimal(15))
    later = factories.BatchFactory(
        producer=batch.producer,
        premises=batch.premises,
        product=batch.product,
        by=batch.by,
        code="B08",
        started_at=batch.started_at + timedelta(days=1),
    )
    factories.BatchLotFactory(batch=later, lot=lot, mass_kg=Decimal("5.1"))
    found = {}
    for code in ("B07", "B08"):
        records = lookups.records_of(lookups.batch_of(batch.producer, code))
        found[code] = ids(auditing.found_in(records, now=at(3000)))
    assert "lot-overdrawn" not in found["B07"]
    assert "lot-overdrawn" in found["B08"]


def parts_at(code, now, producer=None):
    producer = producer or Producer.objects.get()
    records = lookups.records_of(lookups.batch_of(producer, code))
    judged = judging.judge(records, judged_at=now)
    return auditing.parts_of(records, judged, told_of(records), now=now)


def test_parts_that_nothing_is_told_of_are_empty_or_not_kept(batch):
    parts = parts_at("B07", at(200), batch.producer)
    assert parts.missed is not None
    empty = Parts(missed=parts.missed, answers=(), holds=(), releases=())
    assert parts == replace(empty, complaints=())


@pytest.fixture(scope="module")
def told(django_db_setup, django_db_blocker, tmp_path_factory):
    """Return what the season's other records tell of each batch, by code and instant."""
    files = override_settings(MEDIA_ROOT=tmp_path_factory.mktemp("told"))
    with django_db_blocker.unblock(), files, transaction.atomic():
        load_demo()
        yield parts_at
        transaction.set_rollback(True)


def test_answers_say_what_was_decided_by_whom_and_why(told):
    (answer,) = told("B02", AT_THE_END).answers
    assert answer.control_point == "record-review"
    assert answer.decision.startswith("Release after evaluation: ")
    assert answer.decided_by
    assert answer.qualification == "Seafood HACCP course; reviews records for a living."
    assert answer.cause
    assert answer.prevention
    assert answer.is_closed


def test_food_that_was_destroyed_needs_nobody_qualified_to_judge_it(told):
    (answer,) = told("B07", AT_THE_END).answers
    assert (answer.is_let_go, answer.qualification) == (False, "")
    assert answer.is_closed


def test_parts_stand_as_they_were_at_their_instant(told):
    assert told("B10", local("2025-07-28T06:50:10")).answers == ()
    early = told("B10", local("2025-07-28T06:51"))
    (answer,), (hold,) = early.answers, early.holds
    assert (answer.decision, answer.cause, answer.is_closed) == ("", "", False)
    assert (hold.since, hold.until) == (local("2025-07-28T06:50:40"), None)
    (hold,) = told("B10", AT_THE_END).holds
    assert hold.until is not None
    assert hold.until > hold.since


def test_rework_is_known_by_the_batch_that_it_came_from(told):
    assert told("B11R", AT_THE_END).reworked_from == "B11"
    assert told("B11", AT_THE_END).reworked_from is None


def test_rounds_of_cleaning_belong_to_the_days_of_work(told):
    (day,) = told("B03", AT_THE_END).cleaning
    assert day.day == date(2025, 6, 19)
    assert [each.moment for each in day.rounds] == [
        "before work", "at the start of work", "during work", "after work",
    ]  # fmt: skip
    assert day.asked == tuple(each.moment for each in day.rounds)
    assert [each.conditions == each.asked for each in day.rounds] == [True] * 4
    assert day.rounds[0].conditions == 8  # 21 CFR 123.11(b)
    assert {each.sanitizer_ppm for each in day.rounds} == {Decimal(100)}
    assert told("B03", local("2025-06-19T23:00")).cleaning == ()  # not over yet


def test_complaint_is_closed_when_its_last_answer_says_so(told):
    (closed,) = told("B04", AT_THE_END).complaints
    assert closed.received_at == local("2025-07-10T18:20")
    assert closed.closed_at == closed.acted_at == local("2025-07-11T10:30")
    (still_open,) = told("B04", local("2025-07-10T20:00")).complaints
    assert (still_open.acted_at, still_open.closed_at) == (None, None)
    assert told("B05", AT_THE_END).complaints == ()


def test_reviewers_are_trained_by_what_is_on_record(told):
    (trained,) = told("B05", AT_THE_END).training
    assert (trained.person, trained.since) == ("TM", local("2025-05-28T18:00"))


def test_period_gives_its_batches_oldest_first(batch):
    day = timedelta(days=1)
    began = batch.started_at
    factories.BatchFactory(code="OTHER")  # of another producer
    told = {"since": began, "now": began + day}
    inside = auditing.found_between(batch.producer, until=began + day, **told)
    assert [each.batch.code for each in inside] == ["B07"]
    assert not list(auditing.found_between(batch.producer, until=began, **told))


# ---------------------------------------------------------------- pages and commands


def page(batch, monkeypatch, minute=200):
    monkeypatch.setattr("django.utils.timezone.now", lambda: at(minute))
    client = Client()
    client.force_login(batch.by.user)
    return client.get(reverse("batch", args=[batch.code])).content.decode()


def test_batch_page_shows_what_was_found_in_word_and_shape(batch, monkeypatch):
    factories.ReadingFactory(batch=batch, recorded_at=at(150), occurred_at=at(20))
    html = page(batch, monkeypatch)
    assert "Checks of the record" in html
    assert "Written late." in html
    assert "likely to be asked about" in html
    assert "status__shape" in html[html.index("Checks of the record") :]
    assert "could not run" in html


def test_batch_page_tells_silence_from_what_could_not_run(batch, monkeypatch):
    factories.BatchLotFactory(batch=batch)
    html = page(batch, monkeypatch)
    tail = html[html.index("Checks of the record") :]
    assert "because: not on record here: sales" in tail
    assert "No product or lot." not in tail


def checked(*codes, **options):
    out = io.StringIO()
    call_command("check_records", *codes, stdout=out, stderr=io.StringIO(), **options)
    return out.getvalue()


def test_command_lists_what_is_found(batch):
    text = checked("B07")
    assert "B07: " in text
    assert "[no-product-or-lot; " in text
    assert f"1 batches, {len(checks())} checks" in text


def test_command_writes_json(batch):
    told = json.loads(checked(as_json=True))
    (only,) = told["batches"]
    assert only["batch"] == "B07"
    assert {each["check"] for each in only["found"]} >= {"no-product-or-lot"}
    assert len(only["ran"]) + len(only["not_run"]) == len(checks())


def test_command_refuses_a_batch_that_is_not_there(batch):
    with pytest.raises(CommandError, match=r"no batch B99.*list of batches"):
        checked("B07", "B99")


def test_command_keeps_to_one_producer(batch):
    other = factories.BatchFactory(code="B07")
    told = json.loads(checked(as_json=True, producer=other.producer.slug))
    assert [each["producer"] for each in told["batches"]] == [other.producer.slug]


def test_correction_explains_itself_and_is_not_late(batch):
    wrong = factories.ReadingFactory(
        batch=batch, recorded_at=at(21), occurred_at=at(20), value=Decimal("38.0")
    )
    recording.record_reading(
        batch,
        step=wrong.step,
        quantity=wrong.quantity,
        place=wrong.place,
        value=Decimal("39.0"),
        unit=wrong.unit,
        occurred_at=wrong.occurred_at,
        corrects=wrong,
        reason="misread",
        by=batch.by,
        at=at(190),
    )
    records = lookups.records_of(lookups.batch_of(batch.producer, "B07"))
    assert "late-entry" not in ids(auditing.found_in(records, now=at(200)))
