"""Writes: what happens to the account of a member: refused, locked out, signed in."""

from datetime import datetime, timedelta

from django.db import transaction

from batches.models import Member, TrailEvent
from batches.recording import rows

SIGNED_IN = "member.signed-in"
REFUSED = "member.sign-in-refused"
LOCKED_OUT = "member.locked-out"
CODE_REFUSED = "member.code-refused"
# Own figures: within such a time no more than so many refusals of one member are noted,
# and one lock, so that whoever guesses on and on does not fill the trail.
MOST_NOTED = {REFUSED: 20, CODE_REFUSED: 20, LOCKED_OUT: 1}
WITHIN = timedelta(minutes=15)
LONGEST_NAME = 100  # own figure: the column of the trail holds a little more


@transaction.atomic
def note_sign_in(member: Member, *, at: datetime) -> None:
    """Put into the trail that a member signed in."""
    rows.note(member, act=SIGNED_IN, by=member, at=at)


def note_sign_in_refused(username: str, *, address: str, at: datetime) -> None:
    """Put into the trail that somebody gave a wrong password for this account."""
    _note(username, REFUSED, address, at)


def note_locked_out(username: str, *, address: str, at: datetime) -> None:
    """Put into the trail that this account is refused for a while after guesses."""
    _note(username, LOCKED_OUT, address, at)


def note_code_refused(username: str, *, address: str, at: datetime) -> None:
    """Put into the trail that the password was right, but the second step was not."""
    _note(username, CODE_REFUSED, address, at)


@transaction.atomic
def _note(username: str, act: str, address: str, at: datetime) -> None:
    """Note it for each producer to whom the account belongs; a strange name has none.

    Who it was nobody knows: in the place of a person stands where it came from.
    """
    for member in Member.objects.filter(user__username=username).order_by("pk"):
        held = rows.held(member)
        lately = TrailEvent.objects.filter(
            producer=held.producer_id,
            subject=held._meta.label,
            subject_key=str(held.pk),
            act=act,
            at__gt=at - WITHIN,
        )
        if lately.count() < MOST_NOTED[act]:
            who = f"somebody at {address or 'an unknown address'}"[:LONGEST_NAME]
            rows.note(held, act=act, by=None, by_name=who, at=at)
