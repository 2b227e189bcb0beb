"""Writes: a logger's file, and the series taken from it."""

from datetime import datetime
from decimal import Decimal
from pathlib import PurePath
from typing import Any, Protocol

import numpy as np
from django.db import transaction

from batches.errors import RecordError
from batches.models import Batch, Instrument, LoggerFile, Member, Producer, Trace
from batches.models.trace import Integers, instant_of, packed
from batches.recording import files, guards, rows


class Series(Protocol):
    """What a logger measured: instants in microseconds, figures as scaled integers."""

    at_us: Integers
    values: Integers
    decimals: int


@transaction.atomic
def store_logger_file(
    producer: Producer,
    *,
    name: str,
    data: bytes,
    understanding: dict[str, Any],
    by: Member,
    at: datetime,
) -> LoggerFile:
    """Keep a logger's file as it came, under its SHA-256."""
    guards.check_member(by, producer)
    if not data:
        raise RecordError(
            "file", f"{name} is empty. Export it again from the logger.", "empty"
        )
    path, digest = files.keep(producer, data)
    return rows.add(
        LoggerFile,
        producer=producer,
        name=PurePath(name).name,
        size=len(data),
        sha256=digest,
        content=path,
        understanding=understanding,
        **rows.signed(by, at),
    )


@transaction.atomic
def record_trace(
    batch: Batch,
    *,
    step: str,
    quantity: str,
    place: str = "",
    unit: str,
    instrument: Instrument | None = None,
    series: Series,
    logger_file: LoggerFile,
    by: Member,
    at: datetime,
    corrects: Trace | None = None,
    reason: str = "",
) -> Trace:
    """Take one sensor's series from a logger's file into a step of a batch."""
    batch = rows.locked(batch)
    guards.check_member(by, batch.producer)
    guards.check_own(logger_file, batch.producer, "logger_file", "file")
    rows.check_correction(corrects, reason, of=batch, kind=Trace)
    guards.check_step(step)
    at_us, values = _in_order(series)
    lowest, highest = (
        Decimal(int(end)).scaleb(-series.decimals)
        for end in (values.min(), values.max())
    )
    for figure in (lowest, highest):
        guards.check_plausible(quantity, figure, unit)
    guards.check_instrument(instrument, batch.producer, quantity)
    last_at = instant_of(int(at_us[-1]))
    guards.check_past("file", last_at, at=at, zone=batch.premises.zone)
    content = {
        "step": step,
        "quantity": quantity,
        "place": place.strip(),
        "unit": unit,
        "decimals": series.decimals,
        "count": len(at_us),
        "first_at": instant_of(int(at_us[0])),
        "last_at": last_at,
        "lowest": lowest,
        "highest": highest,
    }
    _check_new(batch, content, logger_file, (at_us, values), corrects)
    return rows.add(
        Trace,
        batch=batch,
        instrument=instrument,
        logger_file=logger_file,
        at_us=packed(at_us),
        values=packed(values),
        corrects=corrects,
        reason=reason.strip(),
        **content,
        **rows.signed(by, at),
    )


def _in_order(series: Series) -> tuple[Integers, Integers]:
    at_us = np.asarray(series.at_us, dtype=np.int64)
    values = np.asarray(series.values, dtype=np.int64)
    if at_us.ndim != 1 or at_us.shape != values.shape:
        raise RecordError(
            "file", "There is not one figure for each instant.", "bad-series"
        )
    if at_us.size == 0:
        raise RecordError(
            "file", "The series has no reading. Choose another column.", "empty"
        )
    if np.all(at_us[1:] >= at_us[:-1]):
        return at_us, values
    order = np.argsort(at_us, kind="stable")
    return at_us[order], values[order]


def _check_new(
    batch: Batch,
    content: dict[str, Any],
    logger_file: LoggerFile,
    arrays: tuple[Integers, Integers],
    corrects: Trace | None,
) -> None:
    """Refuse a series that is already there: a form sent twice stores it once."""
    others = batch.traces.current().filter(
        logger_file__sha256=logger_file.sha256, **content
    )
    if corrects is not None:
        others = others.exclude(pk=corrects.pk)
    for other in others:
        if all(map(np.array_equal, other.arrays(), arrays)):
            raise RecordError(
                "file",
                f"This series of {logger_file.name} is already in batch {batch.code}.",
                "already-stored",
            )
