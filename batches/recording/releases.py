"""Writes: a batch is released by a person's signature, or refused."""

from collections.abc import Iterable
from datetime import datetime
from uuid import UUID

from django.db import transaction

from batches.deviating import (
    Answered,
    answered,
    due,
    judged_now,
    states_of_batch,
)
from batches.errors import RecordError
from batches.lookups.deviations import DeviationState
from batches.lookups.reviews import batch_read
from batches.models import Batch, Member, Release
from batches.recording import guards, rows, signing
from batches.recording.findings import store_findings
from safety.controls import CONTROL_POINTS
from safety.judge.finding import Judgement

MEANING = (
    "I have read the record of this batch and what its limits show. I let the batch "
    "leave, and I answer for that decision."
)
NOT_YET = "This batch cannot be released. "


@signing.asks_password
@transaction.atomic
def release(
    batch: Batch,
    *,
    seen_sha256: str,
    title: str,
    by: Member,
    at: datetime,
    entry_id: UUID | str | None = None,
) -> Release:
    """Sign the release of a batch with the ``password``; refused while anything is open.

    ``seen_sha256`` is that of the record which the person has read; refused where it has
    changed since. Everything judged at that instant is stored with it, and the open
    cautions.
    """
    batch = rows.locked(batch)
    guards.check_may(by, batch.producer, "release")
    guards.check_aware("at", at)
    title = guards.check_text("title", title, "your name and function")
    content = {"batch": batch, "title": title}
    if (before := rows.repeated(Release, entry_id, content)) is not None:
        return before
    records, judgement = judged_now(batch, at)
    states = states_of_batch(batch)
    answers = answered(due(records, judgement), states)
    refuse_open(batch, answers, states)
    _refuse_again(batch, states)
    if batch_read(records).sha256 != seen_sha256:
        raise RecordError(
            "",
            "The record has changed since you read it. Open the page again, read what "
            "is new, then sign. Nothing was signed.",
            "changed",
        )
    return rows.add(
        Release,
        producer=batch.producer,
        findings=store_findings(
            records,
            judgement,
            answers={one.due.key: one for one in answers},
            by=by,
            at=at,
        ),
        meaning=MEANING,
        role=by.role,
        cautions=list(cautions_of(judgement, answers, states)),
        signed_at=at,
        **rows.seen(batch.producer),
        **content,
        **rows.identified(entry_id),
        **rows.signed(by, at),
    )


def obstacles(
    batch: Batch, answers: Iterable[Answered], states: Iterable[DeviationState]
) -> tuple[str, ...]:
    """Return what stands between a batch and its release, each in a sentence."""
    found = [_open_words(one) for one in answers if blocks(one)]
    found += [
        f"{state.deviation} is not decided yet."
        for state in states
        if not state.is_decided
    ]
    found += [
        f"It is on hold since {guards.wall(hold.held_at, batch.premises.zone)}: "
        f"{hold.reason.rstrip('.')}."
        for state in states
        for hold in state.open_holds
    ]
    return tuple(found)


def refuse_open(
    batch: Batch, answers: Iterable[Answered], states: Iterable[DeviationState]
) -> None:
    """Refuse a release while anything stands against it."""
    found = obstacles(batch, answers, states)
    if found:
        raise RecordError("", NOT_YET + " ".join(found), "open-findings")


def blocks(one: Answered) -> bool:
    """Say whether a finding stands against a release.

    What lies ahead by nature does not; of what was decided, some food must have been
    let go after its evaluation, or nobody has judged what is left.
    """
    return not one.due.is_ahead and (one.is_open or not one.is_let_go)


def cautions_of(
    judgement: Judgement,
    answers: Iterable[Answered],
    states: Iterable[DeviationState],
) -> tuple[str, ...]:
    """Return what a person who releases must know, each said once."""
    found = [
        f"{CONTROL_POINTS[finding.control_point].title}: {caution}"
        for finding in judgement.findings
        for caution in finding.cautions
        if finding.control_point in CONTROL_POINTS
    ]
    found += [
        f"{CONTROL_POINTS[one.due.control_point].title}, still ahead: "
        f"{one.due.observed_words}"
        for one in answers
        if one.is_open and one.due.is_ahead
    ]
    found += [_state_caution(state) for state in states if state.closing is None]
    return tuple(dict.fromkeys(found))


def _open_words(one: Answered) -> str:
    title = (
        CONTROL_POINTS[one.due.control_point].title
        if one.due.control_point
        else "Limits"
    )
    status = one.due.status.value
    if one.is_changed and one.state is not None:
        return (
            f"{title} is {status}, and the record says something else than when "
            f"{one.state.deviation} was decided: {one.due.observed_words}"
        )
    if one.state is not None and one.state.is_decided:
        return (
            f"{title} is {status}, and {one.state.deviation} let nothing of it go. "
            "What is left must be held, evaluated and decided on."
        )
    return f"{title} is {status}: {one.due.observed_words}"


def _state_caution(state: DeviationState) -> str:
    decided = ", ".join(each.get_kind_display().lower() for each in state.dispositions)
    return f"{state.deviation} is decided ({decided}) but not closed."


def _refuse_again(batch: Batch, states: Iterable[DeviationState]) -> None:
    last = batch.releases.order_by("-pk").first()
    if last is None:
        return
    later = [
        state for state in states if state.deviation.recorded_at > last.recorded_at
    ]
    if not later:
        raise RecordError(
            "",
            f"{batch.code} was released by {last.by_name} on "
            f"{guards.wall(last.signed_at, batch.premises.zone)}.",
            "released",
        )
