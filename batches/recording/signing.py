"""Writes: signatures given by typing the password again, and guesses at it.

A page that can be signed carries a ticket: who, for what, over which content, under a
number used once. A function that signs is decorated with `asks_password` (outside of its
transaction, so that a wrong password stays on record) and calls `give` inside.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import wraps
from math import ceil
from typing import Any, TypeVar
from uuid import UUID, uuid4

from django.core import signing
from django.db import transaction

from batches.errors import RecordError
from batches.models import GivenSignature, Member, WrongPassword
from batches.recording import guards, rows

Result = TypeVar("Result")

MOST_WRONG = 5  # own figure: wrong passwords before signing rests
RESTS = timedelta(minutes=15)  # own figure: as long as signing in rests
TICKET_LASTS_S = 24 * 60 * 60  # own figure: then the page is read again
PLAN = "plan"  # purposes: what is signed
_SALT = "brinewright.signature"


@dataclass(frozen=True, slots=True)
class Given:
    """A signature on record; ``is_repeat`` where this form was sent before."""

    row: GivenSignature
    is_repeat: bool


def ticket(*, by: Member, purpose: str, content_sha256: str) -> str:
    """Return what a page carries so that its form can be signed, once, by this person."""
    return signing.dumps([by.pk, purpose, content_sha256, uuid4().hex], salt=_SALT)


def asks_password(write: Callable[..., Result]) -> Callable[..., Result]:
    """Check ``password`` of ``by`` before the write begins."""

    @wraps(write)
    def asked(
        *args: Any, password: str, by: Member, at: datetime, **kwargs: Any
    ) -> Result:
        check_password(by, password=password, at=at)
        return write(*args, by=by, at=at, **kwargs)

    return asked


def check_password(by: Member, *, password: str, at: datetime) -> None:
    """Refuse a wrong password, and any for a while after several wrong ones."""
    guards.check_aware("at", at)
    with transaction.atomic():
        held = rows.held(by)
        _check_rest(held, at)
        is_right = by.user.check_password(password)
        if not is_right:
            rows.add(WrongPassword, producer=by.producer, **rows.signed(by, at))
    if not is_right:
        raise RecordError(
            "password",
            "This is not your password. Nothing was signed or changed.",
            "password",
        )


def give(
    signed_ticket: str,
    *,
    purpose: str,
    content_sha256: str,
    meaning: str,
    by: Member,
    at: datetime,
) -> Given:
    """Put a signature on record; the second sending of one form is the same one."""
    number = _number(signed_ticket, purpose, content_sha256, by)
    rows.held(by)
    before = GivenSignature.objects.filter(number=number).first()
    if before is not None:
        return Given(before, is_repeat=True)
    row = rows.add(
        GivenSignature,
        producer=by.producer,
        number=number,
        purpose=purpose,
        content_sha256=content_sha256,
        meaning=guards.check_text("meaning", meaning, "what the signature means"),
        role=by.role,
        **rows.signed(by, at),
    )
    return Given(row, is_repeat=False)


def _number(signed_ticket: str, purpose: str, content_sha256: str, by: Member) -> UUID:
    again = "Open the page again, read it, then sign. Nothing was signed."
    try:
        said = signing.loads(signed_ticket, salt=_SALT, max_age=TICKET_LASTS_S)
    except signing.SignatureExpired:
        raise RecordError(
            "", f"This page was open for more than a day. {again}", "ticket-old"
        ) from None
    except signing.BadSignature:
        raise RecordError("", f"This form is not ours. {again}", "ticket") from None
    pk, told_purpose, told_sha256, number = said
    if pk != by.pk:
        raise RecordError(
            "", f"This page was opened by somebody else. {again}", "ticket-person"
        )
    if told_purpose != purpose:
        raise RecordError("", f"This form signs something else. {again}", "ticket")
    if told_sha256 != content_sha256:
        raise RecordError(
            "", f"What you sign has changed since you read it. {again}", "changed"
        )
    return UUID(number)


def _check_rest(by: Member, at: datetime) -> None:
    wrong = WrongPassword.objects.filter(by=by, recorded_at__gt=at - RESTS)
    instants = list(
        wrong.order_by("-recorded_at").values_list("recorded_at", flat=True)
    )
    if len(instants) < MOST_WRONG:
        return
    until = instants[MOST_WRONG - 1] + RESTS
    minutes = ceil((until - at) / timedelta(minutes=1))
    raise RecordError(
        "password",
        f"{MOST_WRONG} wrong passwords within a short time: for {minutes} min no password is taken "
        "here. Nothing was signed or changed.",
        "password-rests",
    )
