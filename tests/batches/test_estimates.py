"""Estimates beside a batch: kept with inputs and version, shown, printed, never evidence."""

from uuid import uuid4

import pytest
from django.db import DatabaseError, connection
from django.test import Client
from django.urls import reverse

from batches import recording
from batches.errors import AppendOnly, RecordError
from batches.judging import evidence_of, judge
from batches.lookups import batch_of, records_of
from batches.models import Estimate, TrailEvent
from batches.verifying import verify
from batches.workbench.outcome import kept
from reports.collect import Wish, batch_record
from tests import factories
from tests.factories import at

pytestmark = pytest.mark.django_db

QUERY = "elevation=1500&elevation_unit=m&pressure="


@pytest.fixture
def batch():
    return factories.BatchFactory()


@pytest.fixture
def maker(batch):
    return factories.MemberFactory(producer=batch.producer, role="maker")


@pytest.fixture
def browser(maker):
    client = Client()
    client.force_login(maker.user)
    return client


def send(browser, beside, **changed):
    data = {"batch": beside.code, "query": QUERY, "entry_id": str(uuid4())} | changed
    address = reverse("estimate-attach", args=["boiling-point"])
    return browser.post(address, data, follow=True)


def test_the_page_offers_to_keep_an_answer_to_members_only(browser, batch):
    page = reverse("calculator", args=["boiling-point"]) + "?" + QUERY
    assert "Keep it beside a batch" in browser.get(page).content.decode()
    assert "Keep it beside a batch" not in Client().get(page).content.decode()


def test_an_answer_is_kept_with_what_it_was_worked_out_from(browser, batch, maker):
    page = send(browser, batch)
    (row,) = Estimate.objects.all()
    assert (row.batch, row.by, row.by_name) == (batch, maker, maker.name)
    assert row.calculator == "boiling-point"
    assert row.inputs == {"Elevation above the sea": "1500 m"}
    assert row.result["estimates"][0]["likely"] == pytest.approx(94.98, abs=0.01)
    assert row.version
    shown = page.content.decode()
    assert "Estimates, not evidence" in shown
    assert "about 95.0 °C, between 94.0 and 95.9 °C" in shown


def test_what_is_kept_is_worked_out_anew(browser, batch):
    send(browser, batch, result='{"estimates": []}', query=QUERY.replace("1500", "0"))
    (row,) = Estimate.objects.all()
    assert row.result["estimates"][0]["likely"] == pytest.approx(99.97, abs=0.01)


def test_the_same_form_sent_twice_is_kept_once(browser, batch):
    entry = str(uuid4())
    send(browser, batch, entry_id=entry)
    send(browser, batch, entry_id=entry)
    assert Estimate.objects.count() == 1


def test_what_has_no_answer_is_not_kept(browser, batch):
    page = send(browser, batch, query=QUERY.replace("1500", "9000"))
    assert Estimate.objects.count() == 0
    assert "What makes sense is" in page.content.decode()


@pytest.mark.parametrize("changed", [{"batch": "NO-1"}, {"entry_id": "x"}])
def test_what_names_nothing_is_refused(browser, batch, changed):
    page = send(browser, batch, **changed)
    assert page.status_code == 200
    assert Estimate.objects.count() == 0


def test_a_batch_of_another_producer_does_not_exist(browser):
    other = factories.BatchFactory()
    page = send(browser, other)
    assert Estimate.objects.count() == 0
    assert "There is no such batch" in page.content.decode()


def test_strangers_keep_nothing(batch):
    send(Client(), batch)
    assert Estimate.objects.count() == 0


def test_inspectors_keep_nothing(batch):
    member = factories.MemberFactory(producer=batch.producer, role="inspector")
    client = Client()
    client.force_login(member.user)
    assert send(client, batch).status_code == 403
    assert Estimate.objects.count() == 0
    with pytest.raises(RecordError):
        attach(batch, member)


def attach(batch, by):
    return recording.attach_estimate(
        batch,
        calculator="boiling-point",
        title="Boiling point",
        query=QUERY,
        inputs={"Elevation above the sea": "1500 m"},
        result={"estimates": [
            {
                "quantity": "boiling point of plain water", "unit": "degC",
                "low": 94.0, "likely": 95.0, "high": 95.9, "coverage": None,
                "sources": ["one"], "caveats": [], "is_thin": False,
            }
        ]},
        by=by,
        at=at(100),
    )  # fmt: skip


def test_an_estimate_never_changes_and_is_in_the_trail(batch, maker):
    row = attach(batch, maker)
    row.title = "Another"
    with pytest.raises(AppendOnly):
        row.save()
    with pytest.raises(AppendOnly):
        Estimate.objects.all().delete()
    event = TrailEvent.objects.order_by("-number").first()
    assert event.act == "estimate.attached"
    assert event.subject_key == str(row.pk)


def test_an_estimate_changes_no_finding(batch, maker):
    before = judge(records_of(batch), judged_at=at(200))
    evidence = evidence_of(records_of(batch), judged_at=at(200))
    attach(batch, maker)
    again = records_of(batch_of(batch.producer, batch.code))
    assert judge(again, judged_at=at(200)) == before
    assert evidence_of(again, judged_at=at(200)) == evidence


def test_an_estimate_is_printed_as_none_of_the_evidence(batch, maker):
    bare = batch_record(batch.producer, batch.code, Wish(at=at(200)))
    attach(batch, maker)
    record = batch_record(batch.producer, batch.code, Wish(at=at(200)))
    (row,) = record.estimates
    assert row.lines == (
        "boiling point of plain water: about 95.0 °C, between 94.0 and 95.9 °C",
    )
    assert row.asked == "Elevation above the sea: 1500 m"
    assert maker.name in row.made
    assert bare.estimates == ()
    assert bare.content_sha256 != record.content_sha256


def test_the_trail_holds_with_the_figures_as_they_were_kept(browser, batch):
    send(browser, batch)
    row = Estimate.objects.get()
    report = verify(batch.producer)
    assert [one for one in report.faults if "Estimate" in one.where] == []
    told = TrailEvent.objects.get(act="estimate.attached")
    assert kept(row.result)[0].likely == pytest.approx(94.98, abs=0.01)
    assert told.subject_key == str(row.pk)


def test_the_database_itself_refuses_to_change_an_estimate(batch, maker):
    row = attach(batch, maker)
    with pytest.raises(DatabaseError), connection.cursor() as cursor:
        cursor.execute(
            "UPDATE batches_estimate SET title = 'x' WHERE id = %s", [row.pk]
        )
