"""People: added, changed, ended; first passwords, the own page, the last owner."""

import pytest
from django.test import Client
from django.urls import reverse

from batches import models, recording
from batches.errors import RecordError
from tests import factories
from tests.factories import PASSWORD, START, at

pytestmark = pytest.mark.django_db

NEW = "alder, apple and oak"
SOMEBODY = {
    "name": "Una Sorrel",
    "initials": "US",
    "role": "maker",
    "temperature_unit": "degC",
    "username": "una",
    "password": "the first of many",
}


@pytest.fixture
def owner():
    premises = factories.PremisesFactory()
    return factories.MemberFactory(producer=premises.producer)


@pytest.fixture
def maker(owner):
    return factories.MemberFactory(
        producer=owner.producer, role="maker", name="Una Sorrel", initials="US"
    )


def signed_in(member):
    client = Client()
    client.force_login(member.user)
    return client


def enter(username, password):
    client = Client()
    answer = client.post(
        reverse("sign-in"), {"username": username, "password": password}
    )
    return client, answer


def refused(code):
    return pytest.raises(RecordError, check=lambda error: error.code == code)


def test_somebody_added_must_choose_a_password_before_anything_else(owner):
    answer = signed_in(owner).post(reverse("person-add"), SOMEBODY, follow=True)
    assert "Una Sorrel is added and signs in as una" in answer.text
    client, answer = enter("una", SOMEBODY["password"])
    assert answer.status_code == 302
    for name in ("now", "batch-list", "me", "second-step"):
        assert client.get(reverse(name)).url == reverse("me-password")
    assert client.post(reverse("lot-receive"), {}).url == reverse("me-password")
    changed = {"password": SOMEBODY["password"], "new": NEW}
    answer = client.post(reverse("me-password"), changed, follow=True)
    assert "Your password is changed" in answer.text
    assert client.get(reverse("now")).status_code == 200
    assert not models.Member.objects.get(name="Una Sorrel").must_change_password
    assert enter("una", SOMEBODY["password"])[1].status_code == 200
    assert enter("una", NEW)[1].status_code == 302


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"password": "short"}, "too short"),
        ({"role": "boss"}, "boss is not one of the available choices"),
        ({"name": " "}, "Name: nothing was typed"),
        ({"username": "PERSON"}, "taken"),
    ],
)
def test_what_does_not_fit_is_said_at_its_field(owner, wrong, says):
    factories.UserFactory(username="person")
    answer = signed_in(owner).post(reverse("person-add"), SOMEBODY | wrong)
    assert answer.status_code == 200
    assert says in answer.text
    assert models.Member.objects.count() == 1


def test_a_change_leaves_what_was_written_under_the_old_name(owner, maker):
    batch = factories.BatchFactory(producer=owner.producer, by=maker)
    told = {"name": "Una Rook", "initials": "UR", "temperature_unit": "degF"}
    signed_in(owner).post(
        reverse("person", args=[maker.pk]), told | {"role": "reviewer"}
    )
    maker.refresh_from_db()
    assert (maker.name, maker.initials, maker.role) == ("Una Rook", "UR", "reviewer")
    batch.refresh_from_db()
    assert batch.by_name == "Una Sorrel"


def test_whoever_left_stays_in_the_record_and_cannot_sign_in(owner, maker):
    batch = factories.BatchFactory(producer=owner.producer, by=maker)
    open_session = signed_in(maker)
    signed_in(owner).post(reverse("person-end", args=[maker.pk]))
    maker.refresh_from_db()
    assert maker.ended_at is not None
    assert "membership has ended" in enter(maker.user.username, PASSWORD)[1].text
    assert open_session.get(reverse("now")).status_code == 403
    assert models.Batch.objects.get(pk=batch.pk).by == maker
    signed_in(owner).post(reverse("person-resume", args=[maker.pk]))
    assert enter(maker.user.username, PASSWORD)[1].status_code == 302


def test_the_last_owner_stays_one(owner, maker):
    told = {"name": "Ida", "initials": "IF", "temperature_unit": "degF"}
    with refused("last-owner"):
        recording.change_member(owner, **told, role="maker", by=owner, at=START)
    with refused("last-owner"):
        recording.end_membership(owner, by=owner, at=START)
    answer = signed_in(owner).post(
        reverse("person", args=[owner.pk]), told | {"role": "maker"}
    )
    assert "is the only owner" in answer.text
    second = factories.MemberFactory(producer=owner.producer)
    assert recording.end_membership(owner, by=second, at=START).ended_at == START
    with refused("last-owner"):
        recording.end_membership(second, by=second, at=START)


def test_an_owner_of_another_producer_changes_nobody(owner, maker):
    stranger = factories.MemberFactory()
    told = {"name": "X", "initials": "X", "temperature_unit": "degF", "role": "owner"}
    with refused("not-allowed"):
        recording.change_member(maker, **told, by=stranger, at=START)
    with refused("not-allowed"):
        recording.end_membership(maker, by=stranger, at=START)
    with refused("not-allowed"):
        recording.set_first_password(maker, password=NEW, by=stranger, at=START)


def test_a_new_first_password_ends_the_old_one_and_its_sessions(owner, maker):
    open_session = signed_in(maker)
    assert open_session.get(reverse("now")).status_code == 200
    signed_in(owner).post(
        reverse("person-password", args=[maker.pk]), {"password": NEW}
    )
    assert open_session.get(reverse("now")).status_code == 302
    client, _ = enter(maker.user.username, NEW)
    assert client.get(reverse("now")).url == reverse("me-password")


def test_an_owner_sets_no_password_of_somebody_who_works_elsewhere_too(owner, maker):
    factories.MemberFactory(user=maker.user)
    with refused("elsewhere"):
        recording.set_first_password(maker, password=NEW, by=owner, at=START)
    assert maker.user.check_password(PASSWORD)


@pytest.mark.parametrize(
    ("sent", "says"),
    [
        ({"password": "guess", "new": NEW}, "This is not your password"),
        ({"password": PASSWORD, "new": "short"}, "too short"),
        ({"password": PASSWORD, "new": PASSWORD}, "This is the old password"),
    ],
)
def test_a_password_is_changed_only_by_whoever_knows_it(maker, sent, says):
    answer = signed_in(maker).post(reverse("me-password"), sent)
    assert says in answer.text
    maker.user.refresh_from_db()
    assert maker.user.check_password(PASSWORD)


def test_whoever_changes_the_own_password_stays_signed_in(maker):
    client = signed_in(maker)
    client.post(reverse("me-password"), {"password": PASSWORD, "new": NEW})
    assert client.get(reverse("now")).status_code == 200


def test_the_own_page_changes_the_unit(maker):
    client = signed_in(maker)
    answer = client.post(reverse("me"), {"temperature_unit": "degC"}, follow=True)
    assert "Saved." in answer.text
    maker.refresh_from_db()
    assert maker.temperature_unit == "degC"


def test_the_list_says_who_left_and_who_may_do_what(owner, maker):
    recording.end_membership(maker, by=owner, at=at(0))
    said = signed_in(owner).get(reverse("people")).text
    assert "left 2026-05-02" in said or "left" in said
    assert "Write, sign and reassess plans" in said
