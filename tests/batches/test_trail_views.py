"""The page of the trail: who may read it, what it shows, and the check on demand."""

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse

from batches import models, recording
from batches.recording import rows
from tests import factories
from tests.batches.firm import open_firm, read
from tests.factories import PASSWORD, at
from tests.lowered import lower

pytestmark = pytest.mark.django_db


@pytest.fixture
def kept():
    return open_firm(readings=30)


def client_of(kept, role="owner"):
    member = kept.owner
    if role != "owner":
        member = factories.MemberFactory(producer=kept.producer, role=role)
    client = Client()
    client.force_login(member.user)
    return client


def text_of(response):
    return response.content.decode()


@pytest.mark.parametrize(
    ("role", "status"),
    [("owner", 200), ("reviewer", 200), ("inspector", 200), ("maker", 403)],
)
@pytest.mark.parametrize("name", ["trail", "trail-verified"])
def test_trail_is_read_by_those_who_answer_for_the_record(kept, role, status, name):
    assert client_of(kept, role).get(reverse(name)).status_code == status


@pytest.mark.parametrize("name", ["trail", "trail-verified"])
def test_stranger_is_asked_to_sign_in(kept, name):
    assert Client().get(reverse(name)).status_code == 302


def test_newest_act_comes_first_and_older_ones_on_further_pages(kept):
    client = client_of(kept)
    first = client.get(reverse("trail")).context["page"]
    assert [e.number for e in first][:2] == [
        first.paginator.count,
        first.paginator.count - 1,
    ]
    last = client.get(reverse("trail"), {"page": first.paginator.num_pages})
    assert [e.act for e in last.context["page"]][-1] == "producer.opened"


def test_trail_of_another_producer_is_not_shown(kept):
    other = open_firm(name="Elsewhere")
    read(other.batch, other.owner, 9, place="Secret fish")
    shown = text_of(client_of(kept).get(reverse("trail")))
    assert "Secret fish" not in shown


def test_trail_is_narrowed_by_act_kind_and_person(kept):
    client = client_of(kept)
    wanted = {
        "act": "lot.received",
        "subject": "batches.Lot",
        "person": "Ida Fenwarren",
    }
    page = client.get(reverse("trail"), wanted).context["page"]
    assert [event.words for event in page] == ["L1"]
    unknown = client.get(reverse("trail"), {"act": "lot.eaten"})
    assert "does not occur in this trail" in text_of(unknown)


def test_change_is_shown_with_both_its_sides_in_wall_time(kept):
    rows.change(
        kept.instrument, act="instrument.changed", by=kept.owner, at=at(40), name="Oven"
    )
    shown = text_of(client_of(kept).get(reverse("trail")))
    assert "before: nothing<br>after: Oven" in shown
    assert "check every days" not in shown.split("instrument.changed")[1][:900]
    assert "2026-05-02 08:00:00" in shown  # in Detroit, not in Greenwich


def test_answer_about_a_product_is_shown_by_itself(kept):
    recording.answer_questions(
        kept.product, facts={"eviscerated": "yes"}, by=kept.owner, at=at(40)
    )
    recording.answer_questions(
        kept.product, facts={"nitrite-added": "no"}, by=kept.owner, at=at(41)
    )
    page = client_of(kept).get(reverse("trail"))
    _, _, said = page.context["rows"][0]
    assert [(each.name, each.before, each.after) for each in said] == [
        ("facts: nitrite-added", "nothing", "no")
    ]


def test_words_of_people_are_shown_as_words(kept):
    rows.change(
        kept.instrument,
        act="instrument.changed",
        by=kept.owner,
        at=at(40),
        name="<b>Oven</b>",
    )
    assert "&lt;b&gt;Oven" in text_of(client_of(kept).get(reverse("trail")))


def test_signing_in_is_an_act(kept):
    client = Client()
    client.post(
        reverse("sign-in"),
        {"username": kept.owner.user.username, "password": PASSWORD},
    )
    assert kept.producer.trail.order_by("number").last().act == "member.signed-in"


def test_check_says_that_all_is_as_written_or_names_what_is_not(kept):
    client = client_of(kept)
    assert "as it was written" in text_of(client.get(reverse("trail-verified")))
    lower(connection)
    with connection.cursor() as cursor:
        cursor.execute("UPDATE batches_lot SET mass_kg = '99'")
    shown = text_of(client.get(reverse("trail-verified")))
    assert "1 thing does not fit" in shown
    assert "batches.Lot" in shown
    assert models.Lot.objects.get().mass_kg == 99


def test_page_takes_as_many_queries_for_many_acts_as_for_few(
    kept, django_assert_max_num_queries
):
    client = client_of(kept)
    with django_assert_max_num_queries(12):
        client.get(reverse("trail"))
