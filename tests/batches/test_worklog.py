"""Tests, gauges, changes and food taken back: what they ask for, refuse and print."""

from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from batches import auditing, judging, lookups, models, recording
from batches.errors import RecordError
from batches.forms.instants import MINUTE, wall
from batches.logsheet import COLUMNS, cells, titles
from batches.lookups.told import told_of
from tests import factories
from tests.batches.firm import open_firm
from tests.factories import START, ZONE, at

pytestmark = pytest.mark.django_db

NOW = at(200)


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


def refused(deed, *args, **kwargs):
    with pytest.raises(RecordError) as caught:
        deed(*args, **kwargs)
    return caught.value.field


def told(kind, row):
    return dict(zip(titles(kind), cells(kind, row, ()), strict=True))


SWAB = {"of": "surface", "place": "Drain", "sought": "Listeria", "samples": 5}
SCALE = {
    "kind": "scale",
    "gauge": "SC1",
    "standard": "2 kg weight",
    "true": "2000",
    "shown": "1998",
    "unit": "g",
}
EXERCISE = {
    "kind": "exercise",
    "why": "Spring.",
    "made": 47,
    "in_stock": 21,
    "delivered": 23,
    "used_up": 3,
}


def test_bad_result_says_what_was_done(batch):
    bad = SWAB | {"result": "bad"}
    field = refused(recording.record_test, batch.premises, **bad, **said(batch))
    assert field == "put_right"
    row = recording.record_test(
        batch.premises, **bad, put_right="Scrubbed, drawn again.", **said(batch)
    )
    assert told("tests", row)["What was done"] == "Scrubbed, drawn again."


def test_result_that_comes_later_corrects_the_entry(client, batch):
    row = recording.record_test(batch.premises, **SWAB, result="awaited", **said(batch))
    url = reverse("log-correct", args=["tests", row.pk])
    client.post(url, sent(**SWAB, result="good", reason="The report came."))
    (current,) = models.SampleTest.objects.current()
    assert (current.corrects, current.result) == (row, "good")


def test_gauge_that_is_off_says_what_was_done_and_is_due_again(client, batch):
    off = SCALE | {"is_right": False}
    field = refused(recording.check_gauge, batch.premises, **off, **said(batch))
    assert field == "put_right"
    client.post(
        reverse("log-add", args=["gauges"]),
        sent(**SCALE, is_right="yes", again_by="2026-06-01"),
    )
    row = models.GaugeCheck.objects.get()
    assert told("gauges", row)["It showed"] == "1998 g"
    due = lookups.next_due(batch.producer, "gauges")
    assert f"{due.due_on}" == "2026-06-01"


def test_change_that_cannot_matter_says_why(client, batch):
    change = {"subject": "people", "what": "A new hand at the rack.", "matters": "no"}
    field = refused(recording.record_change, batch.premises, **change, **said(batch))
    assert field == "why"
    url = reverse("log-add", args=["changes"])
    client.post(url, sent(**change, product="", why="Trained on the day before."))
    row = models.WorkChange.objects.get()
    assert told("changes", row)["Could matter"] == "No; Trained on the day before."


def test_exercise_counts_what_was_found(client, batch):
    row = recording.record_recall(
        batch.premises, batch=batch, **EXERCISE, **said(batch)
    )
    # (in stock + delivered + used) of made, in percent: 47 of 47.
    assert told("recalls", row)["Found"] == (
        "21 in stock + 23 delivered + 3 used up of 47 made: 100 %"
    )
    part = EXERCISE | {"used_up": None}
    row = recording.record_recall(batch.premises, batch=batch, **part, **said(batch))
    assert told("recalls", row)["Found"] == "21 in stock + 23 delivered of 47 made"


def test_recall_names_its_food_and_ends_after_it_began(batch):
    field = refused(recording.record_recall, batch.premises, **EXERCISE, **said(batch))
    assert field == "codes"
    field = refused(
        recording.record_recall,
        batch.premises,
        **EXERCISE,
        batch=batch,
        ended_at=at(-1),
        **said(batch),
    )
    assert field == "ended_at"


def test_recall_form_keeps_its_end_as_an_instant(client, batch):
    url = reverse("log-add", args=["recalls"])
    ended = wall(at(100), ZONE).strftime(MINUTE)
    begun = wall(at(60), ZONE).strftime(MINUTE)
    form = sent(occurred_at=begun, batch="B07", ended_at=ended, **EXERCISE)
    client.post(url, form)
    assert models.Recall.objects.get().ended_at == at(100)


def test_food_and_product_of_another_producer_are_refused(batch):
    other = factories.BatchFactory()
    field = refused(
        recording.record_recall, batch.premises, **EXERCISE, batch=other, **said(batch)
    )
    assert field == "batch"
    field = refused(
        recording.record_change,
        batch.premises,
        subject="people",
        what="w",
        matters="yes",
        product=other.product,
        **said(batch),
    )
    assert field == "product"


def test_rows_of_these_kinds_are_read_with_their_week(client, batch):
    recording.record_test(batch.premises, **SWAB, result="good", **said(batch))
    recording.check_gauge(batch.premises, **SCALE, is_right=True, **said(batch))
    recording.record_recall(batch.premises, batch=batch, **EXERCISE, **said(batch))
    week = lookups.reviews_due(batch.producer)
    kinds = {line.kind for each in week if each.batch is None for line in each.lines}
    assert {"tests", "gauges", "recalls"} <= kinds
    assert kinds <= set(COLUMNS) | {"check"}


# ------------------------------------------------------------ what the checks read


def parts(batch, now=NOW):
    records = lookups.records_of(lookups.batch_of(batch.producer, batch.code))
    judged = judging.judge(records, judged_at=now)
    return auditing.parts_of(records, judged, told_of(records), now=now)


def test_change_before_the_batch_that_nobody_thought_of_is_told(batch):
    change = {"subject": "formula", "what": "Less salt.", "matters": "yes"}
    assert parts(batch).changes is None  # nobody writes changes down here
    earlier = said(batch, occurred_at=at(-60))
    recording.record_change(batch.premises, **change, **earlier)
    recording.record_change(batch.premises, **change, **said(batch, occurred_at=at(1)))
    (told_now,) = parts(batch).changes
    assert told_now.what == "Recipe changed: Less salt"
    assert told_now.reassessed_at is None
    assert parts(batch, at(0)).changes == ()  # it was written down later


def test_change_of_another_product_or_without_weight_is_not_told(batch):
    earlier = said(batch, occurred_at=at(-60))
    recording.record_change(
        batch.premises, subject="people", what="w", matters="no", why="y", **earlier
    )
    other = factories.ProductFactory(producer=batch.producer)
    recording.record_change(
        batch.premises,
        subject="formula",
        what="w",
        matters="yes",
        product=other,
        **earlier,
    )
    assert parts(batch).changes == ()


def test_schedule_of_no_plan_is_neither_new_nor_old(batch):
    assert parts(batch).is_new_schedule is None
    assert parts(open_firm().batch).is_new_schedule is None
