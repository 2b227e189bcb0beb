"""A small firm whose every row was written through the functions of every user."""

import itertools
from dataclasses import dataclass
from decimal import Decimal
from types import SimpleNamespace
from typing import Any

import numpy as np

from batches import models, recording
from batches.models.plan import no_edits
from batches.recording import rows
from tests.factories import PASSWORD, START, at

_COUNT = itertools.count(1)


@dataclass
class Kept:
    """What the firm wrote down, by name."""

    owner: Any
    product: Any
    instrument: Any
    lot: Any
    batch: Any
    readings: list
    check: Any
    logger_file: Any
    trace: Any

    @property
    def producer(self):
        return self.owner.producer


def open_firm(name="Saltmarsh Smokehouse", readings=3):
    """Open a firm and let it record a little of everything."""
    owner = recording.create_producer(
        name=name,
        owner_name="Ida Fenwarren",
        initials="IF",
        username=f"owner{next(_COUNT)}",
        password=PASSWORD,
        premises_name="The shed",
        address="14 Ropewalk Lane",
        time_zone="America/Detroit",
        elevation_m="195",
        temperature_unit="degF",
        jurisdiction="US-MI",
        paper="letter",
        at=at(-600),
    )
    producer = owner.producer
    signature = {"by": owner, "at": at(-300)}
    product = recording.add_product(
        producer, name="Hot-smoked coho", process="hot-smoked", **signature
    )
    instrument = recording.add_instrument(
        producer, code="H1", measures="temperature", unit="degF", **signature
    )
    check = recording.record_check(
        instrument,
        method="ice-point",
        shown="32.1",
        true="32",
        unit="degF",
        occurred_at=at(-301),
        **signature,
    )
    lot = recording.receive_lot(
        producer,
        code="L1",
        food="coho-salmon",
        supplier="Harbour",
        received_at=at(-310),
        mass_kg="12.50",
        **signature,
    )
    batch = recording.start_batch(
        producer,
        product=product,
        premises=producer.premises.get(),
        lots=[(lot, "4.0")],
        started_at=START,
        by=owner,
        at=START,
    )
    typed = [read(batch, owner, number) for number in range(readings)]
    logger_file, trace = log(batch, owner, minutes=max(9, readings))
    return Kept(
        owner, product, instrument, lot, batch, typed, check, logger_file, trace
    )


def read(batch, by, number=0, **told):
    """Record one reading, one tenth of a degree warmer for each number."""
    given = {
        "step": "heating",
        "quantity": "core-temperature",
        "value": Decimal(1400 + number).scaleb(-1),
        "unit": "degF",
        "occurred_at": START,
    }
    return recording.record_reading(batch, **given | told, by=by, at=at(number))


def log(batch, by, number=0, count=50, lines=40, minutes=9):
    """Import a series from a logger's file."""
    data = f"invented file {number}\n".encode() * lines
    logger_file = recording.store_logger_file(
        batch.producer,
        name="log.csv",
        data=data,
        understanding={},
        by=by,
        at=at(minutes + number),
    )
    start_us = int(at(-60).timestamp()) * 1_000_000
    series = SimpleNamespace(
        at_us=np.arange(count) * 60_000_000 + start_us,
        values=(np.arange(count) + number) % 500 + 1000,
        decimals=1,
    )
    trace = recording.record_trace(
        batch,
        step="heating",
        quantity="core-temperature",
        unit="degF",
        series=series,
        logger_file=logger_file,
        by=by,
        at=at(minutes + number),
    )
    return logger_file, trace


def sign_a_plan(kept, number=1):
    """Sign a plan of no content: only what its signature says of the trail matters."""
    whose = {
        "producer": kept.producer,
        "product": kept.product,
        "premises": kept.batch.premises,
        "number": number,
    }
    version = rows.add(
        models.PlanVersion,
        revision=1,
        edits=no_edits(),
        **whose,
        **rows.signed(kept.owner, at(10)),
    )
    return rows.add(
        models.PlanSignature,
        version=version,
        content="{}",
        content_sha256="0" * 64,
        meaning="I have read it.",
        title="owner",
        role="owner",
        signed_at=at(11),
        by=kept.owner,
        by_name=kept.owner.name,
        **rows.seen(kept.producer),
        **whose,
    )
