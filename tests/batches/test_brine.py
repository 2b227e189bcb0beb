"""The brine of a batch: by weight and by salometer, and the fish lifted out in between."""

from decimal import Decimal
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from batches import auditing, judging, lookups, models, recording
from batches.errors import RecordError
from batches.forms.instants import MINUTE, wall
from batches.lookups.told import told_of
from reports.collect import Wish, batch_record
from tests import factories
from tests.factories import START, ZONE, at

pytestmark = pytest.mark.django_db

NOW = at(900)


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW)


@pytest.fixture
def batch():
    batch = factories.BatchFactory(code="B07")
    factories.StepMarkFactory(
        batch=batch, step="curing", edge="start", occurred_at=START
    )
    return batch


@pytest.fixture
def client(batch):
    client = Client()
    client.force_login(batch.by.user)
    return client


def mixed(batch, **more):
    told = {
        "water": "28.0",
        "salt": "5.26",
        "mass_unit": "kg",
        "salometer": "60",
        "temperature": "41",
        "temperature_unit": "degF",
        "occurred_at": START,
        "by": batch.by,
        "at": at(1),
    }
    return recording.mix_brine(batch, **told | more)


def lifted(batch, start, end, **more):
    told = {"by": batch.by, "at": at(800)} | more
    return recording.interrupt_soak(
        batch, occurred_at=at(start), back_at=at(end), **told
    )


def brine_of(batch, now=NOW):
    records = lookups.records_of(lookups.batch_of(batch.producer, batch.code))
    judged = judging.judge(records, judged_at=now)
    return auditing.parts_of(records, judged, told_of(records), now=now).brine


def refused(deed, *args, **kwargs):
    with pytest.raises(RecordError) as caught:
        deed(*args, **kwargs)
    return caught.value.field


def sent(**more):
    shown = wall(NOW, ZONE).strftime(MINUTE)
    return {
        "entry_id": str(uuid4()),
        "occurred_at": shown,
        "occurred_at_prefilled": shown,
    } | more


def test_checks_read_the_brine_by_weight(batch):
    assert brine_of(batch) is None
    mixed(batch)
    lifted(batch, 560, 568)
    brine = brine_of(batch)
    assert (brine.water_kg, brine.salt_kg) == (Decimal("28.0"), Decimal("5.26"))
    assert (brine.salometer, brine.brine_f) == (Decimal(60), Decimal(41))
    assert brine.lifted == ((at(560), at(568)),)
    assert brine_of(batch, at(0)) is None  # nothing was written down by then


def test_pounds_and_celsius_are_converted(batch):
    mixed(batch, mass_unit="lb", temperature="5", temperature_unit="degC")
    brine = brine_of(batch)
    # 1 lb = 0.45359237 kg (NIST Handbook 44, appendix C): 28 lb are 12.7006 kg.
    assert brine.water_kg == Decimal("12.701")
    assert brine.brine_f == Decimal(41)


def test_salometer_of_one_tank_of_several_stands_for_none(batch):
    mixed(batch)
    mixed(batch, salometer="40")
    brine = brine_of(batch)
    assert brine.water_kg == Decimal("56.0")
    assert (brine.salometer, brine.brine_f) == (None, None)


@pytest.mark.parametrize(
    ("told", "field"),
    [
        ({"salometer": "101"}, "salometer"),
        ({"water": "0"}, "water"),
        ({"salt": "-1"}, "salt"),
        ({"mass_unit": "stone"}, "mass_unit"),
        ({"temperature": "400"}, "temperature"),
        ({"occurred_at": at(60)}, "occurred_at"),
    ],
)
def test_brine_that_cannot_be_is_refused(batch, told, field):
    assert refused(mixed, batch, **told) == field


def test_fish_goes_back_after_it_was_lifted(batch):
    assert refused(lifted, batch, 60, 60) == "back_at"
    assert refused(lifted, batch, 60, 900) == "back_at"  # still to come


def test_retry_is_one_and_a_correction_counts_instead(batch):
    entry_id = uuid4()
    one = mixed(batch, entry_id=entry_id)
    assert mixed(batch, entry_id=entry_id) == one
    mixed(batch, salt="6.26", corrects=one, reason="Misread.")
    assert brine_of(batch).salt_kg == Decimal("6.26")
    assert models.BrineMix.objects.count() == 2


def test_forms_record_and_pages_show_it(client, batch):
    client.post(
        reverse("brine", args=["B07"]),
        sent(
            water="28.0",
            salt="5,26",
            mass_unit="kg",
            salometer="60",
            temperature="",
            temperature_unit="degF",
            paper_initials="",
        ),
    )
    row = models.BrineMix.objects.get()
    assert (row.salt, row.temperature, row.temperature_unit) == (
        Decimal("5.26"),
        None,
        "",
    )
    out, back = (wall(at(each), ZONE).strftime(MINUTE) for each in (560, 568))
    client.post(
        reverse("soak-break", args=["B07"]),
        sent(occurred_at=out, back_at=back, from_paper="on", paper_initials="TM"),
    )
    gone = models.SoakBreak.objects.get()
    assert (gone.back_at, gone.paper_initials) == (at(568), "TM")
    page = client.get(reverse("batch", args=["B07"])).content.decode()
    assert "5.26 kg salt in 28.0 kg water, salometer 60" in page
    assert "out of the brine for 8 min (from paper signed TM" in page
    read = client.get(reverse("batch-review", args=["B07"])).content.decode()
    assert "out of the brine for 8 min" in read
    record = batch_record(batch.producer, "B07", Wish(at=NOW))
    assert [row.text for row in record.said] == [str(row), str(gone)]


def test_row_is_taken_back_from_its_page(client, batch):
    row = mixed(batch)
    url = reverse("correct", args=["B07", "brine", row.pk])
    assert client.get(url).status_code == 200
    client.post(url, {"take_back": "1", "back-reason": "Another batch."})
    assert brine_of(batch) is None
    assert models.BrineMix.objects.count() == 2


def test_brine_copied_from_an_unsigned_sheet_is_found(batch):
    mixed(batch, paper_initials="")
    records = lookups.records_of(lookups.batch_of(batch.producer, "B07"))
    found = auditing.found_in(records, now=NOW).found
    assert "no-initials" in {each.check for each in found}
