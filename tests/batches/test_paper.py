"""Entries copied from paper: whose initials stand there, who typed them in, and when."""

from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from batches import models, recording
from batches.errors import RecordError
from batches.forms.instants import MINUTE, wall
from batches.verifying import verify
from reports.collect import Wish, batch_record
from safety.audit.run import audit
from tests import factories
from tests.factories import START, ZONE, at
from tests.safety.audit.build import a_record, reading

pytestmark = pytest.mark.django_db

NOW = at(200)
SIGNED = "from paper signed TM, typed in by IF"
UNSIGNED = "from paper without initials, typed in by IF"


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW)


@pytest.fixture
def batch():
    return factories.BatchFactory(code="B07")


@pytest.fixture
def client(batch):
    client = Client()
    client.force_login(batch.by.user)
    return client


def shown(instant):
    return wall(instant, ZONE).strftime(MINUTE)


def sent(instant=None, **more):
    return {
        "entry_id": str(uuid4()),
        "occurred_at": shown(instant or NOW),
        "occurred_at_prefilled": shown(NOW),
    } | more


def read(batch, **more):
    told = {
        "step": "cooling",
        "quantity": "core-temperature",
        "value": "98.8",
        "unit": "degF",
        "occurred_at": at(60),
        "by": batch.by,
        "at": at(69),
    }
    return recording.record_reading(batch, **told | more)


def url(batch):
    return reverse("record", args=[batch.code, "cooling", "core-temperature"])


# ------------------------------------------------------------ kept


def test_entry_says_whose_paper_it_was_and_who_typed_it(batch):
    assert read(batch).by_whom == "IF"
    assert read(batch, paper_initials="TM").by_whom == SIGNED
    assert read(batch, paper_initials=" ").by_whom == UNSIGNED
    row = models.Reading.objects.latest("pk")
    assert (row.from_paper, row.paper_initials) == (True, "")
    assert (row.by, row.recorded_at) == (batch.by, at(69))


@pytest.mark.parametrize(
    ("deed", "told"),
    [
        (recording.mark_step, {"step": "cooling", "edge": "start"}),
        (recording.record_statement, {"what": "iced", "complies": True}),
        (recording.record_remark, {"text": "Door left open."}),
    ],
)
def test_short_entries_come_from_paper_too(batch, deed, told):
    told |= {"occurred_at": at(1), "by": batch.by, "at": at(5)}
    assert deed(batch, **told, paper_initials="TM").by_whom == SIGNED


def test_date_comes_from_paper_too(batch):
    told = {"occurs_at": at(9000), "by": batch.by, "at": at(5)}
    row = recording.record_date(batch, what="use-by", paper_initials="TM", **told)
    assert row.by_whom == SIGNED


def test_retry_of_a_copied_entry_is_one_and_other_initials_are_refused(batch):
    told = {"entry_id": uuid4(), "paper_initials": "TM"}
    assert read(batch, **told).pk == read(batch, **told).pk
    with pytest.raises(RecordError) as caught:
        read(batch, **told | {"paper_initials": ""})
    assert caught.value.code == "entry-id-used"


def test_correction_of_a_copied_entry_still_comes_from_paper(batch):
    one = read(batch, paper_initials="TM")
    again = {"corrects": one, "reason": "A slip.", "value": "98.3"}
    two = read(batch, **again)
    assert two.by_whom == SIGNED
    three = read(batch, paper_initials="", corrects=two, reason="Not TM’s hand.")
    assert three.by_whom == UNSIGNED
    gone = recording.withdraw(three, reason="Twice.", by=batch.by, at=at(80))
    assert gone.from_paper


def test_initials_without_paper_are_refused_by_the_database(batch):
    with pytest.raises(IntegrityError), transaction.atomic():
        factories.ReadingFactory(batch=batch, paper_initials="TM")


def test_trail_holds_what_stands_on_the_paper(batch):
    read(batch, paper_initials="TM")
    event = models.TrailEvent.objects.filter(subject="batches.Reading").last()
    assert '"paper_initials":"TM"' in event.after
    faults = verify(batch.producer).faults
    assert not [each for each in faults if "Reading" in each.where]


# ------------------------------------------------------------ forms


def test_form_asks_for_the_time_on_the_paper(client, batch):
    told = {"value": "98.8", "unit": "degF", "place": "", "from_paper": "on"}
    page = client.post(url(batch), sent(**told)).content.decode()
    assert "Give the time that stands on the paper." in page
    assert not models.Reading.objects.exists()
    client.post(url(batch), sent(at(60), **told, paper_initials="TM"))
    assert models.Reading.objects.get().by_whom == SIGNED


def test_initials_alone_say_that_it_comes_from_paper(client, batch):
    told = {"step": "", "text": "Fog.", "paper_initials": "TM"}
    client.post(reverse("remark", args=[batch.code]), sent(at(60), **told))
    assert models.Remark.objects.get().by_whom == SIGNED


def test_entry_first_written_here_is_not_from_paper(client, batch):
    told = {"value": "98.8", "unit": "degF", "place": ""}
    client.post(url(batch), sent(**told))
    assert not models.Reading.objects.get().from_paper


def test_correction_form_changes_the_initials(client, batch):
    one = read(batch, paper_initials="TM")
    there = reverse("correct", args=[batch.code, "reading", one.pk])
    assert 'name="from_paper"' not in client.get(there).content.decode()
    told = {"value": "98.8", "unit": "degF", "place": "", "reason": "Nobody signed."}
    prefilled = {"occurred_at": shown(at(60)), "occurred_at_prefilled": shown(at(60))}
    client.post(there, prefilled | told | {"paper_initials": ""})
    assert models.Reading.objects.current().get().by_whom == UNSIGNED


# ------------------------------------------------------------ shown


def test_run_sheet_and_document_never_show_it_as_seen_live(client, batch):
    factories.StepMarkFactory(
        batch=batch, step="cooling", edge="start", occurred_at=START
    )
    read(batch, paper_initials="")
    page = client.get(reverse("batch", args=[batch.code])).content.decode()
    assert UNSIGNED in page
    assert "entered" in page.split(UNSIGNED)[1][:80]
    record = batch_record(batch.producer, batch.code, Wish(at=NOW))
    (table,) = record.readings
    (row,) = table.rows
    assert row.by == UNSIGNED
    assert row.recorded == "09:09"


# ------------------------------------------------------------ checked


def found(*readings):
    said = audit(a_record(readings=readings)).found
    return [each for each in said if each.check == "no-initials"]


def test_paper_without_initials_is_found_and_paper_with_them_is_not():
    (one,) = found(reading("12:00", paper_by=""), reading("12:30", paper_by="TM"))
    assert one.sentence == (
        "1 entry has no initials; 1 copied from paper that bears none."
    )
    assert not found(reading("12:00", paper_by="TM"))


def test_initials_put_right_or_taken_back_are_asked_no_more():
    one = reading("12:00", paper_by="", number=901)
    right = reading("12:00", paper_by="TM", number=902, corrects=901, reason="Misread.")
    assert not found(one, right)
    gone = reading(
        "12:00", paper_by="", number=903, corrects=901, reason="x", withdrawn=True
    )
    assert not found(one, gone)
