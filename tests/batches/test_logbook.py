"""The records beside the batches: what they ask for, refuse, keep, and when they are due."""

import hashlib
from datetime import date, datetime, timedelta
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from batches import lookups, models, recording
from batches.errors import RecordError
from batches.forms.instants import MINUTE, wall
from batches.keeping import made
from batches.logbook import CONDITION_BY_ID, CONDITIONS, KINDS
from batches.logsheet import COLUMNS, cells, titles
from batches.models.append_only import AppendOnly
from batches.models.logbook import LogEntry
from tests import factories
from tests.factories import START, ZONE, at

pytestmark = pytest.mark.django_db

NOW = at(200)
TODAY = NOW.astimezone(ZONE).date()
GOOD = ("satisfactory", "")


@pytest.fixture(autouse=True)
def clock(monkeypatch, tmp_path, settings):
    """Stop the clock of the pages; keep files and noted backups to this test."""
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW)
    settings.BRINEWRIGHT_HOME = tmp_path
    settings.MEDIA_ROOT = tmp_path / "files"


@pytest.fixture
def batch():
    return factories.BatchFactory(code="B07")


@pytest.fixture
def premises(batch):
    return batch.premises


@pytest.fixture
def client(batch):
    return signed_in(batch.by)


def signed_in(member):
    client = Client()
    client.force_login(member.user)
    return client


def said(batch, **more):
    return {"occurred_at": START, "by": batch.by, "at": at(1)} | more


def sent(**more):
    shown = wall(NOW, ZONE).strftime(MINUTE)
    return {
        "entry_id": str(uuid4()),
        "occurred_at": shown,
        "occurred_at_prefilled": shown,
        "note": "",
    } | more


def refusal(deed, *args, **kwargs):
    with pytest.raises(RecordError) as caught:
        deed(*args, **kwargs)
    return caught.value


# ------------------------------------------------------------ what there is


def test_conditions_are_the_eight_of_the_rule():
    # 21 CFR 123.11(b)(1) to (8), as the figure us-cfr.21-123.sanitation counts them.
    assert len(CONDITIONS) == 8
    assert [each.section for each in CONDITIONS] == [
        f"123.11(b)({number})" for number in range(1, 9)
    ]
    moments = set(models.SanitationRound.Moment.values)
    for each in CONDITIONS:
        assert each.moments
        assert set(each.moments) <= moments
    for moment in moments - {"start"}:  # a round that a place may ask for itself
        assert any(moment in each.moments for each in CONDITIONS)


def test_every_kind_has_a_model_columns_and_an_act_of_its_own():
    assert set(KINDS) | {"follow-ups", "conditions", "timings"} == set(
        lookups.logbook.MODELS
    )
    assert set(COLUMNS) == set(lookups.logbook.MODELS)
    acts = [model.ACT for model in lookups.logbook.MODELS.values()]
    acts.append(models.SanitationAnswer.ACT)
    assert len(set(acts)) == len(acts)
    for model in lookups.logbook.MODELS.values():
        assert issubclass(model, LogEntry)
        assert issubclass(model, AppendOnly)


# ------------------------------------------------------------ sanitation


def test_round_keeps_each_answer_and_what_was_left_open(batch, premises):
    row = recording.record_sanitation(
        premises,
        moment="before",
        answers={
            "water": GOOD,
            "pests": ("not-satisfactory", "Trap set, hole closed."),
        },
        sanitizer="chlorine",
        sanitizer_ppm="100",
        **said(batch),
    )
    assert {each.condition: each.found for each in row.answers.all()} == {
        "water": "satisfactory",
        "pests": "not-satisfactory",
    }
    told = dict(zip(titles("sanitation"), cells("sanitation", row, ()), strict=True))
    assert (told["1 Water and ice"], told["8 Pests"]) == ("S", "U")
    assert told["2 What food touches"] == "–"
    assert told["Not right, and what was done"] == "Pests: Trap set, hole closed."
    assert told["Sanitizer"] == "chlorine 100 ppm"
    assert told["Signed"] == "Ida Fenwarren (IF)"


@pytest.mark.parametrize(
    ("answers", "code"),
    [
        ({}, "no-answer"),
        ({"water": ("not-satisfactory", "  ")}, "not-put-right"),
        ({"water": ("fine", "")}, "unknown-answer"),
        ({"fire": GOOD}, "unknown-condition"),
    ],
)
def test_round_that_says_too_little_is_refused_whole(batch, premises, answers, code):
    error = refusal(
        recording.record_sanitation,
        premises,
        moment="before",
        answers=answers,
        **said(batch),
    )
    assert error.code == code
    assert not models.SanitationRound.objects.exists()


def test_same_round_sent_twice_is_one_and_other_answers_are_refused(batch, premises):
    told = said(batch, entry_id=uuid4(), moment="before")
    one = recording.record_sanitation(premises, answers={"water": GOOD}, **told)
    two = recording.record_sanitation(premises, answers={"water": GOOD}, **told)
    assert one.pk == two.pk
    error = refusal(
        recording.record_sanitation, premises, answers={"pests": GOOD}, **told
    )
    assert error.code == "entry-id-used"
    assert models.SanitationAnswer.objects.count() == 1


def test_correction_of_a_round_keeps_both_versions(batch, premises):
    told = said(batch, moment="before")
    one = recording.record_sanitation(premises, answers={"water": GOOD}, **told)
    told |= {"corrects": one, "reason": "It was the ice."}
    bad = {"water": ("not-satisfactory", "Ice thrown out.")}
    two = recording.record_sanitation(premises, answers=bad, **told)
    assert list(models.SanitationRound.objects.current()) == [two]
    assert one.answers.get().found == "satisfactory"
    error = refusal(recording.record_sanitation, premises, answers=bad, **told)
    assert error.code == "already-corrected"


def test_hidden_condition_is_not_asked_and_its_reason_is_kept(client, batch, premises):
    url = reverse("condition-hide", args=["pests"])
    client.post(url, sent(why=""))
    assert not models.HiddenCondition.objects.exists()
    client.post(url, sent(why="The stall stands on the beach."))
    hidden = models.HiddenCondition.objects.get()
    page = client.get(reverse("log-add", args=["sanitation"]) + "?moment=before")
    assert "found_pests" not in page.content.decode()
    assert "found_water" in page.content.decode()
    error = refusal(
        recording.hide_condition, premises, condition="pests", why="x", **said(batch)
    )
    assert error.code == "already-hidden"
    back = reverse("log-correct", args=["conditions", hidden.pk])
    client.post(back, {"take_back": "1", "back-reason": "A shed was built."})
    assert lookups.hidden_conditions(premises) == {}
    assert models.HiddenCondition.objects.count() == 2


def test_sanitation_is_due_where_a_batch_runs_until_all_rounds_are_made(client, batch):
    assert (
        "open: before work, during work, after work"
        in client.get(reverse("now")).content.decode()
    )
    for moment in ("before", "during", "after"):
        recording.record_sanitation(
            batch.premises,
            moment=moment,
            answers={"contact-surfaces": GOOD},
            **said(batch),
        )
    page = client.get(reverse("now")).content.decode()
    assert "Sanitation, " not in page


def test_round_of_yesterday_is_not_one_of_today(batch):
    running = lookups.now_list(batch.producer, now=NOW.astimezone(ZONE)).running
    told = said(batch, occurred_at=START - timedelta(days=1))
    recording.record_sanitation(
        batch.premises, moment="before", answers={"water": GOOD}, **told
    )
    (today,) = lookups.sanitation_today(running, now=NOW)
    assert today.open == ("before", "during", "after")


def test_no_round_is_due_on_a_day_without_a_batch(batch):
    assert lookups.sanitation_today((), now=NOW) == []


# ------------------------------------------------------------ the other kinds


def test_ill_buyer_must_be_described_and_an_open_complaint_is_shown(client, batch):
    url = reverse("log-add", args=["complaints"])
    told = sent(what_it_was="Trout", said="Bitter.", ill="yes", batch="B07")
    assert "Somebody fell ill" in client.post(url, told).content.decode()
    assert not models.Complaint.objects.exists()
    client.post(url, told | {"illness": "Two of three, vomiting, four hours later."})
    complaint = models.Complaint.objects.get()
    assert (complaint.batch, complaint.ill) == (batch, "yes")
    assert "complaint open" in client.get(reverse("now")).content.decode()
    follow = reverse("log-follow", args=["complaints", complaint.pk])
    closing = sent(did="Sample sent.", state="closed", about_plan="")
    assert "before you close it" in client.post(follow, closing).content.decode()
    client.post(follow, closing | {"about_plan": "control-point"})
    assert "complaint open" not in client.get(reverse("now")).content.decode()
    client.post(follow, sent(did="They called again.", state="open", about_plan=""))
    assert "complaint open" in client.get(reverse("now")).content.decode()


def test_corrected_complaint_keeps_what_was_done_about_it(batch):
    told = {"what_it_was": "Trout", "said": "Bitter.", "ill": "no"} | said(batch)
    one = recording.record_complaint(batch.premises, **told)
    recording.follow_up(
        one, did="Looked.", state="closed", about_plan="none", **said(batch)
    )
    recording.record_complaint(
        batch.premises, **told | {"corrects": one, "reason": "It was char."}
    )
    assert lookups.open_entries(batch.producer) == []
    error = refusal(recording.follow_up, one, did="More.", state="open", **said(batch))
    assert error.code == "old"


def test_visit_is_open_only_where_something_is_owed(batch):
    told = {"agency": "State", "people": "Officer L."} | said(batch)
    recording.record_visit(batch.premises, **told)
    assert lookups.open_entries(batch.producer) == []
    owed = recording.record_visit(
        batch.premises, **told | {"answer_by": date(2026, 5, 20)}
    )
    (due,) = lookups.open_entries(batch.producer)
    assert (due.row, due.due_on) == (owed, date(2026, 5, 20))
    recording.follow_up(owed, did="Letter sent.", state="closed", **said(batch))
    assert lookups.open_entries(batch.producer) == []


@pytest.mark.parametrize(("ahead", "is_shown"), [(-1, True), (30, True), (31, False)])
def test_paper_is_shown_when_it_runs_out_soon(batch, ahead, is_shown):
    told = {"supplier": "Nets", "what": "letter"} | said(batch)
    recording.keep_document(
        batch.premises, valid_until=TODAY + timedelta(days=ahead), **told
    )
    due = lookups.due_entries(batch.producer, today=TODAY)
    assert bool(due) is is_shown
    later = TODAY + timedelta(days=400)
    recording.keep_document(batch.premises, valid_until=later, **told)
    assert lookups.due_entries(batch.producer, today=TODAY) == []
    assert lookups.next_due(batch.producer, "documents").due_on == later


def test_file_of_a_paper_is_kept_under_its_sum_and_given_back_to_be_saved(client):
    data = b"<script>alert(1)</script>"
    client.post(
        reverse("log-add", args=["documents"]),
        sent(supplier="Nets", what="letter", file=SimpleUploadedFile("a.html", data)),
    )
    row = models.SupplierDocument.objects.get()
    assert (row.name, row.size) == ("a.html", len(data))
    assert row.sha256 == hashlib.sha256(data).hexdigest()
    response = client.get(reverse("log-file", args=[row.pk]))
    assert response.getvalue() == data
    assert response["Content-Type"] == "application/octet-stream"
    assert response["Content-Disposition"] == 'attachment; filename="a.html"'
    assert response["X-Content-Type-Options"] == "nosniff"


def test_correcting_a_paper_without_a_new_file_keeps_the_old_one(client, batch):
    told = {"supplier": "Nets", "what": "letter"} | said(batch)
    one = recording.keep_document(batch.premises, file=("a.pdf", b"x"), **told)
    client.post(
        reverse("log-correct", args=["documents", one.pk]),
        sent(supplier="M. Nets", what="letter", reason="Name."),
    )
    two = models.SupplierDocument.objects.current().get()
    assert (two.supplier, two.sha256, two.corrects) == ("M. Nets", one.sha256, one)


def test_file_too_large_is_refused_in_a_sentence(client, settings):
    settings.BRINEWRIGHT_MAX_UPLOAD_MB = 1
    file = SimpleUploadedFile("big.pdf", b"x" * (1024 * 1024 + 1))
    page = client.post(
        reverse("log-add", args=["documents"]), sent(supplier="N", what="l", file=file)
    )
    assert "at most 1 MB" in page.content.decode()
    assert not models.SupplierDocument.objects.exists()


def test_rejected_lot_says_why_and_cannot_be_used(client, batch):
    lot = factories.LotFactory(producer=batch.producer, code="RL-07")
    url = reverse("log-add", args=["receiving"])
    told = sent(
        lot="RL-07",
        condition="iced",
        temperature="46.2",
        unit="degF",
        papers="",
        decision="rejected",
    )
    client.post(url, told)
    assert not models.ReceivingCheck.objects.exists()
    client.post(url, told | {"note": "Ice melted."})
    check = models.ReceivingCheck.objects.get()
    assert str(check.temperature) == "46.2"
    error = refusal(
        recording.start_batch,
        batch.producer,
        product=batch.product,
        premises=batch.premises,
        lots=[(lot, "2")],
        started_at=START,
        by=batch.by,
        at=at(1),
    )
    assert error.code == "lot-rejected"
    error = refusal(
        recording.check_lot,
        batch.premises,
        lot=lot,
        condition="iced",
        decision="accepted",
        **said(batch),
    )
    assert error.code == "already-checked"


def test_lot_whose_temperature_nobody_took_says_so(batch):
    lot = factories.LotFactory(producer=batch.producer)
    row = recording.check_lot(
        batch.premises, lot=lot, condition="iced", decision="accepted", **said(batch)
    )
    told = dict(zip(titles("receiving"), cells("receiving", row, ()), strict=True))
    assert told["Temperature"] == "not measured"


def test_entry_written_down_later_is_marked_late(client, batch):
    told = {"equipment": "Cooler", "did": "Oiled."}
    row = recording.record_maintenance(
        batch.premises, **told, **said(batch, at=at(120))
    )
    assert row.is_late
    page = client.get(reverse("log-list", args=["maintenance"])).content.decode()
    assert "late" in page


def test_entry_of_tomorrow_is_refused(batch):
    told = said(batch, occurred_at=at(24 * 60))
    error = refusal(
        recording.record_training, batch.premises, person="I", course="c", **told
    )
    assert error.code == "future"


def test_inspector_reads_the_logbook_but_adds_nothing(batch):
    inspector = factories.MemberFactory(producer=batch.producer, role="inspector")
    client = signed_in(inspector)
    assert client.get(reverse("logbook")).status_code == 200
    url = reverse("log-add", args=["training"])
    assert client.post(url, sent(person="I", course="c")).status_code == 403
    error = refusal(
        recording.record_training,
        batch.premises,
        person="I",
        course="c",
        **said(batch, by=inspector),
    )
    assert error.code == "not-allowed"


# ------------------------------------------------------------ pages


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_list_form_and_sheet_of_each_kind_open(client, kind):
    assert client.get(reverse("log-list", args=[kind])).status_code == 200
    assert client.get(reverse("log-add", args=[kind])).status_code == 200
    assert client.get(reverse("log-sheet", args=[kind])).status_code == 200


@pytest.mark.parametrize("name", ["log-list", "log-add", "log-sheet", "log-pdf"])
def test_unknown_kind_is_not_found(client, name):
    assert client.get(reverse(name, args=["spells"])).status_code == 404


def test_double_tap_makes_one_entry(client, monkeypatch):
    told = sent(person="Tobin", course="Reviewing")
    url = reverse("log-add", args=["training"])
    client.post(url, told)
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW + timedelta(seconds=2))
    assert client.post(url, told).status_code == 302
    assert models.TrainingRecord.objects.count() == 1


def test_entries_of_another_producer_are_not_there(client):
    other = factories.BatchFactory()
    row = recording.keep_document(
        other.premises, supplier="S", what="w", file=("a", b"b"), **said(other)
    )
    for name, args in (
        ("log-correct", ["documents", row.pk]),
        ("log-file", [row.pk]),
        ("log-follow", ["visits", row.pk]),
    ):
        assert client.get(reverse(name, args=args)).status_code == 404
    page = client.get(reverse("log-list", args=["documents"])).content.decode()
    assert "None yet" in page


def test_corrected_entry_stays_struck_through_and_can_be_taken_back(client, batch):
    one = recording.record_training(
        batch.premises, person="Tobin", course="Reviewing", **said(batch)
    )
    url = reverse("log-correct", args=["training", one.pk])
    client.post(url, sent(person="Tobin", course="Salting", reason="Wrong evening."))
    two = models.TrainingRecord.objects.current().get()
    page = client.get(reverse("log-list", args=["training"])).content.decode()
    assert "struck" in page
    assert "Correction: Wrong evening." in page
    back = reverse("log-correct", args=["training", two.pk])
    client.post(back, {"take_back": "1", "back-reason": "Nobody came."})
    assert not models.TrainingRecord.objects.current().exists()
    assert models.TrainingRecord.objects.count() == 3


def test_sheet_holds_the_period_and_what_was_struck(client, batch):
    for days in (0, 1, 2):
        recording.record_training(
            batch.premises,
            person=f"Person {days}",
            course="c",
            **said(batch, occurred_at=START - timedelta(days=days)),
        )
    day = (START - timedelta(days=1)).date().isoformat()
    url = reverse("log-sheet", args=["training"])
    page = client.get(f"{url}?from={day}&until={day}").content.decode()
    assert "Person 1" in page
    assert "Person 0" not in page
    assert "Person 2" not in page
    assert batch.producer.name in page
    assert batch.premises.address in page


def test_sheet_as_pdf(client, batch):
    recording.record_training(batch.premises, person="Tobin", course="c", **said(batch))
    response = client.get(reverse("log-pdf", args=["training"]) + "?paper=a4")
    assert response.content.startswith(b"%PDF-")


# ------------------------------------------------------------ how long, and backups


@pytest.mark.parametrize(
    ("storage", "process", "years"),
    [
        # 21 CFR 123.9(b): one year refrigerated, two years frozen or preserved
        ("refrigerated", "hot-smoked", 1),
        ("frozen", "hot-smoked", 2),
        ("", "hot-smoked", 2),
        ("refrigerated", "dried", 2),
        ("refrigerated", "", 2),
    ],
)
def test_doubt_keeps_records_longer(batch, storage, process, years):
    models.Product.objects.filter(pk=batch.product.pk).update(
        storage=storage, process=process
    )
    found, cited = lookups.years_kept(batch.producer)
    assert found == years
    assert "123.9(b)" in cited or "21 CFR Part 123" in cited


def test_day_until_which_a_record_is_kept():
    noon = datetime(2024, 2, 29, 12, tzinfo=ZONE)
    assert lookups.keep_until(noon, 1) == date(2025, 3, 1)
    assert lookups.keep_until(noon + timedelta(days=1), 2) == date(2026, 3, 1)


def test_owner_is_reminded_of_a_backup_and_others_are_not(client, batch, tmp_path):
    assert "none was made yet" in client.get(reverse("now")).content.decode()
    maker = signed_in(factories.MemberFactory(producer=batch.producer, role="maker"))
    assert "none was made yet" not in maker.get(reverse("now")).content.decode()
    line = f'{{"made_at": "{NOW.isoformat()}", "name": "b", "rows": 1, "files": 0}}\n'
    (tmp_path / made.NAME).write_text(line)
    assert reverse("keeping") not in client.get(reverse("now")).content.decode()


def test_condition_titles_are_known_to_the_sheet():
    assert {title for title, _ in COLUMNS["sanitation"]} >= {
        f"{number} {each.title}" for number, each in enumerate(CONDITIONS, start=1)
    }
    assert set(CONDITION_BY_ID) == {each.id for each in CONDITIONS}
