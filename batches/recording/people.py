"""Writes: producers and their members."""

from datetime import datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from django.contrib.auth import get_user_model
from django.contrib.auth.models import AbstractBaseUser
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.text import slugify

from batches.errors import RecordError
from batches.models import Member, Premises, Producer
from batches.recording import guards, rows


@transaction.atomic
def create_producer(
    *,
    name: str,
    owner_name: str,
    initials: str,
    username: str,
    password: str,
    premises_name: str,
    address: str,
    time_zone: str,
    elevation_m: Decimal | str,
    temperature_unit: str,
    jurisdiction: str,
    paper: str,
    at: datetime,
) -> Member:
    """Make a producer, its premises and its owner; return the owner."""
    guards.check_aware("at", at)
    name = guards.check_text("name", name, "what the producer is called")
    guards.check_text("jurisdiction", jurisdiction, "in which country or state it is")
    guards.check_fact("jurisdiction", jurisdiction)
    owner_name = guards.check_text("owner_name", owner_name, "who the owner is")
    first = {"by": None, "by_name": owner_name, "recorded_at": at}
    producer = rows.add(
        Producer,
        first,
        name=name,
        slug=_free_slug(name),
        created_at=at,
    )
    owner = rows.add(
        Member,
        first,
        user=_user(username, password),
        producer=producer,
        name=owner_name,
        initials=guards.check_text("initials", initials, "the owner's initials"),
        role=Member.Role.OWNER,
        temperature_unit=temperature_unit,
        created_at=at,
    )
    rows.add(
        Premises,
        rows.signed(owner, at),
        producer=producer,
        name=guards.check_text("premises_name", premises_name, "where it is made"),
        address=address.strip(),
        time_zone=_zone_name(time_zone),
        elevation_m=guards.number("elevation_m", elevation_m),
        jurisdiction=jurisdiction,
        paper=paper,
    )
    return _made(owner, owner, at)


@transaction.atomic
def add_member(
    producer: Producer,
    *,
    name: str,
    initials: str,
    username: str,
    password: str,
    role: str,
    temperature_unit: str,
    by: Member,
    at: datetime,
    must_change_password: bool = False,
) -> Member:
    """Give another person a role at this producer."""
    guards.check_may(by, producer, "people")
    guards.check_aware("at", at)
    added = rows.add(
        Member,
        rows.signed(by, at),
        user=_user(username, password),
        producer=producer,
        name=guards.check_text("name", name, "who it is"),
        initials=guards.check_text("initials", initials, "the initials"),
        role=role,
        temperature_unit=temperature_unit,
        created_at=at,
        must_change_password=must_change_password,
    )
    return _made(added, by, at)


def _made(member: Member, by: Member, at: datetime) -> Member:
    rows.note(member, act="member.account-made", by=by, at=at)
    return member


def _user(username: str, password: str) -> AbstractBaseUser:
    users = get_user_model().objects
    username = guards.check_text("username", username, "the name to sign in with")
    if users.filter(username__iexact=username).exists():
        raise RecordError(
            "username", f"{username} is taken. Choose another name.", "taken"
        )
    try:
        validate_password(password)
    except ValidationError as error:
        raise RecordError("password", " ".join(error.messages), "weak") from error
    return users.create_user(username=username, password=password)


def _zone_name(time_zone: str) -> str:
    try:
        return ZoneInfo(time_zone).key
    except (KeyError, ValueError, OSError) as error:
        raise RecordError(
            "time_zone",
            f"There is no time zone called {time_zone!r}. Write it like "
            "America/Detroit.",
            "unknown-zone",
        ) from error


def _free_slug(name: str) -> str:
    longest = Producer._meta.get_field("slug").max_length
    stem = slugify(name)[: longest // 2] or "producer"
    taken = set(
        Producer.objects.filter(slug__startswith=stem).values_list("slug", flat=True)
    )
    slug, count = stem, 1
    while slug in taken:
        count += 1
        slug = f"{stem}-{count}"
    return slug
