"""Writes: links by which an inspector reads without an account."""

import hashlib
import secrets
from datetime import date, datetime, timedelta
from uuid import UUID

from django.db import transaction

from batches.errors import RecordError
from batches.models import Batch, InspectorLink, LinkRevocation, LinkView, Producer
from batches.models.producer import Member
from batches.recording import guards, rows, trail

TOKEN_BYTES = 32  # own figure: nobody guesses 256 bits
LONGEST_DAYS = 90  # own figure: after that a new link is made


def sha256_of(token: str) -> str:
    """Return under which number a link's token is kept."""
    return hashlib.sha256(token.encode()).hexdigest()


@transaction.atomic
def give_link(
    producer: Producer,
    *,
    for_whom: str,
    days: int,
    by: Member,
    at: datetime,
    batch: Batch | None = None,
    first_on: date | None = None,
    last_on: date | None = None,
    entry_id: UUID | str | None = None,
) -> tuple[InspectorLink, str]:
    """Make a link for one batch or one period; return it with its token, kept nowhere."""
    guards.check_may(by, producer, "links")
    guards.check_aware("at", at)
    trail.hold(producer.pk)
    _check_scope(producer, batch, first_on, last_on)
    if not 1 <= days <= LONGEST_DAYS:
        raise RecordError(
            "days", f"A link lasts 1 to {LONGEST_DAYS} days. Choose a number.", "days"
        )
    known = rows.identified(entry_id)
    if known and InspectorLink.objects.filter(**known).exists():
        raise RecordError(
            "",
            "This link was made already, and is shown only once. If nobody wrote it "
            "down, revoke it and make another.",
            "shown-once",
        )
    token = secrets.token_urlsafe(TOKEN_BYTES)
    link = rows.add(
        InspectorLink,
        producer=producer,
        batch=batch,
        first_on=first_on,
        last_on=last_on,
        for_whom=guards.check_text("for_whom", for_whom, "for whom the link is"),
        expires_at=at + timedelta(days=days),
        token_sha256=sha256_of(token),
        **known,
        **rows.signed(by, at),
    )
    return link, token


@transaction.atomic
def revoke_link(link: InspectorLink, *, by: Member, at: datetime) -> LinkRevocation:
    """Take a link back; from now on it opens nothing."""
    guards.check_may(by, link.producer, "links")
    trail.hold(link.producer_id)
    before = LinkRevocation.objects.filter(link=link).first()
    if before is not None:
        return before
    return rows.add(
        LinkRevocation, producer=link.producer, link=link, **rows.signed(by, at)
    )


@transaction.atomic
def record_view(link: InspectorLink, *, page: str, at: datetime) -> LinkView:
    """Put on record that a page was opened by a link."""
    guards.check_aware("at", at)
    return rows.add(
        LinkView,
        producer=link.producer,
        link=link,
        page=page,
        recorded_at=at,
        by_name=f"Link for {link.for_whom}",
    )


def _check_scope(
    producer: Producer,
    batch: Batch | None,
    first_on: date | None,
    last_on: date | None,
) -> None:
    if batch is not None:
        guards.check_own(batch, producer, "batch", "batch")
        if first_on or last_on:
            raise RecordError(
                "batch", "Choose a batch or a period, not both.", "two-scopes"
            )
        return
    if first_on is None or last_on is None:
        raise RecordError(
            "batch", "Choose a batch, or the first and the last day.", "no-scope"
        )
    if last_on < first_on:
        raise RecordError(
            "last_on", "The last day is before the first. Check both.", "backwards"
        )
