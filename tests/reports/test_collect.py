"""The record of a batch that people wrote down: everything is on it, on four pages."""

import io
from datetime import timedelta

import pypdf
import pytest

from batches import recording
from batches.lookups import batch_of, records_of
from reports.collect import NotOnRecord, Wish, batch_record, curve_of, producer_called
from reports.documents import record_pdf
from tests.factories import ProducerFactory, at
from tests.reports.smoking import COOLING, a_producer, a_smoking

pytestmark = pytest.mark.django_db
LATER = at(60 * 24 * 2)


@pytest.fixture
def smoking(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    return a_smoking()


def record_of(smoking, at=LATER, **changes):
    return batch_record(
        smoking.member.producer, smoking.batch.code, Wish(at=at, **changes)
    )


def pages_of(record):
    pages = pypdf.PdfReader(io.BytesIO(record_pdf(record).content)).pages
    return [" ".join(page.extract_text().split()) for page in pages]


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_logged_batch_with_three_probes_fits_on_four_pages(smoking, paper):
    assert len(pages_of(record_of(smoking, paper=paper))) <= 4


def test_everything_on_record_is_on_paper(smoking):
    text = " ".join(pages_of(record_of(smoking)))
    for part in (
        *COOLING,
        "41.01",  # as mistyped
        "Read off the wrong dial",
        "late by 130 min",
        "RL-05",
        "Windle Bar Fishers (W-118)",
        "run7.csv",
        "Tidewrack Analytical, T-2044",
        "Door open for four minutes",
        "label keep refrigerated",
        "16 May 2026",
        "Ida Fenwarren, owner",
        "Made by",
        "Reviewed by",
        "A reading that was never made.",
        "A dip of the heat that begins and ends between two readings is not seen.",
        "Fish and Fishery Products Hazards and Controls Guidance",
    ):
        assert part in text, part


def test_status_of_every_finding_is_on_the_record(smoking):
    record = record_of(smoking)
    assert record.outcome == "missed"
    statuses = {(row.control_point, row.status) for row in record.findings}
    assert ("Heat", "met") in statuses
    assert ("Cool", "missed") in statuses
    assert [d.limit.startswith("Cool: from 135 °F") for d in record.deviations] == [
        True
    ]
    taken_up = {
        n for row in (*record.deviations, *record.open_points) for n in row.numbers
    }
    held = {
        row.number for row in record.findings if row.status in {"missed", "not shown"}
    }
    assert taken_up == held


def test_every_limit_has_its_publication(smoking):
    record = record_of(smoking)
    listed = {pair.name for pair in record.publications}
    cited = {
        row.source.split(",")[0]
        for row in (*record.limits, *record.comparison)
        if row.source != "rule of this record"
    }
    assert cited == listed
    assert {row.number for row in record.limits} == {
        row.number for row in record.findings
    }


def test_curves_show_every_place_and_the_governing_limits(smoking):
    heat, cool = record_of(smoking).curves
    assert [line.label for line in heat.lines] == ["P1", "P2", "P3"]
    assert [bound.value for bound in heat.bounds] == [145.0]
    assert not heat.bounds[0].is_whole
    assert [line.at_us.size for line in cool.lines] == [len(COOLING)]
    # The last reading at or above 135 °F was made 335 min after the start, at 13:35.
    assert [deadline.words for deadline in cool.deadlines] == [
        "70 °F by 15:35",
        "40 °F by 20:05",
    ]


def test_curve_uses_the_newest_value_and_the_unit_asked_for(smoking):
    cool = curve_of(
        smoking.member.producer, "B07", "cooling", Wish(at=LATER, unit="degC")
    )
    assert cool.unit == "°C"
    assert cool.lines[0].values.min() == pytest.approx((39.8 - 32) / 1.8)
    assert cool.lines[0].values[6] == pytest.approx((82.0 - 32) / 1.8)


def test_failed_check_after_the_batch_is_printed_with_its_error(smoking):
    failed = at(60 * 24)
    recording.record_check(
        smoking.probes["P2"],
        method="ice-point",
        shown="34.4",
        true="32",
        unit="degF",
        occurred_at=failed,
        by=smoking.member,
        at=failed + timedelta(minutes=1),
    )
    record = record_of(smoking)
    rows = [row for row in record.checks if row.instrument == "P2"]
    assert [row.verdict for row in rows] == ["accepted", "NOT accepted"]
    assert rows[-1].error == "+2.4 °F (+1.3 °C)"
    assert any("P2" in deviation.place for deviation in record.deviations)


@pytest.mark.parametrize(
    ("shown", "pressure", "verdict"),
    [
        ("212.3", "990", "accepted"),
        ("212.0", None, "NOT shown, so not accepted"),
        ("215.0", "990", "NOT accepted"),
    ],
)
def test_check_by_boiling_is_printed_with_all_that_its_error_may_be(
    smoking, shown, pressure, verdict
):
    boiled = at(60 * 24)
    recording.record_check(
        smoking.probes["P2"],
        method="boiling-point",
        shown=shown,
        pressure=pressure,
        unit="degF",
        occurred_at=boiled,
        by=smoking.member,
        at=boiled,
    )
    *_, row = [row for row in record_of(smoking).checks if row.instrument == "P2"]
    assert row.verdict == verdict
    assert " to " in row.true
    assert " to " in row.error


def test_only_checks_that_bear_on_the_batch_are_printed(smoking):
    rows = [row for row in record_of(smoking).checks if row.instrument == "P1"]
    assert [row.at for row in rows] == ["26 Apr 2026 08:00"]


def test_number_is_that_of_the_content_not_of_the_print(smoking):
    first = record_of(smoking)
    again = record_of(smoking, paper="a4", unit="degC", has_annex=True)
    assert again.content_sha256 == first.content_sha256
    recording.record_remark(
        smoking.batch,
        text="One more word.",
        occurred_at=LATER - timedelta(minutes=2),
        by=smoking.member,
        at=LATER - timedelta(minutes=1),
    )
    assert record_of(smoking).content_sha256 != first.content_sha256


def test_annex_lists_every_logged_value(smoking):
    (table,) = record_of(smoking, has_annex=True).annex
    assert table.places == ("P1", "P2", "P3")
    assert len(table.rows) == 31
    assert table.rows[0][0] == "2 May 08:00"
    assert table.rows[1][0] == "08:10"


def test_batch_of_another_producer_does_not_exist(smoking):
    stranger = a_producer("Other Smokehouse", "olga").producer
    for ask in (
        lambda: batch_record(stranger, "B07", Wish(at=LATER)),
        lambda: curve_of(stranger, "B07", "cooling", Wish(at=LATER)),
    ):
        with pytest.raises(NotOnRecord, match="no batch B07"):
            ask()


def test_curve_that_is_not_there_is_refused(smoking):
    with pytest.raises(NotOnRecord, match="no curve called drying"):
        curve_of(smoking.member.producer, "B07", "drying", Wish(at=LATER))


def test_batch_just_started_prints_that_nothing_is_shown(smoking):
    batch = recording.start_batch(
        smoking.member.producer,
        product=smoking.batch.product,
        premises=smoking.batch.premises,
        started_at=LATER,
        by=smoking.member,
        at=LATER,
    )
    record = batch_record(
        smoking.member.producer, batch.code, Wish(at=LATER + timedelta(minutes=5))
    )
    assert record.outcome == "not shown"
    assert record.curves == ()
    assert "no lot on record" in record.summary
    text = " ".join(pages_of(record))
    assert "No reading was typed." in text
    assert "No step is marked." in text


def test_queries_do_not_grow_with_the_readings(smoking, django_assert_max_num_queries):
    assert len(records_of(batch_of(smoking.member.producer, "B07")).readings.all) > 10
    # Own figure: what other records tell of a batch is read once, for checks and paper.
    with django_assert_max_num_queries(46):
        record_of(smoking)


def test_producer_is_named_where_there_are_several():
    with pytest.raises(NotOnRecord, match="none yet"):
        producer_called("")
    first = ProducerFactory()
    assert producer_called("") == first
    second = ProducerFactory()
    assert producer_called(second.slug) == second
    with pytest.raises(NotOnRecord, match=first.slug):
        producer_called("")
    with pytest.raises(NotOnRecord, match="no producer 'nobody'"):
        producer_called("nobody")
