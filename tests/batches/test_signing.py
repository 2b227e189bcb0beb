"""Signatures by password: what they mean, once per form, and guesses at the password."""

from datetime import timedelta

import pytest
from django.db import transaction

from batches.errors import RecordError
from batches.models import GivenSignature, WrongPassword
from batches.recording import signing
from tests import factories
from tests.factories import PASSWORD, START, at

pytestmark = pytest.mark.django_db

MEANING = "I have read this record and it is complete."
READ = "a" * 64


@pytest.fixture
def by():
    return factories.MemberFactory()


def ticket(by, purpose="review", content=READ):
    return signing.ticket(by=by, purpose=purpose, content_sha256=content)


@signing.asks_password
@transaction.atomic
def sign(held, *, by, at, purpose="review", content=READ):
    """Sign as the other parts do."""
    return signing.give(
        held, purpose=purpose, content_sha256=content, meaning=MEANING, by=by, at=at
    )


def refused(code):
    return pytest.raises(RecordError, check=lambda error: error.code == code)


def test_a_signature_keeps_who_what_and_what_it_means(by):
    given = sign(ticket(by), password=PASSWORD, by=by, at=START)
    row = GivenSignature.objects.get()
    assert given.row == row
    assert not given.is_repeat
    assert (row.by, row.by_name, row.role) == (by, by.name, "owner")
    assert (row.meaning, row.purpose) == (MEANING, "review")
    assert (row.content_sha256, row.recorded_at) == (READ, START)


def test_the_same_form_again_is_the_same_signature(by):
    held = ticket(by)
    first = sign(held, password=PASSWORD, by=by, at=START)
    again = sign(held, password=PASSWORD, by=by, at=at(1))
    assert again.is_repeat
    assert again.row == first.row
    assert GivenSignature.objects.count() == 1


def test_another_form_is_another_signature(by):
    for _ in range(2):
        assert not sign(ticket(by), password=PASSWORD, by=by, at=START).is_repeat
    assert GivenSignature.objects.count() == 2


def test_the_ticket_of_somebody_else_signs_nothing(by):
    other = factories.MemberFactory(producer=by.producer)
    with refused("ticket-person"):
        sign(ticket(other), password=PASSWORD, by=by, at=START)
    assert not GivenSignature.objects.exists()


@pytest.mark.parametrize(
    ("wrong", "code"),
    [
        ({"purpose": "release"}, "ticket"),
        ({"content": "b" * 64}, "changed"),
    ],
)
def test_a_ticket_signs_what_was_read_and_nothing_else(by, wrong, code):
    with refused(code):
        sign(ticket(by), password=PASSWORD, by=by, at=START, **wrong)
    assert not GivenSignature.objects.exists()


@pytest.mark.parametrize("spoilt", ["", "x", "{}", "flipped"])
def test_a_ticket_that_is_not_ours_signs_nothing(by, spoilt):
    held = ticket(by)
    if spoilt == "flipped":
        spoilt = ("A" if held[0] != "A" else "B") + held[1:]
    with refused("ticket"):
        sign(spoilt, password=PASSWORD, by=by, at=START)


def test_a_page_of_yesterday_is_read_again(by, monkeypatch):
    held = ticket(by)
    monkeypatch.setattr(signing, "TICKET_LASTS_S", -1)
    with refused("ticket-old"):
        sign(held, password=PASSWORD, by=by, at=START)


def test_a_wrong_password_signs_nothing_and_stays_on_record(by):
    with refused("password"):
        sign(ticket(by), password="guess", by=by, at=START)
    assert not GivenSignature.objects.exists()
    assert WrongPassword.objects.get().by == by


def test_after_some_guesses_the_right_password_is_refused_for_a_while(by):
    for minute in range(signing.MOST_WRONG):
        with refused("password"):
            sign(ticket(by), password="guess", by=by, at=at(minute))
    with refused("password-rests"):
        sign(ticket(by), password=PASSWORD, by=by, at=at(5))
    assert WrongPassword.objects.count() == signing.MOST_WRONG
    later = START + signing.RESTS + timedelta(seconds=1)
    assert sign(ticket(by), password=PASSWORD, by=by, at=later).row.by == by


def test_guesses_at_one_member_do_not_stop_another(by):
    other = factories.MemberFactory(producer=by.producer)
    for _ in range(signing.MOST_WRONG):
        with refused("password"):
            sign(ticket(by), password="guess", by=by, at=START)
    assert sign(ticket(other), password=PASSWORD, by=other, at=START).row.by == other


@pytest.mark.django_db(transaction=True)
def test_a_wrong_password_outlives_what_is_rolled_back(by):
    with refused("password"):
        sign(ticket(by), password="guess", by=by, at=START)
    assert WrongPassword.objects.count() == 1
