"""Writes: what changes about a member: name, role, membership, password."""

from datetime import datetime

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction

from batches.errors import RecordError
from batches.models import Member
from batches.recording import guards, rows, signing


@transaction.atomic
def change_member(
    member: Member,
    *,
    name: str,
    initials: str,
    role: str,
    temperature_unit: str,
    by: Member,
    at: datetime,
) -> Member:
    """Change what is said of a member; what was signed keeps the name of its day."""
    held = _held(member, by)
    if role != Member.Role.OWNER:
        _check_not_last_owner(held)
    return rows.change(
        held,
        act="member.changed",
        by=by,
        at=at,
        name=guards.check_text("name", name, "who it is"),
        initials=guards.check_text("initials", initials, "the initials"),
        role=role,
        temperature_unit=temperature_unit,
    )


@transaction.atomic
def end_membership(member: Member, *, by: Member, at: datetime) -> Member:
    """End a membership: the person stays in the record, but cannot sign in."""
    held = _held(member, by)
    if held.ended_at is not None:
        return held
    _check_not_last_owner(held)
    return rows.change(held, act="member.ended", by=by, at=at, ended_at=at)


@transaction.atomic
def resume_membership(member: Member, *, by: Member, at: datetime) -> Member:
    """Let a former member in again."""
    held = _held(member, by)
    if held.ended_at is None:
        return held
    return rows.change(held, act="member.resumed", by=by, at=at, ended_at=None)


@transaction.atomic
def set_first_password(
    member: Member, *, password: str, by: Member, at: datetime
) -> Member:
    """Give a member a password that must be changed at the next sign-in."""
    held = _held(member, by)
    if held.pk == by.pk:
        raise RecordError("", "Change your own password on your own page.", "own")
    if _belongs_elsewhere(held):
        raise RecordError(
            "",
            f"{held.name} also works for another producer and changes the password "
            "alone, after signing in.",
            "elsewhere",
        )
    _set(held, password, "password")
    rows.note(held, act="member.password-given", by=by, at=at)
    return rows.change(
        held, act="member.changed", by=by, at=at, must_change_password=True
    )


@signing.asks_password
@transaction.atomic
def change_password(*, new: str, by: Member, at: datetime) -> Member:
    """Change the own password; the old one was asked for."""
    held = rows.held(by)
    if held.user.check_password(new):
        raise RecordError("new", "This is the old password. Choose another.", "same")
    _set(held, new, "new")
    rows.note(held, act="member.password-changed", by=by, at=at)
    return rows.change(
        held, act="member.changed", by=by, at=at, must_change_password=False
    )


@transaction.atomic
def change_unit(*, temperature_unit: str, by: Member, at: datetime) -> Member:
    """Change in which unit the own pages show temperatures."""
    guards.check_may(by, by.producer, "self")
    return rows.change(
        by,
        act="member.changed",
        by=by,
        at=at,
        temperature_unit=temperature_unit,
    )


def _held(member: Member, by: Member) -> Member:
    guards.check_may(by, member.producer, "people")
    held: Member = rows.held(member)
    return held


def _set(member: Member, password: str, field: str) -> None:
    try:
        validate_password(password, member.user)
    except ValidationError as error:
        raise RecordError(field, " ".join(error.messages), "weak") from error
    member.user.set_password(password)
    member.user.save(update_fields=["password"])


def _belongs_elsewhere(member: Member) -> bool:
    others = Member.objects.filter(user=member.user_id, ended_at=None)
    return others.exclude(pk=member.pk).exists()


def _check_not_last_owner(member: Member) -> None:
    if member.role != Member.Role.OWNER or member.ended_at is not None:
        return
    others = Member.objects.filter(
        producer=member.producer_id, role=Member.Role.OWNER, ended_at=None
    )
    if not others.exclude(pk=member.pk).exists():
        raise RecordError(
            "role",
            f"{member.name} is the only owner. Make somebody else an owner first.",
            "last-owner",
        )
