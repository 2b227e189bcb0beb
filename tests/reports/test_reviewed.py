"""Reviews on the batch record, and the chart of a product's salt."""

import re
from datetime import timedelta

import pytest

from batches import recording
from batches.lookups import batch_of, records_of
from batches.lookups.reviews import batch_read
from reports.chart import curve
from reports.collect import NotOnRecord
from reports.documents import record_page
from reports.salt_collect import salt_sheet
from tests import factories
from tests.batches.test_laboratory import report
from tests.factories import PASSWORD, START, at
from tests.reports.smoking import a_smoking
from tests.reports.test_collect import pages_of, record_of

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)


@pytest.fixture
def smoking(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    return a_smoking()


def signed(smoking, when, **told):
    producer = smoking.member.producer
    batch = batch_of(producer, smoking.batch.code)
    return recording.sign_review(
        batch,
        seen_sha256=batch_read(records_of(batch)).sha256,
        password=PASSWORD,
        title="Tobin March, reviewer",
        by=factories.MemberFactory(producer=producer, role="reviewer", name="T. March"),
        at=when,
        **told,
    )


def test_record_without_review_says_so_on_paper(smoking):
    text = " ".join(pages_of(record_of(smoking)))
    assert "Nobody has read and signed this record yet." in text
    assert "not read by a reviewer yet" in text


def test_review_stands_on_paper_and_on_the_page(smoking):
    review = signed(smoking, START + 3 * DAY, note="Probe P2 is slow.")
    record = record_of(smoking, at=START + 4 * DAY)
    page = record_page(record, {}).content.decode()
    for text in (" ".join(pages_of(record)), page):
        assert "Tobin March, reviewer" in text
        assert "Probe P2 is slow." in text
        assert "due by" in text
        assert "LATE" not in text
    assert review.content_sha256 in page
    assert review.trail_head_sha256 in page
    assert "Reviewed by: name, training" not in page


def test_late_review_is_late_on_every_later_print(smoking):
    signed(smoking, START + 30 * DAY)
    for days in (31, 700):
        text = " ".join(pages_of(record_of(smoking, at=START + days * DAY)))
        assert re.search(r"\d+ days LATE", text)


def test_entry_after_the_review_leaves_room_to_sign_again(smoking):
    signed(smoking, START + 3 * DAY)
    factories.RemarkFactory(batch=smoking.batch, recorded_at=START + 5 * DAY)
    page = record_page(record_of(smoking, at=START + 6 * DAY), {}).content.decode()
    assert "1 entry is not read by a reviewer yet: due by 14 May 2026." in page
    assert "Reviewed by: name, training" in page


def salted(count):
    first = factories.BatchFactory(product__facts={})
    for n in range(count):
        batch = factories.BatchFactory(
            producer=first.producer, premises=first.premises, product=first.product
        )
        report(batch, (("A", f"{2.4 + n / 20:.2f}", "62.0"),), sampled_at=at(60 * n))
    return salt_sheet(first.producer, first.product_id, START + 40 * DAY)


def test_chart_has_the_limit_and_its_words():
    sheet = salted(3)
    drawn = curve(sheet)
    assert "limit 3.5 %" in drawn
    (bound,) = sheet.bounds
    assert (bound.value, bound.is_floor) == (3.5, True)
    assert "The limit is 3.5 %." in sheet.description
    assert sheet.marks == ()


def test_chart_of_many_batches_has_its_edges_too():
    drawn = curve(salted(8))
    for words in ("limit 3.5 %", "upper edge of the chart", "lower edge of the chart"):
        assert words in drawn


def test_chart_of_one_batch_is_drawn():
    assert "limit 3.5 %" in curve(salted(1))


def test_chart_of_another_producer_is_not_on_record():
    sheet_of = factories.BatchFactory()
    with pytest.raises(NotOnRecord):
        salt_sheet(factories.ProducerFactory(), sheet_of.product_id, START)
