"""What the other pages leave out: odd entries, remarks, cleaning, reviews."""

from datetime import date, datetime
from functools import lru_cache
from typing import Any

from batches import recording
from batches.demo.diary import REVIEWER, Diary, Firm, written
from batches.demo.story import Row, local, season, table
from batches.lookups import batch_of, records_of, reviews_due
from batches.lookups.reviews import batch_read, week_read

REVIEWED_AT = "T10:00"
CHECKS_READ_AT = "T10:30"
REST_READ_AT = "T10:40"


def look_back(diary: Diary) -> None:
    """Write down what the other pages of the diary leave out."""
    for row in table("odd_readings"):
        _read(diary, row)
    for row in table("remarks"):
        text = row["text"]
        told: dict[str, Any] = {"step": row["step"], "by": row["by"]}
        diary.remark(row["batch"], local(row["at"]), text, **told)
    for row in table("sanitation"):
        _clean(diary, row)
    for row in table("reviews"):
        _review(diary, row)
    for row in table("check_reviews"):
        _read_week(diary, row)


def _read(diary: Diary, row: Row) -> None:
    name = f"{row['batch']} {row['quantity']} {row['at']}"
    told: dict[str, Any] = {
        "step": row["step"],
        "quantity": row["quantity"],
        "place": row["place"],
        "instrument": row["instrument"],
    }
    batch, at = row["batch"], local(row["at"])
    diary.read(
        batch,
        at,
        row["value"],
        unit=row["unit"],
        at=local(row["entered"]),
        name=name,
        **told,
    )
    if row["corrected"]:
        diary.read(
            batch,
            at,
            row["corrected_value"],
            unit=row["corrected_unit"],
            at=local(row["corrected"]),
            corrects=name,
            reason=row["reason"],
            **told,
        )


def _clean(diary: Diary, row: Row) -> None:
    mid_shift = row["mid_shift"] or "blank"
    note = f"; {row['note']}" if row["note"] else ""
    text = (
        f"Cleaning: before work {row['before_work']}, start {row['start']}, mid-shift "
        f"{mid_shift}, after work {row['after_work']}; sanitizer "
        f"{row['sanitizer_ppm']} ppm{note}."
    )
    done: datetime = local(f"{row['day']}T{row['after_work']}")
    for review in table("reviews"):
        if review["made"] == row["day"]:
            diary.remark(review["batch"], done, text)


def _review(diary: Diary, row: Row) -> None:
    reviewed = local(row["reviewed"] + REVIEWED_AT)
    diary.add(written(reviewed), _sign_batch, diary.firm, row["batch"])


def _read_week(diary: Diary, row: Row) -> None:
    """Read the checks of a week, and what was added to batches that were read before."""
    week_of = date.fromisoformat(row["week_of"])
    checks = local(row["reviewed"] + CHECKS_READ_AT)
    diary.add(written(checks), _sign_week, diary.firm, week_of)
    rest = local(row["reviewed"] + REST_READ_AT)
    diary.add(written(rest), _sign_rest, diary.firm)


def _sign_batch(firm: Firm, code: str, *, at: datetime) -> None:
    batch = batch_of(firm.producer, code)
    seen = batch_read(records_of(batch)).sha256
    recording.sign_review(batch, seen_sha256=seen, **_signature(firm), at=at)


def _sign_week(firm: Firm, week_of: date, *, at: datetime) -> None:
    seen = week_read(firm.producer, week_of).sha256
    recording.sign_week(
        firm.producer, week_of=week_of, seen_sha256=seen, **_signature(firm), at=at
    )


def _sign_rest(firm: Firm, *, at: datetime) -> None:
    for standing in reviews_due(firm.producer):
        if standing.batch is not None and standing.last is not None:
            _sign_batch(firm, standing.batch.code, at=at)


def _signature(firm: Firm) -> dict[str, Any]:
    reviewer = firm.members[REVIEWER]
    _remember(reviewer.user)
    return {
        "password": season()["producer"]["password"],
        "title": f"{reviewer.name}, reviewer",
        "by": reviewer,
    }


def _remember(user: Any) -> None:
    """Let this one object know its password again at once: a look is slow on purpose."""
    if "check_password" not in vars(user):
        user.check_password = lru_cache(maxsize=1)(user.check_password)
