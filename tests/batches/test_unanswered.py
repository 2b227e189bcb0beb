"""How far back unanswered findings are looked for: one rule, said on the screen."""

from datetime import timedelta

import pytest
from django.urls import reverse

from batches.unanswered import MOST, MOST_OLDER, RECENT, unanswered, unanswered_older
from tests import factories
from tests.batches.test_recording import mark
from tests.batches.test_views import signed_in
from tests.factories import START, at

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)


@pytest.fixture
def owner():
    member = factories.MemberFactory()
    factories.PremisesFactory(producer=member.producer)
    factories.ProductFactory(producer=member.producer)
    return member


def finished(owner, started_at=START, **told):
    """Make a batch that was packed without a single reading: much of it is not shown."""
    made = factories.BatchFactory(
        producer=owner.producer,
        premises=owner.producer.premises.get(),
        product=owner.producer.products.get(),
        by=owner,
        started_at=started_at,
        **told,
    )
    mark(made, "packing", minutes=50)
    mark(made, "packing", "end", minutes=60)
    return made


def codes(looked):
    return [batch.code for batch, _ in looked.found]


def test_now_and_deviations_show_the_same(owner, monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: at(200))
    finished(owner, code="NEW-1")
    finished(owner, START - RECENT - DAY, code="OLD-1")
    client = signed_in(owner)
    older = reverse("deviation-list") + "?older=1"
    for name in ("now", "deviation-list"):
        said = client.get(reverse(name)).text
        assert "NEW-1" in said
        assert "looked for in 1 batch, the newest begun since" in said
        assert "Look at 1 older batch" in said
        assert older in said
    assert "Open deviations of OLD-1" not in client.get(reverse("deviation-list")).text
    said = client.get(older).text
    assert "Open deviations of OLD-1" in said
    assert "Open deviations of NEW-1" not in said
    assert "?older=2" not in said


@pytest.mark.parametrize("page", ["0", "-1", "x", "²", "99999999999999999999"])
def test_page_that_is_none_is_the_newest(owner, monkeypatch, page):
    monkeypatch.setattr("django.utils.timezone.now", lambda: at(200))
    finished(owner, code="NEW-1")
    said = signed_in(owner).get(reverse("deviation-list"), {"older": page}).text
    assert "Open deviations of NEW-1" in said


def test_no_batch_is_looked_at_twice_and_none_is_left_out(owner):
    made = [
        finished(owner, START - day * DAY).code for day in range(MOST + MOST_OLDER + 3)
    ]
    looked = unanswered(owner.producer, at=at(200))
    assert (codes(looked), looked.older) == (made[:MOST], MOST_OLDER + 3)
    one = unanswered_older(owner.producer, at=at(200), page=1)
    assert (codes(one), one.older) == (made[MOST : MOST + MOST_OLDER], 3)
    two = unanswered_older(owner.producer, at=at(200), page=2)
    assert (codes(two), two.older) == (made[-3:], 0)
    three = unanswered_older(owner.producer, at=at(200), page=3)
    assert (codes(three), three.older) == ([], 0)


def test_batches_of_another_producer_are_not_counted(owner):
    factories.BatchFactory()
    looked = unanswered(owner.producer, at=at(200))
    assert (looked.found, looked.count, looked.older) == ((), 0, 0)
