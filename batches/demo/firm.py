"""The invented firm: who works there, with what, and what comes in."""

from datetime import datetime
from decimal import Decimal
from typing import Any

from batches import recording
from batches.demo.diary import UNIT, Diary, Firm, written
from batches.demo.story import Row, local, season, table

TOLERANCE_F = Decimal("2.0")
CHECK_EVERY_DAYS = 7  # the plan checks on Mondays
CHECKED_TOGETHER = 6


def open_firm(diary: Diary) -> None:
    """Set up the producer, the people, the products and the instruments."""
    told = season()
    firm = diary.firm
    opened = local(told["producer"]["since"])
    diary.add(opened, _create_producer, firm, told["producer"])
    diary.add(written(opened), _add_reviewer, firm, told)
    for name, product in told["products"].items():
        diary.add(written(opened, 1), _add_product, firm, name, product)
    for instrument in told["instruments"]:
        since = local(instrument.get("since", told["producer"]["since"]))
        diary.add(written(since, 2), _add_instrument, firm, instrument)


def _create_producer(firm: Firm, told: dict[str, Any], *, at: datetime) -> None:
    firm.members[told["initials"]] = recording.create_producer(
        name=told["name"],
        owner_name=told["owner_name"],
        initials=told["initials"],
        username=told["username"],
        password=told["password"],
        premises_name=told["premises_name"],
        address=told["address"],
        time_zone=told["time_zone"],
        elevation_m=Decimal(told["elevation_m"]),
        temperature_unit=told["temperature_unit"],
        jurisdiction=told["jurisdiction"],
        paper=told["paper"],
        at=at,
    )


def _add_reviewer(firm: Firm, told: dict[str, Any], *, at: datetime) -> None:
    reviewer = told["reviewer"]
    firm.members[reviewer["initials"]] = recording.add_member(
        firm.producer,
        **reviewer,
        password=told["producer"]["password"],
        by=firm.owner,
        at=at,
    )


def _add_product(firm: Firm, name: str, told: dict[str, Any], *, at: datetime) -> None:
    told = {key: value for key, value in told.items() if key != "net_g"}
    if "thickest_mm" in told:
        told["thickest_mm"] = Decimal(told["thickest_mm"])
    firm.products[name] = recording.add_product(
        firm.producer,
        **told,
        programme=season()["producer"]["programme"],
        by=firm.owner,
        at=at,
    )


def _add_instrument(firm: Firm, told: dict[str, Any], *, at: datetime) -> None:
    measures = told.get("measures", "temperature")
    is_thermometer = measures == "temperature"
    firm.instruments[told["code"]] = recording.add_instrument(
        firm.producer,
        code=told["code"],
        name=told["name"],
        measures=measures,
        unit=UNIT if is_thermometer else "1",
        tolerance=TOLERANCE_F if is_thermometer else None,
        check_every_days=CHECK_EVERY_DAYS,
        by=firm.owner,
        at=at,
    )


def check_instruments(diary: Diary) -> None:
    """Check every instrument as the firm does on Mondays."""
    for number, row in enumerate(table("checks")):
        at = written(local(row["at"]), number % CHECKED_TOGETHER)
        diary.add(at, _check, diary.firm, row)


def _check(firm: Firm, row: Row, *, at: datetime) -> None:
    recording.record_check(
        firm.instruments[row["instrument"]],
        method=row["method"],
        shown=Decimal(row["shown_f"]),
        true=Decimal(row["true_f"]),
        unit=UNIT,
        pressure=row["pressure_hpa"] or None,
        out_of_use=row["action"] == "out-of-use",
        occurred_at=local(row["at"]),
        note=row["note"],
        by=firm.owner,
        at=at,
    )


def receive_lots(diary: Diary) -> None:
    """Receive every delivery, also the one that was refused."""
    for row in table("lots"):
        diary.add(written(local(row["received"])), _receive, diary.firm, row)


def _receive(firm: Firm, row: Row, *, at: datetime) -> None:
    firm.lots[row["lot"]] = recording.receive_lot(
        firm.producer,
        code=row["lot"],
        food=row["food"],
        supplier=row["supplier"],
        supplier_code=row["supplier_code"],
        received_at=local(row["received"]),
        mass_kg=Decimal(row["mass_kg"]),
        note=(
            f"{row['item']}. Core {row['core_f']} °F, the warmest of "
            f"{row['cores']}: {row['warmest_f']} °F. Papers: {row['papers']}. "
            f"Decision: {row['decision']}."
        ),
        by=firm.owner,
        at=at,
    )
