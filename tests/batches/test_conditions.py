"""Which conditions of cleanliness a place looks at, and on which rounds of a day."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from batches import auditing, judging, lookups, models, recording
from batches.errors import RecordError
from batches.forms.instants import MINUTE, wall
from batches.logbook import CONDITION_BY_ID, CONDITIONS
from batches.logsheet import cells, titles
from batches.lookups.told import told_of
from tests import factories
from tests.factories import START, ZONE, at

pytestmark = pytest.mark.django_db

NOW = at(200)
DAY = timedelta(days=1)
TODAY = NOW.astimezone(ZONE).date()
GOOD = ("satisfactory", "")
OF_A_DAY = ("before", "during", "after")


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW)


@pytest.fixture
def batch():
    return factories.BatchFactory(code="B07")


@pytest.fixture
def premises(batch):
    return batch.premises


@pytest.fixture
def stall(batch):
    return factories.PremisesFactory(producer=batch.producer, name="Stall")


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
    return caught.value.code


def rounds(premises, day=TODAY):
    return lookups.conditions_asked(premises).rounds(day)


# ------------------------------------------------------------ set


def test_place_that_set_nothing_looks_three_times_a_day(premises):
    assert rounds(premises) == OF_A_DAY
    asked = lookups.conditions_asked(premises)
    assert asked.conditions("before", TODAY) == CONDITIONS
    assert asked.conditions("start", TODAY) == ()


def test_place_sets_a_round_of_its_own_from_a_day_on(batch, premises, stall):
    moments = ["before", "start", "during", "after", "month"]
    recording.time_condition(
        premises, condition="contact-surfaces", moments=moments, **said(batch)
    )
    assert rounds(premises) == ("before", "start", "during", "after")
    assert rounds(premises, TODAY - DAY) == OF_A_DAY
    assert rounds(stall) == OF_A_DAY


def test_last_setting_holds_and_one_taken_back_does_not(batch, premises):
    water = CONDITION_BY_ID["water"]
    told = {"condition": "water", "why": "Bottled."}
    recording.time_condition(premises, moments=["month"], **told, **said(batch))
    later = said(batch, occurred_at=at(1), at=at(2))
    two = recording.time_condition(premises, moments=["after"], **told, **later)
    asked = lookups.conditions_asked(premises)
    assert asked.moments_of(water, TODAY) == ("after",)
    recording.take_back(two, reason="A slip.", by=batch.by, at=at(3))
    asked = lookups.conditions_asked(premises)
    assert asked.moments_of(water, TODAY) == ("month",)


def test_looking_less_often_needs_a_reason(batch, premises):
    told = {"condition": "pests", "moments": ["before"]}
    assert refused(
        recording.time_condition, premises, **told, **said(batch)
    ) == refused(recording.hide_condition, premises, condition="pests", why="",
                 **said(batch))  # fmt: skip
    recording.time_condition(premises, **told, why="No door.", **said(batch))
    assert models.ConditionTiming.objects.get().why == "No door."


@pytest.mark.parametrize("moments", [[], ["before", "noon"]])
def test_setting_without_a_round_or_with_an_unknown_one_is_refused(
    batch, premises, moments
):
    code = refused(
        recording.time_condition,
        premises,
        condition="water",
        moments=moments,
        **said(batch),
    )
    assert code == "no-moment"


# ------------------------------------------------------------ forms


def test_form_of_the_place_asks_what_that_place_set(client, batch, premises, stall):
    recording.hide_condition(stall, condition="pests", why="Open beach.", **said(batch))
    add = reverse("log-add", args=["sanitation"])
    here = client.get(f"{add}?moment=before&premises={premises.pk}").content.decode()
    there = client.get(f"{add}?moment=before&premises={stall.pk}").content.decode()
    assert "found_pests" in here
    assert "found_pests" not in there
    assert "found_water" in there
    client.post(
        f"{add}?moment=before&premises={stall.pk}",
        sent(moment="before", found_water="satisfactory"),
    )
    row = models.SanitationRound.objects.get()
    assert row.premises == stall
    assert "pests" not in row.asked


def test_page_sets_the_rounds_of_one_place(client, premises, stall):
    url = reverse("condition-time", args=["water"])
    client.post(f"{url}?premises={stall.pk}", sent(moments=["before", "after"], why=""))
    assert not models.ConditionTiming.objects.exists()  # the month is left out unsaid
    client.post(
        f"{url}?premises={stall.pk}",
        sent(moments=["before", "after"], why="Water from a can."),
    )
    row = models.ConditionTiming.objects.get()
    assert (row.premises, row.moments) == (stall, ["before", "after"])
    page = client.get(reverse("conditions")).content.decode()
    assert "Before work, after work" in page
    assert "Water from a can." in page
    assert client.get(reverse("condition-time", args=["fire"])).status_code == 404


def test_round_of_the_month_is_open_until_it_is_made(client, batch, premises):
    assert lookups.is_month_open(premises, now=NOW)
    assert "month’s round is open" in client.get(reverse("logbook")).content.decode()
    add = reverse("log-add", args=["sanitation"])
    page = client.get(f"{add}?moment=month").content.decode()
    assert CONDITION_BY_ID["pests"].month in page
    assert "found_health" not in page
    recording.record_sanitation(
        premises, moment="month", answers={"pests": GOOD}, **said(batch)
    )
    assert not lookups.is_month_open(premises, now=NOW)
    assert lookups.is_month_open(premises, now=NOW + 40 * DAY)
    assert rounds(premises) == OF_A_DAY  # and it is no round of a day


# ------------------------------------------------------------ kept and checked


def test_round_keeps_what_was_asked_of_it(batch, premises):
    row = recording.record_sanitation(
        premises, moment="before", answers={"water": GOOD}, **said(batch)
    )
    recording.hide_condition(premises, condition="pests", why="x", **said(batch))
    told = dict(zip(titles("sanitation"), cells("sanitation", row, ()), strict=True))
    assert told["8 Pests"] == "–"  # it was to be looked at when the round was made
    assert set(row.asked) == set(CONDITION_BY_ID)


def cleaning(batch, now):
    records = lookups.records_of(lookups.batch_of(batch.producer, batch.code))
    judged = judging.judge(records, judged_at=now)
    parts = auditing.parts_of(records, judged, told_of(records), now=now)
    return parts.cleaning


def test_day_is_held_to_the_rounds_that_the_place_set(batch, premises):
    factories.StepMarkFactory(
        batch=batch, step="heating", edge="start", occurred_at=START
    )
    for moment in OF_A_DAY:
        recording.record_sanitation(
            premises, moment=moment, answers={"contact-surfaces": GOOD}, **said(batch)
        )
    (day,) = cleaning(batch, NOW + DAY)
    assert day.asked == ("before work", "during work", "after work")
    recording.time_condition(
        premises,
        condition="contact-surfaces",
        moments=["before", "start", "during", "after", "month"],
        **said(batch),
    )
    (day,) = cleaning(batch, NOW + DAY)
    assert "at the start of work" in day.asked
    assert "at the start of work" not in {each.moment for each in day.rounds}


def test_round_of_the_month_stands_for_no_round_of_a_day(batch, premises):
    factories.StepMarkFactory(
        batch=batch, step="heating", edge="start", occurred_at=START
    )
    recording.record_sanitation(
        premises, moment="month", answers={"pests": GOOD}, **said(batch)
    )
    assert cleaning(batch, NOW + DAY) is None
