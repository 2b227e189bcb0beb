"""The report of a deviation: every answer in it, bound to its content, escaped."""

import io
from dataclasses import replace

import pypdf
import pytest
from django.core.files.storage import default_storage
from django.urls import reverse

from batches import recording
from reports.collect import Wish, batch_record
from reports.deviation_collect import deviation_sheet
from reports.documents import deviation_pdf
from reports.html import deviation_html, record_html
from tests import factories
from tests.batches.test_deviation_views import signed_in
from tests.batches.test_deviations import answered, complete, decided, held, opened
from tests.batches.test_photos import picture
from tests.batches.test_recording import mark
from tests.batches.test_releases import TITLE, let_all_go, release
from tests.factories import PASSWORD, at

pytestmark = pytest.mark.django_db

SCRIPT = "<script>alert(1)</script>"
NO_PLAN = "No signed plan was in force."


@pytest.fixture
def batch():
    return factories.BatchFactory(code="B07")


def sheet_of(deviation, **told):
    told = {"paper": "", "at": at(300)} | told
    return deviation_sheet(deviation.producer, deviation.number, **told)


def record_of(batch):
    return batch_record(batch.producer, batch.code, Wish(at=at(300), paper="a4"))


def test_every_answer_is_on_the_sheet(batch):
    deviation = opened(batch)
    complete(deviation)
    sheet = sheet_of(deviation)
    assert [line.title for line in sheet.case.lines] == [
        "Opened",
        "Held",
        "Decided: destroy",
        "Hold lifted",
        "Decision carried out",
        "Cause found and put right",
    ]
    assert (sheet.subject, sheet.plan) == (f"Batch B07, {batch.product.name}", NO_PLAN)
    assert sheet.case.standing == "decided"
    assert sheet.case.lines[1].amount == "40 packages"


def test_number_of_the_report_is_bound_to_what_it_says(batch):
    deviation = opened(batch)
    first = sheet_of(deviation)
    assert sheet_of(deviation, at=at(400)).content_sha256 == first.content_sha256
    held(deviation)
    assert sheet_of(deviation).content_sha256 != first.content_sha256


def test_photo_is_carried_and_a_swapped_file_is_told(batch):
    response = answered(opened(batch), "evidence")
    photo = recording.add_photo(
        response, name="tray.png", data=picture("PNG"), by=batch.by, at=at(95)
    )
    (carried,) = sheet_of(response.deviation).pictures
    assert carried.value.startswith("data:image/jpeg;base64,")
    with default_storage.open(photo.content.name, "wb") as file:
        file.write(picture(size=(9, 9)))
    (carried,) = sheet_of(response.deviation).pictures
    assert (carried.value, "not the one stored" in carried.name) == ("", True)
    default_storage.delete(photo.content.name)
    assert sheet_of(response.deviation).pictures == ()


def test_pdf_says_the_same_as_the_page(batch):
    deviation = opened(batch)
    complete(deviation)
    content = deviation_pdf(sheet_of(deviation)).content
    pages = pypdf.PdfReader(io.BytesIO(content)).pages
    text = " ".join(" ".join(page.extract_text().split()) for page in pages)
    for words in ("DV-1", "Toxin cannot be excluded", "Fan unplugged", "40 packages"):
        assert words in text
    assert "decided by the inspector, the process authority" in text


def test_html_in_words_is_escaped_in_print(batch):
    deviation = opened(batch, words=SCRIPT, limit_words=SCRIPT)
    held(deviation, reason=SCRIPT, where=SCRIPT, tag=SCRIPT)
    answered(deviation, "evaluation", text=SCRIPT, done_by=SCRIPT)
    decided(
        deviation,
        "release",
        reason=SCRIPT,
        basis=SCRIPT,
        function=SCRIPT,
        qualification=SCRIPT,
    )
    for html in (deviation_html(sheet_of(deviation)), record_html(record_of(batch))):
        assert SCRIPT not in html
        assert "&lt;script&gt;" in html


def test_batch_record_says_holds_answers_and_rework(batch):
    deviation = opened(batch)
    held(deviation, packages=4)
    record = record_of(batch)
    assert record.holds[0].startswith("On hold since ")
    assert record.cases[0].is_held
    again = decided(deviation, "rework", packages=4)
    recording.start_rework(
        again, kg="0.80", started_at=at(120), code="B07R", by=batch.by, at=at(130)
    )
    assert record_of(batch).holds == ()
    assert "worked again as batch B07R (DV-1)" in record_of(batch).reworks[0]
    new = batch_record(batch.producer, "B07R", Wish(at=at(300)))
    assert "from batch B07" in new.summary


def test_missed_limit_is_taken_up_by_its_deviation(batch):
    mark(batch, "packing", minutes=50)
    recording.record_statement(
        batch,
        what="variance",
        complies=False,
        occurred_at=at(51),
        by=batch.by,
        at=at(51),
    )
    (before,) = record_of(batch).deviations
    assert before.answered == ""
    recording.open_due(batch, by=batch.by, at=at(60))
    (after,) = record_of(batch).deviations
    assert after == replace(before, answered="DV-1")
    assert "Taken up as DV-1" in record_html(record_of(batch))


def test_release_is_printed_with_what_was_judged_then(batch):
    mark(batch, "packing", minutes=50)
    mark(batch, "packing", "end", minutes=60)
    let_all_go(batch)
    row = release(batch, batch.by, at(110), PASSWORD)
    (printed,) = record_of(batch).releases
    assert printed.signed.startswith(TITLE)
    assert printed.batch_sha256 == row.findings.batch_sha256
    assert len(printed.findings) == row.findings.rows.count()
    taken_up = [one for one in printed.findings if one.status != "met" and one.answer]
    assert taken_up


def test_lot_has_a_report_too():
    by = factories.MemberFactory()
    factories.PremisesFactory(producer=by.producer)
    lot = factories.LotFactory(producer=by.producer, code="RL-07")
    hold = recording.hold(lot, reason="warm", kg="12.4", by=by, at=at(5))
    sheet = sheet_of(hold.deviation)
    assert (sheet.subject, sheet.plan) == ("Lot RL-07, coho salmon", NO_PLAN)
    assert signed_in(by).get(reverse("deviation", args=[1])).status_code == 200


def test_number_that_is_not_there_is_told():
    by = factories.MemberFactory()
    with pytest.raises(LookupError, match="DV-3"):
        deviation_sheet(by.producer, 3, paper="", at=at(0))
