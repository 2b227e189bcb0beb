"""Thawing, brining, smoking and cooling, as the firm wrote them down.

Where the story gives a range for all batches one figure of it is used: 25 h of thawing
(24 to 26 h), 40 min under the fan before loading (20 to 60 min).
"""

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from batches import recording
from batches.demo.deviated import decision_of
from batches.demo.diary import UNIT, Diary, Firm, written
from batches.demo.story import Row, local, row_of, rows_of, season, table

THAW = timedelta(hours=25)
FAN = timedelta(minutes=40)
DRY_IN_CHAMBER = timedelta(minutes=100)
NEW_PLAN, NEW_PLAN_SIGNED = "2025-07-21", "2025-07-21T16:00"
WITH_PAPERS = ("hot-smoked rainbow trout", "hot-smoked whitefish")
PLANNED_HERE = ("hot-smoked coho", *WITH_PAPERS)

COOKED_TWICE, COOKED_AGAIN = "B11", "B11R"
OPENED_PACKS, OPENED_KG = 47, Decimal("9.40")  # of 200 g each
OPENED = timedelta(minutes=10)  # before the second cooking

ON_PAPER, UNSIGNED_ROWS = "B04", range(3, 6)  # noted on a sheet that nobody signed
COPIED_AFTER = timedelta(minutes=9)

THICKNESS_FOUND = "2025-07-20T11:00"
THICKNESS_REASON = (
    "photo of the thickest piece, found on 07-20: three small ones were measured"
)
LIFTED_REASON = (
    "lifted at 9 h 20 (start misread as 20:30 instead of 21:30), back in brine from "
    "06:58 to 07:42, net 10 h 04"
)
LIFTED_FOR = timedelta(minutes=8)
LATE_OUT = "Brine out at 06:05, entered 26 h 07 later: phone flat, wrote on tape."


def plan_label(product: str, day: str) -> str:
    """Return the plan on paper that was in force; none where one is signed here."""
    if product in PLANNED_HERE:
        return ""
    return "v4" if day >= NEW_PLAN else "v3"


def is_logged(batch: str) -> bool:
    """Say whether the smoke logger ran; the jerky was read by hand."""
    return bool(rows_of("smoke", batch))


def heating_of(batch: str) -> tuple[datetime, datetime]:
    """Return the first and the last sample of the smoke logger."""
    start = local(row_of("smoke_starts", batch)["start"])
    return start, _after(start, rows_of("smoke", batch)[-1])


def cooled_at(batch: str) -> datetime:
    """Return when the last cooling reading was made; without any, the end of drying."""
    if not is_logged(batch):
        return max(local(row["end"]) for row in rows_of("odd_steps", batch))
    return _after(heating_of(batch)[1], rows_of("cooling", batch)[-1])


def _after(start: datetime, row: Row) -> datetime:
    return start + timedelta(minutes=int(row["minute"]))


def make_batches(diary: Diary) -> None:
    """Write down every batch from the thawing to the end of its cooling."""
    for row in table("brine"):
        _start(diary, row)
        _brine(diary, row)
    _open_again(diary)
    for row in table("smoke_starts"):
        _smoke(diary, row["batch"])
        _cool(diary, row["batch"])
    for row in table("odd_steps"):
        diary.mark(row["batch"], row["step"], "start", local(row["start"]), order=1)
        diary.mark(row["batch"], row["step"], "end", local(row["end"]))


def _start(diary: Diary, row: Row) -> None:
    batch, brine_in = row["batch"], local(row["brine_in"])
    is_frozen = season()["products"][row["product"]]["facts"]["receipt"] == "frozen"
    is_thawed_here = is_frozen and not _plan_was_signed(brine_in - THAW, brine_in)
    started_at = brine_in - THAW if is_thawed_here else brine_in
    told: dict[str, Any] = {
        "product": row["product"],
        "lot": row["lot"],
        "mass_kg": Decimal(row["fish_kg"]),
        "started_at": started_at,
        "plan_label": plan_label(row["product"], row["smoke_date"]),
    }
    diary.add(written(started_at), start_batch, diary.firm, batch, **told)
    if row["product"] in WITH_PAPERS:
        diary.write(
            recording.record_statement,
            batch,
            written(started_at, 1),
            what="receiving-papers",
            complies=True,
            occurred_at=started_at,
        )
    if not is_frozen:
        return
    if is_thawed_here:
        diary.mark(batch, "thawing", "start", started_at, order=1)
        diary.mark(batch, "thawing", "end", brine_in)
    thawed = "Thawed in C1 at 36–38 °F, 24–26 h; core at the end 33–36 °F."
    diary.remark(batch, brine_in, thawed, step="thawing", order=1)


def _plan_was_signed(start: datetime, end: datetime) -> bool:
    """Say whether a new plan came while fish thawed: its batch is begun by that plan."""
    return start < local(NEW_PLAN_SIGNED) <= end


def start_batch(
    firm: Firm, batch: str, *, product: str, lot: str, mass_kg: Decimal, **told: Any
) -> None:
    """Start a batch under the code that the story gives it."""
    firm.batches[batch] = recording.start_batch(
        firm.producer,
        product=firm.products[product],
        premises=firm.premises,
        lots=[(firm.lots[lot], mass_kg)],
        code=batch,
        by=firm.owner,
        **told,
    )


def _brine(diary: Diary, row: Row) -> None:
    batch = row["batch"]
    brine_in, brine_out = local(row["brine_in"]), local(row["brine_out"])
    diary.mark(batch, "curing", "start", brine_in, order=2)
    thick: dict[str, Any] = {
        "step": "curing",
        "quantity": "thickness",
        "place": "thickest",
        "unit": "mm",
    }
    diary.read(
        batch, brine_in, row["thickest_mm"], order=3, name=f"{batch} thickest", **thick
    )
    if row["true_thickest_mm"]:
        diary.read(
            batch,
            brine_in,
            row["true_thickest_mm"],
            at=local(THICKNESS_FOUND),
            corrects=f"{batch} thickest",
            reason=THICKNESS_REASON,
            **thick,
        )
    told: dict[str, Any] = {"unit": UNIT, "step": "curing", "instrument": "H1"}
    water: dict[str, Any] = {"quantity": "water-temperature", "place": "brine"}
    diary.read(batch, brine_in, row["water_f"], order=4, **told, **water)
    diary.remark(batch, brine_in, _mixture(row), step="curing", order=5)
    diary.write(
        recording.mix_brine,
        batch,
        written(brine_in, 6),
        water=row["water_l"],
        salt=row["salt_kg"],
        mass_unit="kg",
        salometer=row["salometer_start"],
        temperature=row["water_f"],
        temperature_unit=UNIT,
        is_corrected=True,
        occurred_at=brine_in,
    )
    area: dict[str, Any] = {"quantity": "air-temperature", "place": "brine area"}
    diary.read(batch, brine_out, row["area_f"], order=1, **told, **area)
    _lift(diary, row)
    diary.remark(batch, brine_out, _soak(row), step="curing", order=2)


def _lift(diary: Diary, row: Row) -> None:
    batch, out = row["batch"], local(row["brine_out"])
    if row["lifted"]:
        first = f"{batch} lifted"
        diary.mark(batch, "curing", "end", local(row["lifted"]), name=first)
        again: dict[str, Any] = {"corrects": first, "reason": LIFTED_REASON}
        diary.mark(batch, "curing", "end", out, **again)
        lifted = local(row["lifted"])
        diary.write(
            recording.interrupt_soak,
            batch,
            written(lifted + LIFTED_FOR),
            occurred_at=lifted,
            back_at=lifted + LIFTED_FOR,
        )
    elif row["out_written"]:
        late = local(row["out_written"])
        diary.mark(batch, "curing", "end", out, at=late)
        diary.remark(batch, late, LATE_OUT, step="curing")
    else:
        diary.mark(batch, "curing", "end", out)


def _mixture(row: Row) -> str:
    return (
        f"{row['pieces']} fillets, {row['fish_kg']} kg. Brine: {row['water_l']} L water, "
        f"{row['salt_kg']} kg salt, {row['salt_pct']} % by weight, "
        f"{row['salometer_computed']} °SAL calculated, SM1 read "
        f"{row['salometer_start']} °SAL; brine to fish {row['ratio']} to 1 by weight."
    )


def _soak(row: Row) -> str:
    hours, minutes = divmod(int(row["net_min"]), 60)
    return (
        f"SM1 read {row['salometer_end']} °SAL at the end. Net soak {hours} h "
        f"{minutes:02} min; against the plan: {row['against_plan']}."
    )


def _open_again(diary: Diary) -> None:
    """Start the second cooking of the batch that failed the look-back."""
    row = row_of("brine", COOKED_TWICE)
    opened_at = heating_of(COOKED_AGAIN)[0] - OPENED
    told: dict[str, Any] = {
        "kg": OPENED_KG,
        "packages": OPENED_PACKS,
        "started_at": opened_at,
        "plan_label": plan_label(row["product"], str(opened_at.date())),
        "note": f"{OPENED_PACKS} packs of {COOKED_TWICE}, opened and cooked again.",
    }
    diary.add(written(opened_at), _rework, diary.firm, **told)


def _rework(firm: Firm, *, at: datetime, **told: Any) -> None:
    rework = recording.start_rework(
        decision_of(firm, COOKED_TWICE),
        code=COOKED_AGAIN,
        by=firm.owner,
        at=at,
        **told,
    )
    firm.batches[COOKED_AGAIN] = rework.to_batch


def _smoke(diary: Diary, batch: str) -> None:
    start, end = heating_of(batch)
    if batch != COOKED_AGAIN:
        diary.mark(batch, "drying", "start", start - FAN)
        dried = start + DRY_IN_CHAMBER
        diary.mark(batch, "drying", "end", dried)
        diary.write(
            recording.record_statement,
            batch,
            written(dried, 2),
            what="dried-two-hours",
            complies=True,
            occurred_at=dried,
        )
    diary.mark(batch, "heating", "start", start)
    diary.mark(batch, "heating", "end", end)


def _cool(diary: Diary, batch: str) -> None:
    _, removed = heating_of(batch)
    diary.mark(batch, "cooling", "start", removed, order=1)
    for number, row in enumerate(rows_of("cooling", batch), start=1):
        read = _after(removed, row)
        copied: dict[str, Any] = {}
        if batch == ON_PAPER and number in UNSIGNED_ROWS:
            copied = {"at": read + COPIED_AFTER, "paper_initials": ""}
        diary.read(
            batch,
            read,
            row["core_f"],
            order=2,
            step="cooling",
            quantity="core-temperature",
            place="thickest",
            unit=UNIT,
            instrument="H1",
            **copied,
        )
    diary.mark(batch, "cooling", "end", cooled_at(batch), order=3)
