"""Writes: records are read and signed; who may read what."""

from datetime import date, datetime, tzinfo
from typing import Any
from uuid import UUID

from django.db import transaction

from batches.errors import RecordError
from batches.lookups.records import records_of
from batches.lookups.reviews import Read, batch_read, by_other, monday_of, week_read
from batches.lookups.training import training_of, training_words
from batches.models import Batch, Member, Producer, Review, ReviewRule
from batches.recording import guards, rows, signing
from batches.reviewing import MEANING, is_by_other_planned


@signing.asks_password
@transaction.atomic
def sign_review(
    batch: Batch,
    *,
    seen_sha256: str,
    title: str,
    note: str = "",
    entry_id: UUID | str | None = None,
    by: Member,
    at: datetime,
) -> Review:
    """Sign with the ``password`` that the record of a batch was read, as it is now.

    ``seen_sha256`` is that of what the person has read. Refused where it has changed
    since, where nothing is new, and over entries of one's own where the producer wants
    another to read them. The training of the reviewer is kept with it, where it is on
    file; where none is, it says so by saying nothing.
    """
    batch = rows.locked(batch)
    _check_may_sign(by, batch.producer, at)
    told = _told(batch.producer, by, seen_sha256, title, note)
    told |= {"batch": batch, "week_of": None}
    if (before := _sent_before(entry_id, told)) is not None:
        return before
    told |= rows.seen(batch.producer)  # from here on nothing slips in beside it
    read = batch_read(records_of(batch))
    return _sign(read, told, entry_id, batch.premises.zone, at)


@signing.asks_password
@transaction.atomic
def sign_week(
    producer: Producer,
    *,
    week_of: date,
    seen_sha256: str,
    title: str,
    note: str = "",
    entry_id: UUID | str | None = None,
    by: Member,
    at: datetime,
) -> Review:
    """Sign that the records of one week were read, as they are now; else as above."""
    _check_may_sign(by, producer, at)
    told = _told(producer, by, seen_sha256, title, note)
    told |= {"batch": None, "week_of": monday_of(week_of)}
    if (before := _sent_before(entry_id, told)) is not None:
        return before
    told |= rows.seen(producer)
    read = week_read(producer, told["week_of"])
    return _sign(read, told, entry_id, producer.premises.order_by("pk")[0].zone, at)


@transaction.atomic
def set_review_rule(
    producer: Producer, *, by_other: bool, by: Member, at: datetime
) -> ReviewRule:
    """Say whether somebody else must review what a person wrote."""
    guards.check_owner(by, producer)
    rule: ReviewRule = rows.add(
        ReviewRule, producer=producer, by_other=by_other, **rows.signed(by, at)
    )
    return rule


def _sign(
    read: Read,
    told: dict[str, Any],
    entry_id: UUID | str | None,
    zone: tzinfo,
    at: datetime,
) -> Review:
    if read.sha256 != told["content_sha256"]:
        raise RecordError(
            "",
            "The record has changed since you read it: something was written or "
            "corrected meanwhile. Open it again, read what is new, then sign. Nothing "
            "was signed.",
            "changed",
        )
    standing = read.standing
    if standing is None:
        raise RecordError("", _nothing_new(read, zone), "nothing-new")
    own = standing.own(told["by"])
    _check_own(own, told["by"], told["producer"], told["batch"])
    training = training_of(told["by"], at=at, zone=zone)
    review: Review = rows.add(
        Review,
        **told,
        **rows.identified(entry_id),
        recorded_at=at,
        by_name=told["by"].name,
        signed_at=at,
        read_on=at.astimezone(zone).date(),
        oldest_on=standing.oldest_on,
        due_on=standing.due_on,
        limit_id=standing.limit_id,
        rows_read=read.count,
        own_rows=own,
        covers=read.covers,
        meaning=MEANING,
        role=told["by"].role,
        training="" if training is None else training_words(training, zone),
    )
    return review


def _told(
    producer: Producer, by: Member, seen_sha256: str, title: str, note: str
) -> dict[str, Any]:
    """Return what the form said: a second sending says the same."""
    return {
        "producer": producer,
        "by": by,
        "content_sha256": seen_sha256,
        "title": guards.check_text("title", title, "your name and function"),
        "note": note.strip(),
    }


def _sent_before(entry_id: UUID | str | None, told: dict[str, Any]) -> Review | None:
    if entry_id is None:
        return None
    before = Review.objects.filter(entry_id=rows.as_uuid(entry_id)).first()
    if before is None:
        return None
    if any(getattr(before, name) != value for name, value in told.items()):
        raise RecordError(
            "",
            "This form was already signed with other words, or for another record. "
            "Open the page again. Nothing was signed a second time.",
            "entry-id-used",
        )
    return before


def _check_may_sign(by: Member, producer: Producer, at: datetime) -> None:
    guards.check_may(by, producer, "review")
    guards.check_aware("at", at)


def _check_own(own: int, by: Member, producer: Producer, batch: Batch | None) -> None:
    if not own:
        return
    written = f"{own} of the entries to be read were written by {by.name}, and "
    do = " Let another owner or reviewer read and sign them. Nothing was signed."
    if batch is not None and is_by_other_planned(batch):
        raise RecordError(
            "",
            f"{written}plan {batch.plan} of {batch.product.name} forbids to review "
            f"entries of one’s own.{do}",
            "own-record-by-plan",
        )
    if by_other(producer):
        raise RecordError(
            "",
            f"{written}here nobody reviews entries of their own.{do}",
            "own-record",
        )


def _nothing_new(read: Read, zone: tzinfo) -> str:
    if not read.reviews:
        return "There is nothing on record to be read. Nothing was signed."
    last = read.reviews[-1]
    return (
        f"{last.by_name} read and signed all of it on "
        f"{guards.wall(last.signed_at, zone)}; nothing was written since. There is "
        "nothing to sign."
    )
