"""Deviations by phone: held with one tap, answered, decided, closed, released."""

import re
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from batches import lookups, models, recording
from batches.forms.instants import MINUTE, wall
from tests import factories
from tests.batches.test_deviations import answered, decided, held, opened
from tests.batches.test_photos import bomb, picture
from tests.batches.test_recording import mark, read
from tests.batches.test_releases import let_all_go
from tests.factories import PASSWORD, ZONE, at

pytestmark = pytest.mark.django_db

NOW = at(200)
SCRIPT = "<script>alert(1)</script>"
CODE = "{{ request.user.password }}{% now 'Y' %}"


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW)


@pytest.fixture
def batch():
    return factories.BatchFactory(code="B07")


@pytest.fixture
def client(batch):
    return signed_in(batch.by)


@pytest.fixture
def deviation(batch):
    return opened(batch)


def signed_in(member):
    client = Client()
    client.force_login(member.user)
    return client


def form(**more):
    shown = wall(NOW, ZONE).strftime(MINUTE)
    return {
        "entry_id": str(uuid4()),
        "occurred_at": shown,
        "occurred_at_prefilled": shown,
        "done_by": "Ida Fenwarren",
    } | more


def page(client, name, *args):
    response = client.get(reverse(name, args=args))
    assert response.status_code == 200
    return response.content.decode()


def send(client, name, *args, **told):
    return client.post(reverse(name, args=args), told, follow=True).content.decode()


def says(html, *words):
    for each in words:
        assert each in html, each


class TestWholeCase:
    def test_from_the_tap_to_the_closing(self, client, batch):
        mark(batch)
        read(batch, "150", 10)
        says(page(client, "batch", "B07"), "Hold this batch now")
        html = send(client, "hold", "B07", tap="1", where="C1", entry_id=str(uuid4()))
        says(html, "is on hold", "Held", "C1", "Write the evaluation")
        says(page(client, "batch", "B07"), "on hold", "DV-1")
        says(page(client, "now"), "on hold", "Open DV-1")
        says(page(client, "batch-list"), "on hold")
        html = send(
            client,
            "deviation-answer",
            1,
            "containment",
            **form(text="Counted.", packages="4"),
        )
        says(html, "4 packages")
        html = send(
            client, "deviation-answer", 1, "evaluation", **form(text="Warm for long.")
        )
        says(html, "Decide what becomes of it")
        html = send(
            client,
            "deviation-decide",
            1,
            **form(
                kind="destroy",
                packages="4",
                reason="Too warm.",
                decided_by="Ida Fenwarren",
                function="owner",
            ),
        )
        says(html, "Decided: destroy", "Write the cause")
        assert not lookups.is_on_hold(batch)
        photo = SimpleUploadedFile("tray.jpg", picture(), "image/jpeg")
        html = send(
            client,
            "deviation-answer",
            1,
            "disposition",
            **form(text="Bleached.", photo=photo),
        )
        says(html, "Photo tray.jpg")
        send(client, "deviation-answer", 1, "cause", **form(text="Fan."))
        send(
            client,
            "deviation-answer",
            1,
            "prevention",
            **form(text="Lamp.", due_on="2026-06-01"),
        )
        html = send(
            client,
            "deviation-close",
            1,
            entry_id=str(uuid4()),
            text="Done.",
            is_foreseen="yes",
        )
        says(html, "DV-1 is closed", "closed")
        says(page(client, "deviation-list"), "None is open.", "closed")
        says(
            page(client, "deviation-html", 1),
            "Too warm.",
            "Bleached.",
            "data:image/jpeg",
        )
        says(page(client, "record-html", "B07"), "DV-1", "Decided: destroy")

    def test_entry_that_misses_a_limit_opens_at_once(self, client, batch):
        html = send(client, "statement", "B07", **form(what="variance", complies="no"))
        says(html, "Opened: DV-1")
        row = models.Deviation.objects.get(number=1)
        assert (row.control_point, row.status) == ("packing", "missed")
        assert row.detected_how == "found by the judgement of the record"

    def test_now_and_the_list_show_what_nobody_opened(self, client, batch):
        mark(batch, "packing", minutes=50)
        mark(batch, "packing", "end", minutes=60)
        assert not models.Deviation.objects.exists()
        says(page(client, "now"), "not answered yet")
        html = page(client, "deviation-list")
        says(html, "Not answered yet", "No reading of core temperature")
        html = send(client, "open-due", "B07")
        says(html, "Opened: DV-1")
        assert "not answered yet" not in page(client, "now")

    def test_one_decision_for_several(self, client, batch, deviation):
        second = opened(batch, control_point="cooling", limit_id="x")
        recording.hold(batch, reason="x", packages=4, by=batch.by, at=at(80))
        send(
            client,
            "deviation-decide",
            deviation.number,
            **form(
                kind="destroy",
                packages="4",
                reason="Too warm.",
                decided_by="Ida Fenwarren",
                function="owner",
                also=[str(second.number)],
            ),
        )
        assert all(lookups.state_of(one).is_decided for one in (deviation, second))
        assert not lookups.is_on_hold(batch)

    def test_rework_is_started_and_linked(self, client, batch, deviation):
        held(deviation)
        decided(deviation, "rework")
        html = send(
            client,
            "deviation-rework",
            1,
            **form(packages="40", kg="8.00", code="B07R", note="Again."),
        )
        says(html, "The new batch is started", "B07R")
        says(page(client, "batch", "B07R"), "Worked again from batch", "B07")
        says(page(client, "batch", "B07"), "Worked again as batch", "B07R")
        both = "Checks of the record of B07, from which it was worked again"
        says(page(client, "batch", "B07R"), "Checks of the record", both)
        says(page(client, "batch-review", "B07R"), both)
        assert both not in page(client, "batch", "B07")
        says(page(client, "record-html", "B07R"), "8.00", "from batch B07")
        says(page(client, "record-html", "B07"), "worked again as batch B07R")

    def test_options_are_shown_with_their_sources(self, client, deviation):
        html = page(client, "deviation", 1)
        says(html, "Chapter 13, corrective actions", "Our own suggestion", "123.7 (c)")


class TestRelease:
    def test_obstacles_are_listed_and_no_password_is_asked(self, client, batch):
        mark(batch, "packing", minutes=50)
        mark(batch, "packing", "end", minutes=60)
        html = page(client, "release", "B07")
        says(html, "cannot be released yet", "Heat is not shown")
        assert "password" not in html

    def test_signed_with_the_password(self, client, batch):
        mark(batch, "packing", minutes=50)
        mark(batch, "packing", "end", minutes=60)
        let_all_go(batch)
        shown = page(client, "release", "B07")
        says(shown, "I have read the record", "but not closed")
        (seen,) = re.findall('name="seen_sha256" value="([0-9a-f]{64})"', shown)
        told = {"title": "Ida Fenwarren, owner", "entry_id": str(uuid4())}
        told["seen_sha256"] = seen
        html = send(client, "release", "B07", **told, password="wrong")
        says(html, "This is not your password")
        html = send(client, "release", "B07", **told, password=PASSWORD)
        says(html, "B07 is released", "Released")
        record = page(client, "record-html", "B07")
        says(record, "Judged at signing", "SHA-256", "Ida Fenwarren, owner")
        assert models.Release.objects.count() == 1
        send(client, "release", "B07", **told, password=PASSWORD)
        assert models.Release.objects.count() == 1


class TestBadInput:
    def test_html_and_template_words_stay_words(self, client, batch, deviation):
        words = f"{SCRIPT}{CODE}"
        send(client, "deviation-answer", 1, "containment", **form(text=words))
        recording.hold(batch, reason=words, where=words, by=batch.by, at=NOW)
        opened(batch, limit_id="", control_point="", words=words, limit_words=words)
        for name, args in (
            ("deviation", [1]),
            ("deviation", [2]),
            ("deviation-list", []),
            ("deviation-answer", [2, "cause"]),
            ("deviation-decide", [2]),
            ("deviation-close", [2]),
            ("deviation-hold", [2]),
            ("deviation-open", ["B07"]),
            ("batch", ["B07"]),
            ("release", ["B07"]),
            ("now", []),
            ("deviation-html", [1]),
            ("deviation-html", [2]),
            ("record-html", ["B07"]),
        ):
            html = page(client, name, *args)
            assert SCRIPT not in html, name
            assert PASSWORD not in html
            if "request.user" in html:
                assert "{{ request.user.password }}" in html, name

    @pytest.mark.parametrize(
        ("data", "sentence"),
        [
            (b"<html></html>", "no picture that can be read"),
            (bomb(), "million points"),
        ],
    )
    def test_what_is_no_picture_is_refused_and_nothing_is_kept(
        self, client, deviation, data, sentence
    ):
        photo = SimpleUploadedFile("x.jpg", data, "image/jpeg")
        html = send(
            client,
            "deviation-answer",
            1,
            "evidence",
            **form(text="Photo.", photo=photo),
        )
        says(html, sentence)
        assert not models.Response.objects.exists()

    def test_refusal_stands_at_its_field(self, client, deviation):
        held(deviation)
        html = send(
            client,
            "deviation-decide",
            1,
            **form(
                kind="destroy",
                packages="41",
                reason="x",
                decided_by="x",
                function="owner",
            ),
        )
        says(html, "Only 40 packages still want a decision")

    @pytest.mark.parametrize("packages", ["-1", "many", "1e9", "0", "9" * 30])
    def test_amount_that_is_none_is_refused(self, client, deviation, packages):
        send(client, "deviation-hold", 1, **form(reason="x", packages=packages))
        assert not models.Hold.objects.exists()

    def test_unknown_answer_and_number_do_not_exist(self, client, deviation):
        assert client.get("/deviations/1/answer/closing/").status_code == 404
        assert client.get("/deviations/9/").status_code == 404
        assert client.get("/deviations/99999999999999999999/").status_code == 404
        assert client.get("/photos/1/").status_code == 404

    def test_form_sent_twice_makes_one_row(self, client, deviation):
        told = form(text="Counted.", packages="4")
        for _ in range(2):
            send(client, "deviation-answer", 1, "containment", **told)
        assert models.Response.objects.count() == 1

    def test_tap_sent_twice_holds_once(self, client, batch):
        told = {"tap": "1", "entry_id": str(uuid4())}
        for _ in range(2):
            send(client, "hold", "B07", **told)
        assert models.Hold.objects.count() == 1


class TestIsolation:
    @pytest.fixture
    def stranger(self):
        premises = factories.PremisesFactory()
        return signed_in(factories.MemberFactory(producer=premises.producer))

    def test_nothing_of_another_producer_exists(self, stranger, batch, deviation):
        response = answered(deviation, "evidence")
        photo = recording.add_photo(
            response, name="a", data=picture(), by=batch.by, at=at(95)
        )
        for name, args in (
            ("deviation", [1]),
            ("deviation-hold", [1]),
            ("deviation-answer", [1, "cause"]),
            ("deviation-decide", [1]),
            ("deviation-rework", [1]),
            ("deviation-close", [1]),
            ("deviation-html", [1]),
            ("deviation-pdf", [1]),
            ("photo", [photo.pk]),
            ("hold", ["B07"]),
            ("release", ["B07"]),
            ("deviation-open", ["B07"]),
        ):
            url = reverse(name, args=args)
            assert stranger.get(url).status_code == 404, name
            posted = stranger.post(url, form(text="x", reason="x"))
            assert posted.status_code in {404, 405}, name
        assert "DV-1" not in page(stranger, "deviation-list")

    def test_photo_is_sent_to_members_as_jpeg(self, client, batch, deviation):
        response = answered(deviation, "evidence")
        photo = recording.add_photo(
            response, name="a", data=picture("PNG"), by=batch.by, at=at(95)
        )
        sent = client.get(reverse("photo", args=[photo.pk]))
        assert sent["Content-Type"] == "image/jpeg"
        assert sent["X-Content-Type-Options"] == "nosniff"
        assert b"".join(sent.streaming_content).startswith(b"\xff\xd8")
        nobody = Client().get(reverse("photo", args=[photo.pk]))
        assert nobody.status_code == 302

    def test_inspector_reads_and_writes_nothing(self, batch, deviation):
        inspector = signed_in(
            factories.MemberFactory(producer=batch.producer, role="inspector")
        )
        html = page(inspector, "deviation", 1)
        assert "Add an answer" not in html
        posted = inspector.post(
            reverse("deviation-answer", args=[1, "cause"]), form(text="x")
        )
        assert posted.status_code == 403


def test_pages_ask_the_database_the_same_however_many_answers(client, batch, deviation):
    def counts():
        found = []
        for name, args in (("deviation", [1]), ("deviation-list", []), ("now", [])):
            with CaptureQueriesContext(
                connection,
            ) as queries:
                page(client, name, *args)
            found.append(len(queries))
        return found

    held(deviation)
    answered(deviation, "evaluation")
    decided(deviation, packages=1)
    counts()  # the first look of a session writes its time down
    few = counts()
    for number in range(12):
        answered(deviation, "evidence", text=f"Note {number}.")
        decided(deviation, packages=1)
        other = opened(batch, limit_id=f"x.{number}")
        answered(other, "containment")
    assert counts() == few
    assert max(few) <= 56  # Now looks at every kind of record
