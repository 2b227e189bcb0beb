"""A failed check contains the batches that it put in doubt, those only, and once."""

from datetime import datetime, timedelta
from uuid import uuid4

import pytest
from django.db import transaction
from django.test import Client, override_settings
from django.urls import reverse

from batches import lookups, recording
from batches.checking import is_failed
from batches.containing import wanted
from batches.demo.load import load_demo
from batches.errors import RecordError
from batches.lookback import touched, touched_batch
from batches.lookups.deviations import is_on_hold, state_of, states_of
from batches.models import Deviation, Hold, InstrumentCheck, Producer, Response
from tests import factories
from tests.factories import START, ZONE, at

pytestmark = pytest.mark.django_db

FAILED_AT = datetime(2025, 7, 28, 6, 40, tzinfo=ZONE)
SOON_AFTER = FAILED_AT + timedelta(hours=1)


@pytest.fixture
def by():
    place = factories.PremisesFactory()
    return factories.MemberFactory(producer=place.producer)


@pytest.fixture
def probe(by):
    return factories.InstrumentFactory(producer=by.producer, code="P1")


@pytest.fixture
def client(by):
    client = Client()
    client.force_login(by.user)
    return client


def batch_read(probe, by, code):
    made = factories.BatchFactory(
        producer=probe.producer,
        premises=probe.producer.premises.first(),
        by=by,
        code=code,
    )
    factories.ReadingFactory(batch=made, instrument=probe, occurred_at=at(20))
    return made


def check(probe, by, **told):
    told = {"method": "ice-point", "unit": "degF", "shown": "36", **told}
    return recording.record_check(
        probe, **{"occurred_at": at(500), "by": by, "at": at(900), **told}
    )


@pytest.fixture
def failed(probe, by):
    """Return a check that fails after a good one, with two batches between."""
    check(probe, by, shown="32", occurred_at=START - timedelta(days=1))
    batch_read(probe, by, "B1")
    batch_read(probe, by, "B2")
    return check(probe, by)


def counts():
    return Deviation.objects.count(), Hold.objects.count(), Response.objects.count()


def held_codes():
    return {hold.batch.code for hold in Hold.objects.select_related("batch")}


# ---------------------------------------------------------------- one batch


def test_batch_in_doubt_is_opened_and_held(failed, by):
    batch = lookups.batch_of(by.producer, "B1")
    done = recording.contain(failed, batch, by=by, at=at(901))
    states = states_of(Deviation.objects.filter(batch=batch))
    assert {state.deviation for state in states} == set(done.deviations)
    assert done.hold is not None
    assert done.hold.deviation == done.deviations[0]
    assert is_on_hold(batch)
    assert all(state.contained_at is not None for state in states)
    named = [state.deviation for state in states]
    assert "instrument-check" in {each.limit_id for each in named}
    assert {each.observed_at for each in named} == {failed.occurred_at}
    assert held_codes() == {"B1"}


def test_second_tap_opens_nothing_and_holds_nothing(failed, by):
    batch = lookups.batch_of(by.producer, "B1")
    first = recording.contain(failed, batch, by=by, at=at(901), entry_id=uuid4())
    before = counts()
    again = recording.contain(failed, batch, by=by, at=at(902), entry_id=uuid4())
    assert counts() == before
    assert (again.deviations, again.hold) == (first.deviations, None)


def test_same_form_sent_twice_is_one_act(failed, by):
    batch, entry = lookups.batch_of(by.producer, "B1"), uuid4()
    recording.contain(failed, batch, by=by, at=at(901), entry_id=entry)
    before = counts()
    recording.contain(failed, batch, by=by, at=at(902), entry_id=entry)
    assert counts() == before


def test_batch_on_hold_already_is_not_held_a_second_time(failed, by):
    batch = lookups.batch_of(by.producer, "B1")
    old = recording.hold(batch, reason="Smells of paint", by=by, at=at(901))
    done = recording.contain(failed, batch, by=by, at=at(902))
    assert done.hold is None
    assert list(Hold.objects.all()) == [old]
    for state in states_of(
        Deviation.objects.filter(pk__in=[d.pk for d in done.deviations])
    ):
        assert [each.kind for each in state.responses] == ["containment"]
        assert str(old.deviation) in state.responses[0].text


def test_what_was_decided_since_is_not_opened_again(failed, by):
    batch = lookups.batch_of(by.producer, "B1")
    done = recording.contain(failed, batch, by=by, at=at(901))
    for deviation in done.deviations:
        recording.respond(
            deviation, kind="containment", text="Weighed", kg="10", by=by, at=at(902)
        )
        recording.dispose(
            deviation,
            kind="destroy",
            kg="10",
            reason="Not worth a second look",
            decided_by=by.name,
            function="owner",
            decided_at=at(902),
            by=by,
            at=at(902),
        )
    assert not is_on_hold(batch)
    before = counts()
    assert recording.contain(failed, batch, by=by, at=at(903)).hold is None
    assert counts() == before


def test_batch_of_another_producer_is_refused(failed, by):
    other = factories.ReadingFactory(occurred_at=at(20)).batch
    before = counts()
    with pytest.raises(RecordError) as refused:
        recording.contain(failed, other, by=by, at=at(901))
    assert refused.value.code == "not-allowed"
    with pytest.raises(RecordError) as refused:
        recording.contain(failed, other, by=other.by, at=at(901))
    assert refused.value.code == "not-touched"
    assert counts() == before


def test_batch_read_with_another_instrument_is_refused(failed, by):
    probe = factories.InstrumentFactory(producer=by.producer, code="P9")
    with pytest.raises(RecordError) as refused:
        recording.contain(failed, batch_read(probe, by, "B9"), by=by, at=at(901))
    assert refused.value.code == "not-touched"
    assert "B9 was not read with P1" in refused.value.message


def test_good_check_contains_nothing(probe, by):
    check(probe, by, shown="32", occurred_at=START - timedelta(days=1))
    batch_read(probe, by, "B1")
    good = check(probe, by, shown="32")
    assert recording.contain_all(good, by=by, at=at(901)) == []
    assert counts() == (0, 0, 0)


def test_batch_in_doubt_without_a_change_gets_one_of_its_instrument(probe, by):
    batch = batch_read(probe, by, "B1")
    first = check(probe, by, occurred_at=at(10))
    second = check(probe, by, occurred_at=at(600))
    done = recording.contain(second, batch, by=by, at=at(901))
    (opened,) = done.deviations
    assert (opened.control_point, opened.place) == ("instrument-check", "P1")
    assert opened.observed_words
    assert is_on_hold(batch)
    before = counts()
    recording.contain(first, batch, by=by, at=at(902))
    assert Hold.objects.count() == before[1]


# ---------------------------------------------------------------- the page


def url_of(check):
    return reverse("check-touches", args=[check.instrument.code, check.pk])


def test_button_contains_one_batch_or_all(client, failed):
    url = url_of(failed)
    text = client.get(url).content.decode()
    assert "Contain B1" in text
    assert "Contain all that are in doubt" in text
    answer = client.post(url, {"entry_id": str(uuid4()), "batch": "B1"}, follow=True)
    text = answer.content.decode()
    assert "Contained: B1. Decide next" in text
    assert "Contain B1" not in text
    assert "Contain B2" in text
    assert held_codes() == {"B1"}
    answer = client.post(url, {"entry_id": str(uuid4()), "all": "all"}, follow=True)
    assert "Contained: B1, B2." in answer.content.decode()
    assert held_codes() == {"B1", "B2"}
    before = counts()
    client.post(url, {"entry_id": str(uuid4()), "all": "all"})
    assert counts() == before


def test_all_is_every_batch_and_not_one_page(client, failed, probe, by):
    for number in range(3, 14):
        batch_read(probe, by, f"B{number}")
    client.post(url_of(failed), {"entry_id": str(uuid4()), "all": "all"})
    assert held_codes() == {f"B{number}" for number in range(1, 14)}


@pytest.mark.parametrize(
    "sent", [{}, {"batch": "B99", "entry_id": str(uuid4())}, {"entry_id": "no"}]
)
def test_what_names_no_batch_is_told_and_writes_nothing(client, failed, sent):
    answer = client.post(url_of(failed), sent, follow=True)
    assert answer.status_code == 200
    text = answer.content.decode()
    assert "No batch is chosen" in text or "out of date" in text
    assert counts() == (0, 0, 0)


def test_batch_of_another_producer_is_not_found_by_its_code(client, failed):
    factories.BatchFactory(code="FOREIGN")
    answer = client.post(
        url_of(failed), {"entry_id": str(uuid4()), "batch": "FOREIGN"}, follow=True
    )
    assert "No batch is chosen" in answer.content.decode()
    assert counts() == (0, 0, 0)


# ---------------------------------------------------------------- the demo season


@pytest.fixture
def season(tmp_path):
    with override_settings(MEDIA_ROOT=tmp_path), transaction.atomic():
        yield Producer.objects.get(name=load_demo().name)


def test_demo_failed_check_contains_exactly_its_two_batches(season):
    (failed,) = [
        row
        for row in InstrumentCheck.objects.filter(
            instrument__producer=season, instrument__code="P2", occurred_at=FAILED_AT
        )
        if is_failed(row)
    ]
    wants = {}
    for batch in touched(failed):
        told = wanted(touched_batch(batch, failed, now=SOON_AFTER), failed)
        if told:
            wants[batch.code] = {(each.limit_id, each.status) for each in told}
    checked = ("instrument-check", "missed")
    heated = ("us-fda.hazards-guide.ch13.heating", "not shown")
    assert wants == {"B10": {checked}, "B11": {checked, heated}}
    before = counts()  # its story opened and held both that morning
    owner = season.members.get(role="owner")
    done = recording.contain_all(failed, by=owner, at=SOON_AFTER)
    assert {one.batch.code for one in done} == {"B10", "B11"}
    found = [one for each in done for one in each.deviations]
    assert all(state_of(one).contained_at is not None for one in found)
    assert counts() == before


def test_demo_food_that_is_gone_is_not_said_to_be_contained(season):
    owner = season.members.get(role="owner")
    failed = recording.record_check(
        season.instruments.get(code="P3"),
        method="ice-point",
        unit="degF",
        shown="35.2",
        occurred_at=datetime(2025, 7, 25, 6, 40, tzinfo=ZONE),
        by=owner,
        at=SOON_AFTER + timedelta(days=60),
    )
    client = Client()
    client.force_login(owner.user)
    text = client.get(url_of(failed)).content.decode()
    assert "Contain B10" in text
    assert "Contain B11" not in text  # all of it was worked again or destroyed
    assert "Decided already" in text
    answer = client.post(
        url_of(failed), {"entry_id": str(uuid4()), "all": "all"}, follow=True
    )
    text = answer.content.decode()
    assert "Contained: B10. Decide next" in text
    assert "Decided already: B11." in text
    assert "Contain all" not in text
    assert held_codes_open() == {"B10"}


def held_codes_open():
    return {hold.batch.code for hold in Hold.objects.filter(lifting=None)}
