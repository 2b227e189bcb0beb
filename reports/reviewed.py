"""Who read the record and signed it, and what was written since, as parts of a document."""

from datetime import date
from typing import Any

from reports.observed import Scribe
from reports.sheets import ReviewRow


def review_rows(reviews: Any, scribe: Scribe) -> tuple[ReviewRow, ...]:
    """Return the reviews of a batch, the first one first; a late one says so for ever."""
    return tuple(
        ReviewRow(
            signed=f"{scribe.at(review.signed_at)} by {_signatory(review)}",
            lateness=_lateness(review),
            own=_own(review),
            training=_training(review),
            meaning=review.meaning,
            note=review.note,
            read=f"{review.rows_read} entries",
            digest=review.content_sha256,
            trail=_trail(review),
        )
        for review in reviews
    )


def unread_says(standing: Any) -> str:
    """Return what nobody has read yet, and by when it is due; nothing where all was."""
    if standing is None:
        return ""
    count, changed = len(standing.lines), len(standing.changed)
    again = (
        f" {_count(changed)} a correction of what was read before: the record is open "
        "again."
        if changed
        else ""
    )
    return f"{_count(count)} not read by a reviewer yet: due by {_day(standing.due_on)}.{again}"


def _signatory(review: Any) -> str:
    """Return name and function as signed, and the account's where they differ."""
    account = f"{review.by_name}, {review.get_role_display().lower()}"
    same = review.title.strip().casefold() == account.casefold()
    return review.title if same else f"{review.title} ({account})"


def _training(review: Any) -> str:
    if not review.training:
        return f"no training of {review.by_name} on file"
    return f"training on file then: {review.training}"


def _lateness(review: Any) -> str:
    after = _days(review.days_after)
    said = f"{after} after the oldest entry that was new, made {_day(review.oldest_on)}"
    if not review.days_late:
        return f"{said}; due by {_day(review.due_on)}"
    return (
        f"{said}: {_days(review.days_late)} LATE, it was due by {_day(review.due_on)}"
    )


def _own(review: Any) -> str:
    if not review.own_rows:
        return ""
    return f"{_count(review.own_rows)} the reviewer’s own."


def _trail(review: Any) -> str:
    if not review.trail_head_sha256:
        return ""
    return f"event {review.trail_head_number}, {review.trail_head_sha256}"


def _days(number: int) -> str:
    return f"{number} day" if number == 1 else f"{number} days"


def _count(number: int) -> str:
    return "1 entry is" if number == 1 else f"{number} entries are"


def _day(day: date) -> str:
    return f"{day.day} {day:%b %Y}"
