"""Writes: the second step of signing in, begun, confirmed, renewed and taken away."""

from datetime import datetime

from django.db import transaction

from batches import second_step
from batches.errors import RecordError
from batches.models import Member
from batches.recording import guards, rows, signing


@transaction.atomic
def begin_second_step(*, by: Member, at: datetime) -> None:
    """Make a secret for the person's telephone; it counts once a code confirms it."""
    guards.check_may(by, by.producer, "self")
    guards.check_aware("at", at)
    _check_off(by)
    second_step.begin(by.user)


def confirm_second_step(*, code: str, by: Member, at: datetime) -> list[str]:
    """Switch the second step on; return the recovery codes, which are kept nowhere."""
    guards.check_may(by, by.producer, "self")
    _check_off(by)
    second_step.check_first_code(by.user, code)  # a wrong one counts for ever
    with transaction.atomic():
        _check_off(rows.held(by))
        second_step.switch_on(by.user)
        rows.change(by, act="member.second-step-on", by=by, at=at, second_step_at=at)
        return second_step.new_recovery_codes(by.user)


@signing.asks_password
@transaction.atomic
def renew_recovery_codes(*, by: Member, at: datetime) -> list[str]:
    """Replace the recovery codes; the password was asked for."""
    held = rows.held(by)
    if held.second_step_at is None:
        raise RecordError("", "The second step is off.", "off")
    rows.note(held, act="member.recovery-codes-renewed", by=by, at=at)
    return second_step.new_recovery_codes(by.user)


@signing.asks_password
@transaction.atomic
def stop_second_step(*, by: Member, at: datetime) -> Member:
    """Switch the own second step off; the password was asked for."""
    return _off(by, by, at)


@transaction.atomic
def remove_second_step(member: Member, *, by: Member, at: datetime) -> Member:
    """Take the second step away from somebody who lost the telephone and the codes."""
    guards.check_may(by, member.producer, "people")
    return _off(member, by, at)


def _off(member: Member, by: Member, at: datetime) -> Member:
    held: Member = rows.held(member)
    second_step.switch_off(held.user)
    return rows.change(
        held, act="member.second-step-off", by=by, at=at, second_step_at=None
    )


def _check_off(by: Member) -> None:
    if second_step.is_on(by.user):
        raise RecordError("", "The second step is on already.", "on")
