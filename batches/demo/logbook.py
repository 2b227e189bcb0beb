"""What the firm wrote down beside its batches: cleaning, training, a complaint, a visit."""

import tomllib
from collections.abc import Callable, Mapping
from datetime import datetime
from types import MappingProxyType
from typing import Any

from batches import recording
from batches.demo.diary import OWNER, UNIT, Diary, Firm, written
from batches.demo.story import DATA, Row, local, table
from batches.lookups import conditions_asked, day_at

DEEDS: dict[str, Callable[..., Any]] = {
    "training": recording.record_training,
    "document": recording.keep_document,
    "maintenance": recording.record_maintenance,
    "complaint": recording.record_complaint,
    "visit": recording.record_visit,
    "timing": recording.time_condition,
    "test": recording.record_test,
    "gauge": recording.check_gauge,
    "change": recording.record_change,
    "recall": recording.record_recall,
}
ROUNDS = (
    ("before_work", "before"),
    ("start", "start"),
    ("mid_shift", "during"),
    ("after_work", "after"),
)
PUT_RIGHT_FIRST = 100  # so many entries later: after the new mix was made
LOT_CHECKED = 1  # written down after the lot itself
GOOD, BAD = ("satisfactory", ""), "not-satisfactory"


def keep_logbook(diary: Diary) -> None:
    """Write down the rounds of every day of work, and what else happened."""
    for row in table("sanitation"):
        for column, moment in ROUNDS:
            if row[column]:
                _look(diary, row, local(f"{row['day']}T{row[column]}"), moment)
    for row in table("lots"):
        received = local(row["received"])
        at = written(received, LOT_CHECKED)
        diary.add(at, _check_lot, diary.firm, row, received)
    _keep_others(diary, tomllib.loads((DATA / "logbook.toml").read_text("utf-8")))


def _keep_others(diary: Diary, told: dict[str, Any]) -> None:
    for row in told["month"]:
        looked = local(row["at"])
        monthly = {"moment": "month", "occurred_at": looked, "note": row["note"]}
        diary.add(written(looked), _round, diary.firm, monthly)
    for kind in DEEDS:
        for entry in told[kind]:
            diary.add(local(entry["written"]), _enter, diary.firm, kind, entry)
            if "followup" in entry:
                done = entry["followup"]
                diary.add(local(done["written"]), _follow, diary.firm, kind, done)


def _look(diary: Diary, row: Row, seen: datetime, moment: str) -> None:
    bad, order = {}, 0
    if row["note"] and moment == "before":
        bad, order = {"contact-surfaces": (BAD, row["note"])}, PUT_RIGHT_FIRST
    strength = row["sanitizer_ppm"].split()[0]
    told = {"moment": moment, "sanitizer_ppm": strength, "occurred_at": seen}
    diary.add(written(seen, order), _round, diary.firm, told, bad)


def _round(
    firm: Firm,
    told: dict[str, Any],
    bad: Mapping[str, tuple[str, str]] = MappingProxyType({}),
    *,
    at: datetime,
) -> None:
    """Answer whatever the place asks on that round; all was good but for ``bad``."""
    place = firm.premises
    asked = conditions_asked(place).conditions(
        told["moment"], day_at(place, told["occurred_at"])
    )
    answers = {each.id: GOOD for each in asked} | dict(bad)
    recording.record_sanitation(place, **told, answers=answers, by=firm.owner, at=at)


def _check_lot(firm: Firm, row: Row, received: datetime, *, at: datetime) -> None:
    is_taken = row["decision"] == "accept"
    recording.check_lot(
        firm.premises,
        lot=firm.lots[row["lot"]],
        condition="frozen" if "frozen" in row["item"] else "iced",
        temperature=row["warmest_f"],
        unit=UNIT,
        papers=row["papers"],
        decision="accepted" if is_taken else "rejected",
        note=f"{row['cores']} cores read" if is_taken else row["decision"],
        occurred_at=received,
        by=firm.owner,
        at=at,
    )


def _enter(firm: Firm, kind: str, entry: dict[str, Any], *, at: datetime) -> None:
    ours = {"at", "written", "by", "followup"}
    told = {key: value for key, value in entry.items() if key not in ours}
    if "batch" in told:
        told["batch"] = firm.batches[told["batch"]]
    if "product" in told:
        told["product"] = firm.products[told["product"]]
    if "ended_at" in told:
        told["ended_at"] = local(told["ended_at"])
    by = firm.members[entry.get("by", OWNER)]
    occurred_at = local(entry["at"])
    firm.entries[kind] = DEEDS[kind](
        firm.premises, **told, occurred_at=occurred_at, by=by, at=at
    )


def _follow(firm: Firm, kind: str, done: dict[str, Any], *, at: datetime) -> None:
    told = {key: done[key] for key in ("did", "about_plan", "state")}
    recording.follow_up(
        firm.entries[kind],
        **told,
        occurred_at=local(done["at"]),
        by=firm.owner,
        at=at,
    )
