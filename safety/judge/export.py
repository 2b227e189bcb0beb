"""A batch as a document in the open format: what ``read_batch`` reads back."""

import json
import re
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal
from typing import Any

import numpy as np

from safety.facts import PRODUCT_FACTS
from safety.judge.document import FORMAT, US_PER_S
from safety.judge.evidence import (
    Amount,
    Batch,
    Check,
    Instrument,
    Reading,
    Trace,
    Window,
)
from safety.limits.model import (
    Band,
    Combination,
    CoolLimit,
    DwellLimit,
    ExposureLimit,
    Limit,
    StatedLimit,
    StayLimit,
    ValueLimit,
    WithinLimit,
)

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


_MARK = "\x00number "
_MARKED = re.compile(r'"\\u0000number ([^"]*)"')


def write_batch(batch: Batch, *, indent: int | None = None) -> str:
    """Return ``batch`` as the text of a batch file.

    Parameters
    ----------
    batch : Batch
        Anything that ``read_batch`` returns, or the records of a producer.
    indent : int, optional
        Spaces per level; None for one line.

    Returns
    -------
    str
        JSON in which every number stands with the digits it was written with.
    """
    return exact_json(batch_file(batch), indent=indent)


def exact_json(document: object, *, indent: int | None = None) -> str:
    """Return plain values as JSON text.

    Parameters
    ----------
    document : object
        Dicts, lists, strings, Decimals, ints, bools and None.
    indent : int, optional
        Spaces per level; None for one line.

    Returns
    -------
    str
        In which every Decimal stands with the digits it was written with.
    """
    text = json.dumps(document, default=_marked, ensure_ascii=True, indent=indent)
    return _MARKED.sub(r"\1", text)


def _marked(value: object) -> str:
    if isinstance(value, Decimal):
        return f"{_MARK}{value}"
    raise TypeError(value)


def batch_file(batch: Batch) -> dict[str, Any]:
    """Return ``batch`` as the open format writes it.

    Parameters
    ----------
    batch : Batch
        Anything that ``read_batch`` returns, or the records of a producer.

    Returns
    -------
    dict
        Of strings, Decimals, ints, bools, lists and dicts. Read back it is the same
        batch: no value is rounded, no instant moved.
    """
    document: dict[str, Any] = {
        "format": FORMAT,
        "judged_at": batch.judged_at.isoformat(),
        "product": _product(batch),
    }
    if batch.code:
        document["batch"] = {"code": batch.code}
    document["instruments"] = [_instrument(each) for each in batch.instruments]
    document["windows"] = [_window(each) for each in batch.windows]
    document["readings"] = [_reading(each) for each in batch.readings]
    document["traces"] = [_trace(each) for each in batch.traces]
    document["statements"] = [
        {"what": each.what, "complies": each.complies} for each in batch.statements
    ]
    document["dates"] = [
        {"what": each.what, "at": each.at.isoformat()} for each in batch.dates
    ]
    if batch.limits is not None:
        document["limits"] = [limit_entry(limit) for limit in batch.limits]
    return document


def _product(batch: Batch) -> dict[str, Any]:
    facts = batch.product.facts
    product: dict[str, Any] = {"name": batch.product.name} if batch.product.name else {}
    product |= {name: facts[name] for name in PRODUCT_FACTS if name in facts}
    further = {n: value for n, value in facts.items() if n not in PRODUCT_FACTS}
    if further:
        product["facts"] = further
    return product


def _amount(amount: Amount) -> dict[str, Any]:
    return {"value": amount.value, "unit": amount.unit}


def _check(check: Check) -> dict[str, Any]:
    entry: dict[str, Any] = {
        "at": check.at.isoformat(),
        "method": check.method,
        "shown": _amount(check.shown),
        "true": _amount(check.true),
    }
    if check.adjusted:
        entry["adjusted"] = True
    return entry


def _instrument(instrument: Instrument) -> dict[str, Any]:
    entry: dict[str, Any] = {"id": instrument.id, "measures": instrument.measures}
    if instrument.tolerance is not None:
        entry["tolerance"] = _amount(instrument.tolerance)
    if instrument.check_every_days is not None:
        entry["check_every_days"] = instrument.check_every_days
    entry["checks"] = [_check(check) for check in instrument.checks]
    return entry


def _window(window: Window) -> dict[str, Any]:
    return {
        "step": window.step,
        "start": window.start.isoformat(),
        "end": None if window.end is None else window.end.isoformat(),
    }


def _measured(row: Reading | Trace) -> dict[str, Any]:
    entry: dict[str, Any] = {"step": row.step, "quantity": row.quantity}
    if row.place is not None:
        entry["place"] = row.place
    if row.instrument is not None:
        entry["instrument"] = row.instrument
    return entry


def _reading(reading: Reading) -> dict[str, Any]:
    entry = _measured(reading) | {
        "at": reading.at.isoformat(),
        "value": reading.value,
        "unit": reading.unit,
    }
    if reading.entered_at is not None:
        entry["entered_at"] = reading.entered_at.isoformat()
    return entry


def _trace(trace: Trace) -> dict[str, Any]:
    return (
        _measured(trace)
        | {"unit": trace.unit}
        | _instants(trace)
        | {
            "values": [
                Decimal(value).scaleb(-trace.decimals)
                for value in trace.values.tolist()
            ]
        }
    )


def _instants(trace: Trace) -> dict[str, Any]:
    """Return the keys that say when: a start and an interval where those say it all."""
    at_us = trace.at_us
    if isinstance(trace.offset_s, int) and len(at_us) > 1:
        gaps_us = np.diff(at_us)
        every_us = int(gaps_us[0])
        if every_us > 0 and bool((gaps_us == every_us).all()):
            seconds, rest_us = divmod(every_us, US_PER_S)
            return {
                "start": _instant(int(at_us[0]), trace.offset_s),
                "every_s": Decimal(every_us) / US_PER_S if rest_us else seconds,
            }
    offsets = np.broadcast_to(trace.offset_s, at_us.shape)
    pairs = zip(at_us.tolist(), offsets.tolist(), strict=True)
    return {"at": [_instant(instant, offset_s) for instant, offset_s in pairs]}


def _instant(at_us: int, offset_s: int) -> str:
    zone = timezone(timedelta(seconds=offset_s))
    return (_EPOCH + timedelta(microseconds=at_us)).astimezone(zone).isoformat()


def limit_entry(limit: Limit) -> dict[str, Any]:
    """Return a limit as the open format writes it.

    Parameters
    ----------
    limit : Limit
        Of any kind.

    Returns
    -------
    dict
        Which ``parse_limit`` reads back to the same limit.
    """
    entry: dict[str, Any] = {"id": limit.id}
    if limit.control_point is not None:
        entry["control_point"] = limit.control_point
    entry["kind"] = limit.kind
    if limit.step is not None:
        entry["step"] = limit.step
    return entry | _own_keys(limit)


def _own_keys(limit: Limit) -> dict[str, Any]:
    match limit:
        case ValueLimit():
            return _value_keys(limit)
        case CoolLimit():
            return _cool_keys(limit)
        case ExposureLimit():
            return {
                "quantity": limit.quantity,
                "unit": limit.unit,
                "bands": [_band(band) for band in limit.bands],
                "steps": list(limit.steps),
                "check_every_min": limit.check_every_min,
            }
        case WithinLimit():
            return {"what": limit.what, "of": limit.of, "days": limit.days}
        case StatedLimit():
            return {"what": limit.what}
        case Combination():
            return {"limits": [limit_entry(member) for member in limit.limits]}
    raise TypeError(limit)


def _value_keys(limit: ValueLimit) -> dict[str, Any]:
    entry: dict[str, Any] = {
        "quantity": limit.quantity,
        "value": limit.value,
        "unit": limit.unit,
    }
    if limit.strict:
        entry["strict"] = True
    for unit, value in limit.also.items():
        entry["printed_also"] = {"value": value, "unit": unit}
    if isinstance(limit, DwellLimit):
        entry |= {"minutes": limit.minutes, "check_every_min": limit.check_every_min}
    if isinstance(limit, StayLimit):
        entry |= {
            "excursion_min": limit.excursion_min,
            "check_every_min": limit.check_every_min,
        }
    return entry


def _cool_keys(limit: CoolLimit) -> dict[str, Any]:
    entry: dict[str, Any] = {
        "quantity": limit.quantity,
        "from": limit.from_value,
        "to": limit.to_value,
        "unit": limit.unit,
        "minutes": limit.minutes,
        "steps": list(limit.steps),
    }
    if limit.strict:
        entry["strict"] = True
    for unit, (start, end) in limit.also.items():
        entry["printed_also"] = {"from": start, "to": end, "unit": unit}
    return entry


def _band(band: Band) -> Mapping[str, Any]:
    return {"above": band.above, "up_to": band.up_to, "minutes": band.minutes}
