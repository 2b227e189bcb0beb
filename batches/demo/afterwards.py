"""What the other pages leave out: odd entries, remarks, cleaning, reviews."""

from datetime import datetime
from typing import Any

from batches import recording
from batches.demo.diary import REVIEWER, Diary, written
from batches.demo.story import Row, local, table

REVIEWED_AT = "T10:00"


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
    diary.write(
        recording.record_date,
        row["batch"],
        written(reviewed),
        what="record-review",
        occurs_at=reviewed,
        by=REVIEWER,
    )
    text = f"Record reviewed, {row['days']} days after {row['made']}."
    diary.remark(row["batch"], reviewed, text, order=1, by=REVIEWER)
