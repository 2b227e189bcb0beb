"""Writes: the second step of signing in, begun, confirmed, renewed and taken away."""

from datetime import datetime

from django.db import transaction

from batches import second_step
from batches.errors import RecordError
from batches.lookups import is_second_step_asked
from batches.models import Member, Producer, SecondStepRule
from batches.recording import guards, rows, signing, trail


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


@transaction.atomic
def set_second_step_rule(
    producer: Producer, *, is_required: bool, by: Member, at: datetime
) -> SecondStepRule:
    """Say whether all members must sign in with a second step; the owner's own first."""
    guards.check_may(by, producer, "people")
    trail.hold(producer.pk)
    newest = SecondStepRule.objects.filter(producer=producer).order_by("-pk").first()
    if newest is not None and newest.is_required == is_required:
        return newest
    if is_required and not second_step.is_on(by.user):
        raise RecordError(
            "is_required",
            "Set up your own second step first, on your own page: then you know that it "
            "works here before it is asked of everybody.",
            "own-first",
        )
    return rows.add(
        SecondStepRule,
        producer=producer,
        is_required=is_required,
        **rows.signed(by, at),
    )


@signing.asks_password
@transaction.atomic
def stop_second_step(*, by: Member, at: datetime) -> Member:
    """Switch the own second step off; the password was asked for."""
    if is_second_step_asked(by.producer):
        raise RecordError(
            "",
            f"{by.producer.name} asks all its members for the second step. An owner can "
            "change that, or take yours away where the telephone was lost.",
            "required",
        )
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
