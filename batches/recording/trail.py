"""Writes: the trail of a producer, one event after another, never two at once."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import UTC, datetime
from uuid import UUID, uuid4

from django.db import models, transaction

from batches.acts import TAKEN_OVER, check_act, producer_id_of, rows_of, trailed_models
from batches.canonical import START_OF_TRAIL, canonical, content_of, link, told_by
from batches.models import Member, Producer, TrailEvent
from batches.models.trail import LONGEST_WORDS

_ONE_ACT: ContextVar[UUID | None] = ContextVar("one_act", default=None)


@dataclass(frozen=True, slots=True)
class Head:
    """The last event of a trail: whoever keeps this hash can tell an older copy."""

    number: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Signed:
    """Who did something, by which name, and when it was entered."""

    by: Member | None
    by_name: str
    at: datetime


class _Group:
    """One transaction's group, kept among what the transaction does when it ends."""

    def __init__(self) -> None:
        self.key = uuid4()

    def __call__(self) -> None:
        """Do nothing: being forgotten with the transaction is all that is wanted."""


def hold(producer_id: int) -> None:
    """Keep other writers of this producer out until the transaction ends.

    SQLite's transactions are immediate: they keep out everybody already. Taken before
    any other lock, so that no two writers can wait for each other.
    """
    connection = transaction.get_connection()
    if connection.features.has_select_for_update:
        held = Producer.objects.select_for_update(no_key=True).filter(pk=producer_id)
        list(held.values_list("pk"))


def head(producer: Producer | int) -> Head:
    """Return the last event of a producer's trail."""
    key = producer if isinstance(producer, int) else producer.pk
    last = (
        TrailEvent.objects
        .filter(producer=key)
        .order_by("-number")
        .values_list("number", "sha256")
        .first()
    )
    return Head(0, START_OF_TRAIL) if last is None else Head(*last)


def append(
    row: models.Model, *, act: str, signed: Signed, before: str = "", after: str = ""
) -> TrailEvent:
    """Add one event about a row, in its transaction, which holds the producer."""
    producer_id = producer_id_of(row)
    last = head(producer_id)
    event = TrailEvent(
        producer_id=producer_id,
        number=last.number + 1,
        act=check_act(act),
        subject=row._meta.label,
        subject_key=str(row.pk),
        words=str(row)[:LONGEST_WORDS],
        by=signed.by,
        by_name=signed.by_name,
        at=signed.at.astimezone(UTC),
        group=_group(),
        before=before,
        after=after,
        previous_sha256=last.sha256,
    )
    event.sha256 = link(last.sha256, told_by(event))
    event.save()
    return event


@contextmanager
def one_act() -> Iterator[None]:
    """Group what is written inside, where one transaction holds the acts of many."""
    token = _ONE_ACT.set(uuid4())
    try:
        yield
    finally:
        _ONE_ACT.reset(token)


@transaction.atomic
def take_over(*, at: datetime) -> int:
    """Put the rows that are older than the trail into it; return how many."""
    signed = Signed(None, "upgrade of the program", at)
    count = 0
    for producer in Producer.objects.all():
        hold(producer.pk)
        known = set(
            producer.trail.order_by().values_list("subject", "subject_key").distinct()
        )
        for model in trailed_models():
            for row in rows_of(model, producer).order_by("pk"):
                if (model._meta.label, str(row.pk)) not in known:
                    after = canonical(content_of(row))
                    append(row, act=TAKEN_OVER, signed=signed, after=after)
                    count += 1
    return count


def _group() -> UUID:
    wanted = _ONE_ACT.get()
    if wanted is not None:
        return wanted
    for _, deed, _ in transaction.get_connection().run_on_commit:
        if isinstance(deed, _Group):
            return deed.key
    group = _Group()
    transaction.on_commit(group)
    return group.key
