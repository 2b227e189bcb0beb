"""Links for inspectors: made once, in scope, expiring, revocable, every view on record."""

import re
from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from batches import lookups, models, qr, recording
from batches.errors import RecordError
from tests import factories
from tests.factories import START, at

pytestmark = pytest.mark.django_db

NOW = at(300)


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW)
    monkeypatch.setattr("reports.documents.pdf_from_html", lambda html: b"%PDF-")


@pytest.fixture
def batch():
    made = factories.BatchFactory(code="B07")
    factories.ReadingFactory(batch=made)
    return made


@pytest.fixture
def owner(batch):
    client = Client()
    client.force_login(batch.by.user)
    return client


def asked(**more):
    return {
        "entry_id": str(uuid4()),
        "for_whom": "N. N., county health",
        "batch": "B07",
        "first_on": "",
        "last_on": "",
        "days": "14",
    } | more


def made(owner, **more):
    """Make a link as the owner does; return its address."""
    page = owner.post(reverse("link-add"), asked(**more))
    assert "It is shown only now" in page.text, page.text
    return re.search(r'value="http://testserver(/open/[^"]+)"', page.text)[1]


def refused(code):
    return pytest.raises(RecordError, check=lambda error: error.code == code)


def give(owned, **told):
    told = {"for_whom": "N. N.", "days": 3, "by": owned.by, "at": NOW, **told}
    return recording.give_link(owned.producer, **told)


def test_the_link_is_shown_once_and_kept_only_as_its_number(owner):
    address = made(owner)
    token = address.split("/")[2]
    kept = str(list(models.InspectorLink.objects.values()))
    assert token not in kept
    assert len(token) >= 43
    for name in ("link-list", "people"):
        assert token not in owner.get(reverse(name)).text


def test_the_same_form_again_makes_no_second_link(owner):
    sent = asked()
    owner.post(reverse("link-add"), sent)
    again = owner.post(reverse("link-add"), sent)
    assert "shown only once" in again.text
    assert models.InspectorLink.objects.count() == 1


def test_whoever_has_the_link_reads_without_an_account(owner):
    reader = Client()
    page = reader.get(made(owner), follow=True)
    assert page.redirect_chain == [(reverse("copy"), 302)]
    assert "A read-only copy for N. N., county health: batch B07" in page.text
    assert "decided by your inspector" in page.text
    assert "Sign out" not in page.text
    record = reader.get(reverse("copy-record", args=["B07"]))
    assert "Read-only copy for N. N., county health" in record.text
    assert "sold is decided by the inspector" in record.text
    assert reader.get(reverse("copy-record-pdf", args=["B07"])).status_code == 200
    assert record["Cache-Control"] == "private, no-store"
    assert re.findall(r'href="(/(?!copy|static)[^"]*)"', record.text) == []


def test_every_view_is_on_record_and_told_to_the_owner(owner, batch):
    reader = Client()
    reader.get(made(owner), follow=True)
    reader.get(reverse("copy-record", args=["B07"]))
    pages = list(models.LinkView.objects.order_by("pk").values_list("page", flat=True))
    assert pages == ["the list", "batch record B07"]
    view = models.LinkView.objects.last()
    assert view.by_name == "Link for N. N., county health"
    event = models.TrailEvent.objects.filter(act="link.viewed").last()
    assert (event.by, event.by_name) == (None, view.by_name)
    assert event.subject_key == str(view.pk)
    link = models.InspectorLink.objects.get()
    assert "2 pages opened" in owner.get(reverse("link-list")).text
    assert "batch record B07" in owner.get(reverse("link", args=[link.pk])).text


def test_a_revoked_link_opens_nothing(owner):
    address, reader = made(owner), Client()
    assert reader.get(address).status_code == 302
    link = models.InspectorLink.objects.get()
    for _ in range(2):
        owner.post(reverse("link-revoke", args=[link.pk]))
    assert models.LinkRevocation.objects.count() == 1
    seen = models.LinkView.objects.count()
    for url in (address, reverse("copy"), reverse("copy-record", args=["B07"])):
        assert reader.get(url).status_code == 404
    assert models.LinkView.objects.count() == seen
    assert "revoked" in owner.get(reverse("link-list")).text


def test_a_link_ends_when_it_was_said_to(owner, monkeypatch):
    address, reader = made(owner, days="1"), Client()
    reader.get(address)
    last = NOW + timedelta(days=1) - timedelta(seconds=1)
    monkeypatch.setattr("django.utils.timezone.now", lambda: last)
    assert reader.get(reverse("copy")).status_code == 200
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW + timedelta(days=1))
    assert reader.get(reverse("copy")).status_code == 404
    assert reader.get(address).status_code == 404


def test_unknown_ended_and_revoked_links_read_the_same(owner):
    link, token = give(models.Batch.objects.get(), batch=models.Batch.objects.get())
    recording.revoke_link(link, by=link.by, at=NOW)
    pages = {
        re.sub(r'value="[^"]*"', "", Client().get(reverse("copy-open", args=[t])).text)
        for t in (token, "x" * 43, "y")
    }
    assert len(pages) == 1
    assert "There is nothing at this address" in pages.pop()


def test_a_period_counts_days_at_the_premises(batch):
    link, _ = give(batch, first_on=date(2026, 5, 2), last_on=date(2026, 5, 3))
    told = {"producer": batch.producer, "premises": batch.premises, "by": batch.by}
    day = START.replace(hour=0, minute=0)
    for code, started in {
        "before": day - timedelta(minutes=1),
        "first": day,
        "last": day + timedelta(days=2) - timedelta(minutes=1),
        "after": day + timedelta(days=2),
    }.items():
        factories.BatchFactory(code=code, started_at=started, **told)
    factories.BatchFactory(code="theirs")
    codes = {found.code for found in lookups.batches_in(link)}
    assert codes == {"first", "B07", "last"}


@pytest.mark.parametrize(
    ("scope", "code"),
    [
        ({}, "no-scope"),
        ({"first_on": date(2026, 5, 2)}, "no-scope"),
        ({"first_on": date(2026, 5, 2), "last_on": date(2026, 5, 1)}, "backwards"),
        ({"batch": "own", "first_on": date(2026, 5, 2)}, "two-scopes"),
        ({"batch": "own", "days": 0}, "days"),
        ({"batch": "own", "days": 91}, "days"),
        ({"batch": "theirs"}, "not-found"),
        ({"batch": "own", "for_whom": " "}, "blank"),
    ],
)
def test_a_link_shows_one_thing_for_some_days(batch, scope, code):
    named = {"own": batch, "theirs": factories.BatchFactory()}
    if "batch" in scope:
        scope = scope | {"batch": named[scope["batch"]]}
    with refused(code):
        give(batch, **scope)
    assert not models.InspectorLink.objects.exists()


def test_a_link_gives_nothing_to_write(owner, batch):
    reader = Client()
    reader.get(made(owner))
    for name in ("remark", "statement", "step-mark"):
        answer = reader.post(reverse(name, args=["B07"]), {"text": "x"})
        assert answer.status_code == 401
    assert reader.post(reverse("copy")).status_code == 404
    assert not models.Remark.objects.exists()


def test_a_member_who_opens_a_link_of_another_producer_stays_who_they_are(owner):
    address = made(owner)
    other = factories.BatchFactory(code="B99")
    reader = Client()
    reader.force_login(other.by.user)
    reader.get(address)
    page = reader.get(reverse("copy"))
    assert "batch B07" in page.text
    assert reader.get(reverse("batch", args=["B07"])).status_code == 404
    assert reader.get(reverse("batch", args=["B99"])).status_code == 200
    assert reader.get(reverse("copy-record", args=["B99"])).status_code == 404


def test_the_qr_code_is_drawn_here_and_says_the_address():
    drawn = qr.qr_svg("https://smoke.example/open/abc/", 'The "same" link')
    assert drawn.startswith("<svg")
    assert "http" not in drawn.replace("xmlns", "")
    assert 'aria-label="The same link"' in drawn
    assert drawn.count("M") > 200
