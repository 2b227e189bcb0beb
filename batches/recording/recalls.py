"""Writes: recalls and drills are begun, people are asked, the end is signed."""

from collections.abc import Iterable
from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.db.models import Max

from batches.errors import RecordError
from batches.lookups.recalls import account_of
from batches.models import (
    Batch,
    Buyer,
    Member,
    Producer,
    RecallBatch,
    RecallCase,
    RecallContact,
    RecallEnd,
)
from batches.recording import guards, rows, signing, trail

ALL_PERCENT = 100
MEANING = (
    "I have looked for every package of these batches. The account is what the record "
    "shows and what I was told, as of the instant of my signature."
)


@transaction.atomic
def begin_recall(
    producer: Producer,
    *,
    batches: Iterable[Batch],
    code: str,
    reason: str,
    is_drill: bool,
    began_at: datetime,
    by: Member,
    at: datetime,
    ask_percent: int = ALL_PERCENT,
    entry_id: UUID | str | None = None,
) -> RecallCase:
    """Begin to look for all packages of some batches; from now on the clock runs."""
    guards.check_member(by, producer)
    named = list(batches)
    trail.hold(producer.pk)
    content = {
        "producer": producer,
        "code": guards.check_text("code", code, "which code you start from"),
        "reason": guards.check_text("reason", reason, "why"),
        "is_drill": is_drill,
        "began_at": began_at,
        "ask_percent": ask_percent,
    }
    if (before := rows.repeated(RecallCase, entry_id, content)) is not None:
        return before
    if not named:
        raise RecordError(
            "code",
            "No batch hangs together with this code. Check the letters.",
            "no-batch",
        )
    for batch in named:
        guards.check_own(batch, producer, "code", "batch")
    if not 0 <= ask_percent <= ALL_PERCENT:
        raise RecordError(
            "ask_percent", "Type a share from 0 to 100 percent.", "bad-share"
        )
    guards.check_past("began_at", began_at, at=at)
    last = RecallCase.objects.filter(producer=producer).aggregate(Max("number"))
    case = rows.add(
        RecallCase,
        **content,
        number=(last["number__max"] or 0) + 1,
        **rows.identified(entry_id),
        **rows.signed(by, at),
    )
    for batch in named:
        rows.add(
            RecallBatch,
            producer=producer,
            case=case,
            batch=batch,
            **rows.signed(by, at),
        )
    return case


@transaction.atomic
def ask_about(
    case: RecallCase,
    *,
    reached: bool,
    contacted_at: datetime,
    by: Member,
    at: datetime,
    buyer: Buyer | None = None,
    whom: str = "",
    how: str = "",
    still_there: int | None = None,
    destroyed: int | None = None,
    note: str = "",
    entry_id: UUID | str | None = None,
) -> RecallContact:
    """Write down that somebody was told or asked, and what they said."""
    guards.check_member(by, case.producer)
    trail.hold(case.producer_id)
    content = {
        "case": case,
        "buyer": buyer,
        "whom": whom.strip(),
        "how": how.strip(),
        "reached": reached,
        "still_there": still_there,
        "destroyed": destroyed,
        "note": note.strip(),
        "contacted_at": contacted_at,
    }
    if (before := rows.repeated(RecallContact, entry_id, content)) is not None:
        return before
    if buyer is None and not whom.strip():
        raise RecordError("whom", "Say who was told or asked.", "blank")
    if buyer is not None:
        guards.check_own(buyer, case.producer, "buyer", "buyer")
    if not reached and (still_there or destroyed):
        raise RecordError(
            "reached",
            "Somebody who was not reached cannot have said how many are left. Check "
            "both answers.",
            "not-reached",
        )
    _check_open(case)
    guards.check_past("contacted_at", contacted_at, at=at)
    return rows.add(
        RecallContact,
        producer=case.producer,
        **content,
        **rows.identified(entry_id),
        **rows.signed(by, at),
    )


@signing.asks_password
@transaction.atomic
def end_recall(
    case: RecallCase,
    *,
    seen_sha256: str,
    title: str,
    by: Member,
    at: datetime,
    learned: str = "",
    entry_id: UUID | str | None = None,
) -> RecallEnd:
    """Sign with the ``password`` how it ended, over the account that was read."""
    guards.check_may(by, case.producer, "release")
    trail.hold(case.producer_id)
    content = {
        "case": case,
        "title": guards.check_text("title", title, "your name and function"),
        "learned": learned.strip(),
    }
    if (before := rows.repeated(RecallEnd, entry_id, content)) is not None:
        return before
    _check_open(case)
    account = account_of(case, at=at)
    if account.sha256 != seen_sha256:
        raise RecordError(
            "",
            "The account has changed since you read it. Open the page again, read it, "
            "then sign. Nothing was signed.",
            "changed",
        )
    return rows.add(
        RecallEnd,
        producer=case.producer,
        account=account.plain(),
        meaning=MEANING,
        role=by.role,
        ended_at=at,
        **rows.seen(case.producer),
        **content,
        **rows.identified(entry_id),
        **rows.signed(by, at),
    )


def _check_open(case: RecallCase) -> None:
    if RecallEnd.objects.filter(case=case).exists():
        raise RecordError("", f"{case} has ended. Begin another one.", "ended")
