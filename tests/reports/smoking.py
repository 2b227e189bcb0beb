"""An invented batch, written down as people write it down: through the recording."""

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal

import numpy as np

from batches import recording
from batches.models import Batch, Instrument, Member, Reading
from tests.factories import START, at

# Core of three pieces, every ten minutes for five hours, and one piece cooling.
MINUTES = range(0, 310, 10)
PEAKS = {"P1": 178.0, "P2": 171.0, "P3": 163.0}
COOLING = [
    "167.0",
    "146.3",
    "128.7",
    "114.0",
    "101.4",
    "91.1",
    "82.0",
    "69.2",
    "55.9",
    "47.9",
    "42.9",
    "39.8",
]
COOL_FROM = 305
WARMED = 60 * 24


@dataclass
class Smoking:
    """What a test may ask for again."""

    member: Member
    batch: Batch
    probes: dict[str, Instrument]
    late: Reading
    mistyped: Reading


@dataclass
class Series:
    at_us: np.ndarray
    values: np.ndarray
    decimals: int = 1


def core_f(peak_f: float) -> np.ndarray:
    """Return an invented heating curve, tenths of a degree."""
    minutes = np.array(MINUTES)
    share = 1 / (1 + np.exp(-(minutes - 200) / 30))
    return np.rint((40 + (peak_f - 40) * share) * 10).astype(np.int64)


def us(minutes: float) -> int:
    return int(at(minutes).timestamp() * 1_000_000)


def a_producer(name: str = "Brackenshoal Smokehouse", username: str = "ida") -> Member:
    return recording.create_producer(
        name=name,
        owner_name="Ida Fenwarren",
        initials="IF",
        username=username,
        password="cold water, hot smoke",
        premises_name="Smokehouse",
        address="14 Ropewalk Lane, Merrowick",
        time_zone="America/Detroit",
        elevation_m="195",
        temperature_unit="degF",
        jurisdiction="US-MI",
        paper="letter",
        at=START - timedelta(days=60),
    )


def a_smoking(member: Member | None = None, code: str = "B07") -> Smoking:
    """Write down a batch: logged heating, cooling too slow, one slip, one late entry."""
    member = member or a_producer()
    producer = member.producer
    signed = {"by": member, "at": START - timedelta(days=2)}
    product = recording.add_product(
        producer,
        name="Coho, hot-smoked, vacuum packed",
        food="coho-salmon",
        process="hot-smoked",
        packaging="reduced-oxygen",
        storage="refrigerated",
        programme="seafood-processor",
        facts={
            "eviscerated": "yes",
            "handled-after-cooking": "no",
            "nitrite-added": "no",
            "receipt": "fresh",
        },
        shelf_life_days=14,
        thickest_mm="32",
        **signed,
    )
    lot = recording.receive_lot(
        producer,
        code="RL-05",
        food="coho-salmon",
        supplier="Windle Bar Fishers",
        supplier_code="W-118",
        received_at=START - timedelta(days=3),
        mass_kg="45.0",
        **signed,
    )
    probes = {code: _an_instrument(member, code) for code in (*PEAKS, "H1")}
    batch = recording.start_batch(
        producer,
        product=product,
        premises=producer.premises.get(),
        lots=[(lot, "12.80")],
        started_at=START,
        by=member,
        at=at(1),
        code=code,
        plan_label="plan v3",
    )
    _mark(batch, member, "heating", 0, COOL_FROM)
    _log(batch, member, probes)
    _mark(batch, member, "cooling", COOL_FROM, COOL_FROM + 345)
    late, mistyped = _cool(batch, member, probes["H1"])
    _say(batch, member)
    return Smoking(member, batch, probes, late, mistyped)


def _an_instrument(member: Member, code: str) -> Instrument:
    instrument = recording.add_instrument(
        member.producer,
        code=code,
        name="Core probe",
        measures="temperature",
        unit="degF",
        tolerance="2",
        by=member,
        at=START - timedelta(days=50),
    )
    for days, shown in ((20, "32.1"), (6, "31.9")):
        checked = START - timedelta(days=days)
        recording.record_check(
            instrument,
            method="ice-point",
            shown=shown,
            true="32",
            unit="degF",
            occurred_at=checked,
            by=member,
            at=checked + timedelta(minutes=1),
        )
    return instrument


def _mark(batch: Batch, member: Member, step: str, start: int, end: int) -> None:
    for edge, minute in (("start", start), ("end", end)):
        recording.mark_step(
            batch,
            step=step,
            edge=edge,
            occurred_at=at(minute),
            by=member,
            at=at(minute + 1),
        )


def _log(batch: Batch, member: Member, probes: dict[str, Instrument]) -> None:
    rows = [[str(minute) for minute in MINUTES]]
    rows += [[str(value) for value in core_f(peak).tolist()] for peak in PEAKS.values()]
    file = recording.store_logger_file(
        batch.producer,
        name="run7.csv",
        data="\n".join(map(",".join, zip(*rows, strict=True))).encode(),
        understanding={},
        by=member,
        at=at(310),
    )
    for place, peak in PEAKS.items():
        recording.record_trace(
            batch,
            step="heating",
            quantity="core-temperature",
            place=place,
            unit="degF",
            instrument=probes[place],
            series=Series(np.array([us(m) for m in MINUTES]), core_f(peak)),
            logger_file=file,
            by=member,
            at=at(311),
        )


def _cool(batch: Batch, member: Member, instrument: Instrument) -> tuple:
    told = {
        "step": "cooling",
        "quantity": "core-temperature",
        "unit": "degF",
        "instrument": instrument,
        "by": member,
    }
    rows = []
    for count, value in enumerate(COOLING):
        minute = COOL_FROM + 30 * count
        entered = minute + (130 if count == 4 else 0.5)
        typed = "41.01" if count == 6 else value
        rows.append(
            recording.record_reading(
                batch, value=typed, occurred_at=at(minute), at=at(entered), **told
            )
        )
    recording.record_reading(
        batch,
        value=COOLING[6],
        occurred_at=rows[6].occurred_at,
        at=at(COOL_FROM + 200),
        corrects=rows[6],
        reason="Read off the wrong dial",
        **told,
    )
    return rows[4], rows[6]


def _say(batch: Batch, member: Member) -> None:
    done = {"by": member, "at": at(WARMED)}
    recording.record_statement(
        batch,
        what="label-keep-refrigerated",
        complies=True,
        occurred_at=at(WARMED - 5),
        **done,
    )
    recording.record_date(batch, what="use-by", occurs_at=at(WARMED * 14), **done)
    recording.record_remark(
        batch,
        text="Door open for four minutes at the first smoke.",
        occurred_at=at(WARMED - 4),
        **done,
    )
    recording.record_lab_result(
        batch,
        laboratory="Tidewrack Analytical",
        reference="T-2044",
        sampled_at=at(WARMED - 3),
        reported_at=at(WARMED - 2),
        read_at=at(WARMED - 1),
        pieces=[
            {"place": "piece 1", "salt": Decimal("2.60"), "moisture": Decimal("61.0")}
        ],
        **done,
    )
