"""The pages of reviews and of the laboratory: shown, signed, refused, and kept apart."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse

from batches import lookups, models, recording
from tests import factories
from tests.batches.test_laboratory import report
from tests.batches.test_views import NOW, says, signed_in
from tests.factories import PASSWORD, START, at

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW)


@pytest.fixture
def batch():
    made = factories.BatchFactory(code="B07")
    factories.StepMarkFactory(batch=made)
    factories.ReadingFactory(batch=made, place="P1")
    return lookups.batch_of(made.producer, made.code)


@pytest.fixture
def reviewer(batch):
    return factories.MemberFactory(
        producer=batch.producer, role="reviewer", name="Tobin March", initials="TM"
    )


@pytest.fixture
def client(reviewer):
    return signed_in(reviewer)


def page(client, name, *arguments):
    response = client.get(reverse(name, args=arguments))
    assert response.status_code == 200
    return response


def hidden(response):
    """Return what the form of a page carries along."""
    found = re.findall(
        r'name="(seen|entry_id)" value="([^"]+)"', response.content.decode()
    )
    return dict(found) | {"title": "Tobin March, reviewer", "password": PASSWORD}


def test_queue_says_what_is_due_in_how_many_days(client, batch):
    text = says(page(client, "review-list"))
    assert "B07" in text
    assert "Due in 7 days" in text
    assert "within one week" in text
    assert "21 CFR Part 123" in text


def test_overdue_record_says_so(client, batch, monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: START + 9 * DAY)
    assert "Overdue by 2 days" in says(page(client, "review-list"))
    assert "Overdue by 2 days" in says(page(client, "now"))
    assert "will stay on record as late" in says(page(client, "batch-review", "B07"))


def test_record_stands_beside_its_limits(client, batch):
    text = says(page(client, "batch-review", "B07"))
    assert "Limits" in text
    assert "145.0 °F core temperature, P1" in text
    assert "3 entries, 3 of them new" in text
    assert "No training of yours is on file" in text
    assert "Checks of the record" in text
    assert "could not run" in text


def test_corrected_entry_is_struck_and_says_why(client, batch):
    row = models.Reading.objects.get()
    factories.ReadingFactory(batch=batch, corrects=row, reason="misread", value="146.0")
    answer = page(client, "batch-review", "B07")
    assert re.search(r"<s>.*145\.0.*</s>", answer.content.decode())
    assert "Corrected by IF: misread." in says(answer)


def test_late_entry_is_marked(client, batch):
    factories.ReadingFactory(batch=batch, recorded_at=at(150))
    assert "; late , entered" in says(page(client, "batch-review", "B07"))


def test_record_is_signed_and_shown_as_signed(client, batch):
    form = hidden(page(client, "batch-review", "B07"))
    sent = client.post(reverse("batch-review", args=["B07"]), form)
    assert sent.status_code == 302
    again = client.post(reverse("batch-review", args=["B07"]), form)
    assert again.status_code == 302
    assert models.Review.objects.count() == 1
    text = says(page(client, "batch-review", "B07"))
    assert "All of it was read and signed." in text
    assert form["seen"] in text
    assert "signed 2 May 2026" in says(page(client, "batch", "B07"))


def test_wrong_password_is_refused_beside_the_field(client, batch):
    form = hidden(page(client, "batch-review", "B07")) | {"password": "guess"}
    answer = client.post(reverse("batch-review", args=["B07"]), form)
    assert "This is not your password. Nothing was signed or changed." in says(answer)
    assert not models.Review.objects.exists()


def test_what_is_wrong_stands_above_everything_with_a_link_to_the_field(client, batch):
    address = reverse("batch-review", args=["B07"])
    sent = hidden(client.get(address)) | {"password": "guess", "title": ""}
    said = client.post(address, sent).content.decode()
    assert said.index('id="wrong"') < said.index("<h1")
    summary = said[said.index('id="wrong"') : said.index("</section>")]
    assert "autofocus" in summary
    assert 'href="#id_title"' in summary
    sent["title"] = "Tobin March, reviewer"
    said = client.post(address, sent).content.decode()
    summary = said[said.index('id="wrong"') : said.index("</section>")]
    assert 'href="#id_password"' in summary
    assert "This is not your password" in summary
    assert 'id="wrong"' not in client.get(address).content.decode()


def test_record_changed_meanwhile_is_refused_with_what_to_do(client, batch):
    form = hidden(page(client, "batch-review", "B07"))
    factories.ReadingFactory(batch=batch)
    answer = client.post(reverse("batch-review", args=["B07"]), form)
    assert "has changed since you read it" in says(answer)
    assert "Open it again" in says(answer)
    assert not models.Review.objects.exists()


def test_own_entries_are_named_and_refused_where_another_must_read(batch):
    owner = batch.by
    client = signed_in(owner)
    recording.set_review_rule(batch.producer, by_other=True, by=owner, at=NOW)
    answer = page(client, "batch-review", "B07")
    assert "3 of the new entries are your own." in says(answer)
    refused = client.post(reverse("batch-review", args=["B07"]), hidden(answer))
    assert "nobody reviews entries of their own" in says(refused)


def test_owner_sets_who_reviews(batch):
    client = signed_in(batch.by)
    assert client.post(reverse("review-list"), {"by_other": "on"}).status_code == 302
    assert lookups.by_other(batch.producer)
    client.post(reverse("review-list"), {})
    assert not lookups.by_other(batch.producer)


def test_reviewer_cannot_set_who_reviews(client, batch):
    answer = client.post(reverse("review-list"), {"by_other": "on"})
    assert not models.ReviewRule.objects.exists()
    assert answer.status_code in {200, 403}


def test_maker_reads_but_has_nothing_to_sign_with(batch):
    maker = factories.MemberFactory(producer=batch.producer, role="maker")
    answer = page(signed_in(maker), "batch-review", "B07")
    assert "Owners and reviewers sign reviews." in says(answer)
    assert b'name="password"' not in answer.content


def test_week_of_checks_is_read_and_signed(client, batch):
    probe = factories.InstrumentFactory(producer=batch.producer, code="H1")
    factories.InstrumentCheckFactory(instrument=probe, by=batch.by)
    answer = page(client, "week-review", "2026-05-01")
    assert "H1, ice point: showed 32.2 °F for 32 °F" in says(answer)
    sent = client.post(reverse("week-review", args=["2026-04-27"]), hidden(answer))
    assert sent.status_code == 302
    assert models.Review.objects.get().week_of.isoformat() == "2026-04-27"


@pytest.mark.parametrize("day", ["2026-05-01", "yesterday", "2026-13-01"])
def test_week_without_a_record_is_not_there(client, day):
    assert client.get(reverse("week-review", args=[day])).status_code == 404


def test_pages_of_another_producer_are_not_there(batch):
    sent = report(batch)
    stranger = signed_in(
        factories.PremisesFactory().producer.members.first() or other()
    )
    for address in (
        reverse("batch-review", args=["B07"]),
        reverse("product-salt", args=[batch.product_id]),
        reverse("salt-chart", args=[batch.product_id]),
        reverse("lab-report", args=["B07", sent.pk]),
    ):
        assert stranger.get(address).status_code == 404
    assert stranger.post(reverse("lab-read", args=[sent.pk])).status_code == 404


def other():
    member = factories.MemberFactory()
    factories.PremisesFactory(producer=member.producer)
    return member


def test_unread_report_is_shown_and_read(batch, monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: START + 9 * DAY)
    result = report(batch, reported_at=START + 5 * DAY, when=START + 5 * DAY)
    client = signed_in(batch.by)
    for name in ("now", "laboratory"):
        assert "Unread for 4 days" in says(page(client, name))
    assert client.get(reverse("lab-read", args=[result.pk])).status_code == 302
    assert not models.LabRead.objects.exists()
    assert client.post(reverse("lab-read", args=[result.pk])).status_code == 302
    assert "It lay unread for 4 days" in says(page(client, "laboratory"))
    assert "Unread for" not in says(page(client, "now"))


def test_awaited_report_is_put_in(batch, monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: START + 20 * DAY)
    sent = report(batch, (), when=START)
    client = signed_in(batch.by)
    assert "No report for 20 days: ask the laboratory." in says(page(client, "now"))
    address = reverse("lab-report", args=["B07", sent.pk])
    shown = client.get(address).content.decode()
    fields = dict(re.findall(r'name="([a-z_]+)" value="([^"]*)"', shown))
    form = fields | {
        "reported_at": "2026-05-20T08:00",
        "piece_0_place": "A",
        "piece_0_salt": "2.61",
        "piece_0_moisture": "62.4",
    }
    assert client.post(address, form).status_code == 302
    newest = models.LabResult.objects.get(corrects=sent)
    assert newest.sampled_at == sent.sampled_at
    assert "Unread" in says(page(client, "laboratory"))


def test_salt_page_has_limit_bound_and_warnings_in_words(batch):
    pieces = (("1", "2.61", "62.4"), ("2", "2.55", "61.8"), ("3", "2.7", "63.1"))
    report(batch, pieces)
    text = says(page(signed_in(batch.by), "product-salt", batch.product_id))
    assert "At least 3.5 %." in text
    assert "It meets no limit" in text
    assert "95 % sure, 95 % of all such pieces hold at least 3.48 %" in text
    assert "that is below the limit of 3.5 %" in text
    assert "Only 3 pieces" in text


def test_product_without_results_has_a_page_and_no_chart(batch):
    client = signed_in(batch.by)
    assert "No result is on record." in says(
        page(client, "product-salt", batch.product_id)
    )
    chart = reverse("salt-chart", args=[batch.product_id])
    assert client.get(chart).status_code == 404
