"""The batch file: one JSON document to a batch, or a refusal that says where."""

import re
from collections.abc import Callable, Iterator, Mapping
from datetime import MAXYEAR, MINYEAR, datetime
from decimal import Decimal
from fractions import Fraction
from typing import Any, TypeVar

import numpy as np

from safety.controls import STEPS
from safety.errors import InputError, Refused, UnknownName
from safety.facts import FURTHER_FACTS, PRODUCT_FACTS, fact
from safety.judge.evidence import (
    MOST_DIGITS,
    Amount,
    Batch,
    Check,
    Instrument,
    Integers,
    NamedDate,
    Product,
    Reading,
    Statement,
    Trace,
    Window,
    decimals_of,
    offset_s_of,
    us_of,
)
from safety.judge.json_text import load
from safety.limits import default_tolerance
from safety.limits.fields import (
    checked_number,
    choice,
    join,
    mapping,
    number,
    refuse_unknown,
    required,
    show,
    text,
)
from safety.limits.parse import parse_limits
from safety.quantities import (
    INSTRUMENT_KINDS,
    QUANTITIES,
    SAMPLE,
    units_of_instrument,
)
from safety.units import convert_difference

FORMAT = "brinewright.batch/1"
US_PER_S = 10**6
CHECK_METHODS = ("ice-point", "boiling-point", "reference")

_ISO = re.compile(
    r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}(:\d{2}(\.\d{1,6})?0*)?(Z|[+-]\d{2}(:?\d{2})?)"
)
_WALL = re.compile(r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}(:\d{2}(\.\d+)?)?")

Entry = Mapping[str, Any]
_Sample = tuple[str, str | None, int]
_T = TypeVar("_T")


def read_batch(data: bytes | str, *, now: datetime) -> Batch:
    """Return the batch that a document in the open format describes.

    Parameters
    ----------
    data : bytes or str
        UTF-8 JSON.
    now : datetime
        The instant of judgement where the document names none; with an offset.

    Returns
    -------
    Batch
        Everything as it was written; nothing is rounded, sorted or guessed.

    Raises
    ------
    Refused
        If any part of the document is unclear: the whole file is refused.
    """
    document = load(data)
    top = mapping(document, "")
    if required(top, "format", "", FORMAT) != FORMAT:
        raise Refused("/format", show(top["format"]), FORMAT)
    refuse_unknown(
        top,
        (
            "format", "judged_at", "product", "batch", "instruments", "windows",
            "readings", "traces", "statements", "dates", "limits",
        ),
        "",
    )  # fmt: skip
    judged_at = _instant(top, "judged_at", "") if "judged_at" in top else now
    read = _Reader(judged_at)
    instruments = read.all(top, "instruments", read.instrument)
    read.instruments = {each.id: each for each in instruments}
    batch = mapping(top.get("batch", {}), "/batch")
    refuse_unknown(batch, ("code",), "/batch")
    readings = read.all(top, "readings", read.reading)
    traces = read.all(top, "traces", read.trace)
    _refuse_empty_samples(readings, traces)
    return Batch(
        judged_at=judged_at,
        product=_product(mapping(top.get("product", {}), "/product"), "/product"),
        code=text(batch, "code", "/batch") if "code" in batch else "",
        instruments=instruments,
        windows=read.all(top, "windows", read.window),
        readings=readings,
        traces=traces,
        statements=read.all(top, "statements", read.statement),
        dates=read.all(top, "dates", read.date),
        limits=(
            parse_limits(top["limits"], pointer="/limits") if "limits" in top else None
        ),
    )


def read_product(data: bytes | str) -> Product:
    """Return the product that a document holds: the ``product`` object of the format.

    Parameters
    ----------
    data : bytes or str
        UTF-8 JSON.

    Returns
    -------
    Product
        Its name and its facts; what is left out stays unknown.

    Raises
    ------
    Refused
        If any part of the document is unclear: the whole file is refused.
    """
    document = load(data)
    return _product(mapping(document, ""), "")


def _instant(entry: Entry, key: str, pointer: str) -> datetime:
    value = required(entry, key, pointer, "an instant with its offset")
    return _checked_instant(value, join(pointer, key))


def _checked_instant(value: object, pointer: str) -> datetime:
    allowed = "an ISO 8601 instant with its offset, as 2026-05-02T11:00:00-07:00"
    if not isinstance(value, str):
        raise Refused(pointer, show(value), allowed)
    if not _ISO.fullmatch(value):
        missing = " (the offset is missing)" if _WALL.fullmatch(value) else ""
        raise Refused(pointer, show(value) + missing, allowed)
    try:
        instant = datetime.fromisoformat(value)
    except ValueError:
        raise Refused(pointer, show(value), allowed) from None
    if not MINYEAR < instant.year < MAXYEAR:  # so that every offset can write it
        raise Refused(
            pointer, show(value), f"a year after {MINYEAR} and before {MAXYEAR}"
        )
    return instant


def _product(entry: Entry, pointer: str) -> Product:
    refuse_unknown(entry, ("name", *PRODUCT_FACTS, "facts"), pointer)
    facts = {
        name: _fact(name, entry[name], join(pointer, name))
        for name in PRODUCT_FACTS
        if name in entry
    }
    inside = join(pointer, "facts")
    further = mapping(entry.get("facts", {}), inside)
    refuse_unknown(further, FURTHER_FACTS, inside)
    for name, value in further.items():
        facts[name] = _fact(name, value, join(inside, name))
    return Product(
        name=text(entry, "name", pointer) if "name" in entry else "", facts=facts
    )


def _refuse_empty_samples(
    readings: tuple[Reading, ...], traces: tuple[Trace, ...]
) -> None:
    salts: dict[_Sample, set[Fraction]] = {}
    for _, sample, value in _of_samples("salt", readings, traces):
        salts.setdefault(sample, set()).add(value)
    if not salts:
        return
    for pointer, sample, value in _of_samples("moisture", readings, traces):
        if -value in salts.get(sample, ()):
            raise Refused(
                pointer,
                "salt and moisture that add up to 0",
                "a sample with salt or water in it",
            )


def _of_samples(
    quantity: str, readings: tuple[Reading, ...], traces: tuple[Trace, ...]
) -> Iterator[tuple[str, _Sample, Fraction]]:
    """Yield where each value of a quantity stands, of which sample it is, and it."""
    for i, reading in enumerate(readings):
        if reading.quantity == quantity:
            sample = (reading.step, reading.place, us_of(reading.at))
            yield f"/readings/{i}/value", sample, Fraction(reading.value)
    for i, trace in enumerate(traces):
        if trace.quantity == quantity:
            pairs = zip(trace.at_us.tolist(), trace.values.tolist(), strict=True)
            for j, (at_us, value) in enumerate(pairs):
                sample = (trace.step, trace.place, at_us)
                exact = Fraction(value, 10**trace.decimals)
                yield f"/traces/{i}/values/{j}", sample, exact


def _fact(name: str, value: object, pointer: str) -> str:
    known = fact(name)
    allowed = ", ".join(known.values) if known.values else f"text like {known.pattern}"
    if not isinstance(value, str):
        raise Refused(pointer, show(value), allowed)
    try:
        known.check(value)
    except (UnknownName, InputError):
        raise Refused(pointer, show(value), allowed) from None
    return value


def _amount(
    entry: Entry, key: str, pointer: str, units: tuple[str, ...], least: Decimal | None
) -> Amount:
    place = join(pointer, key)
    amount = mapping(required(entry, key, pointer, "a value and its unit"), place)
    refuse_unknown(amount, ("value", "unit"), place)
    return Amount(
        number(amount, "value", place, least=least),
        choice(amount, "unit", place, units),
    )


class _Reader:
    """Reads the lists of a document whose instant of judgement is known."""

    def __init__(self, judged_at: datetime) -> None:
        self.judged_at = judged_at
        self.instruments: dict[str, Instrument] = {}

    def all(
        self, top: Entry, key: str, read: Callable[[Entry, str, set[str]], _T]
    ) -> tuple[_T, ...]:
        entries = top.get(key, [])
        pointer = join("", key)
        if not isinstance(entries, list):
            raise Refused(pointer, show(entries), "a list")
        seen: set[str] = set()
        return tuple(
            read(mapping(entry, join(pointer, i)), join(pointer, i), seen)
            for i, entry in enumerate(entries)
        )

    def _past(self, instant: datetime, pointer: str) -> datetime:
        if instant > self.judged_at:
            raise Refused(
                pointer,
                instant.isoformat(),
                f"an instant no later than judged_at, {self.judged_at.isoformat()}",
            )
        return instant

    def _once(self, name: str, pointer: str, seen: set[str]) -> str:
        if name in seen:
            raise Refused(pointer, f"{show(name)} a second time", "each once")
        seen.add(name)
        return name

    def _optional_name(self, entry: Entry, key: str, pointer: str) -> str | None:
        return None if entry.get(key) is None else text(entry, key, pointer)

    def instrument(self, entry: Entry, pointer: str, seen: set[str]) -> Instrument:
        refuse_unknown(
            entry,
            ("id", "measures", "tolerance", "check_every_days", "checks"),
            pointer,
        )
        identity = self._once(text(entry, "id", pointer), join(pointer, "id"), seen)
        measures = choice(entry, "measures", pointer, INSTRUMENT_KINDS)
        units = units_of_instrument(measures)
        days = None
        if "check_every_days" in entry:
            days = number(entry, "check_every_days", pointer, least=Decimal(0))
        checks = entry.get("checks", [])
        place = join(pointer, "checks")
        if not isinstance(checks, list):
            raise Refused(place, show(checks), "a list")
        return Instrument(
            id=identity,
            measures=measures,
            tolerance=self._tolerance(entry, pointer, measures, units),
            check_every_days=days,
            checks=tuple(
                self._check(mapping(check, join(place, i)), join(place, i), units)
                for i, check in enumerate(checks)
            ),
        )

    def _tolerance(
        self, entry: Entry, pointer: str, measures: str, units: tuple[str, ...]
    ) -> Amount | None:
        if "tolerance" not in entry:
            return None
        tolerance = _amount(entry, "tolerance", pointer, units, Decimal(0))
        largest, unit, _ = default_tolerance(measures)
        if convert_difference(tolerance.value, tolerance.unit, unit) > largest:
            raise Refused(
                join(pointer, "tolerance"),
                f"{tolerance.value} {tolerance.unit}",
                f"at most {largest} {unit}",
            )
        return tolerance

    def _check(self, entry: Entry, pointer: str, units: tuple[str, ...]) -> Check:
        refuse_unknown(entry, ("at", "method", "shown", "true", "adjusted"), pointer)
        adjusted = entry.get("adjusted", False)
        if not isinstance(adjusted, bool):
            raise Refused(join(pointer, "adjusted"), show(adjusted), "true or false")
        return Check(
            at=self._past(_instant(entry, "at", pointer), join(pointer, "at")),
            method=choice(entry, "method", pointer, CHECK_METHODS),
            shown=_amount(entry, "shown", pointer, units, None),
            true=_amount(entry, "true", pointer, units, None),
            adjusted=adjusted,
        )

    def window(self, entry: Entry, pointer: str, seen: set[str]) -> Window:
        refuse_unknown(entry, ("step", "start", "end"), pointer)
        step = self._once(
            choice(entry, "step", pointer, STEPS), join(pointer, "step"), seen
        )
        start = self._past(_instant(entry, "start", pointer), join(pointer, "start"))
        if entry.get("end") is None:
            return Window(step=step, start=start)
        end = self._past(_instant(entry, "end", pointer), join(pointer, "end"))
        if end < start:
            raise Refused(
                join(pointer, "end"),
                f"{end.isoformat()}, before the start",
                f"an instant from {start.isoformat()} on, or null",
            )
        return Window(step=step, start=start, end=end)

    def _measured(self, entry: Entry, pointer: str) -> dict[str, Any]:
        step = choice(entry, "step", pointer, STEPS)
        name = choice(entry, "quantity", pointer, tuple(QUANTITIES))
        quantity = QUANTITIES[name]
        unit = choice(entry, "unit", pointer, quantity.units)
        instrument = self._optional_name(entry, "instrument", pointer)
        if instrument is not None:
            known = self.instruments.get(instrument)
            fits = known and quantity.instrument in (None, known.measures)
            if not fits:
                raise Refused(
                    join(pointer, "instrument"),
                    show(instrument),
                    f"a listed instrument that measures {quantity.title.lower()}",
                )
        return {
            "step": step,
            "quantity": name,
            "unit": unit,
            "instrument": instrument,
            "place": self._optional_name(entry, "place", pointer),
        }

    def reading(self, entry: Entry, pointer: str, seen: set[str]) -> Reading:
        refuse_unknown(
            entry,
            (
                "step", "quantity", "place", "at", "value", "unit", "instrument",
                "entered_at",
            ),
            pointer,
        )  # fmt: skip
        entered = entry.get("entered_at")
        return Reading(
            **self._measured(entry, pointer),
            at=self._past(_instant(entry, "at", pointer), join(pointer, "at")),
            value=number(entry, "value", pointer, least=_least(entry["quantity"])),
            entered_at=(
                None if entered is None else _instant(entry, "entered_at", pointer)
            ),
        )

    def trace(self, entry: Entry, pointer: str, seen: set[str]) -> Trace:
        refuse_unknown(
            entry,
            (
                "step", "quantity", "place", "unit", "instrument", "start", "every_s",
                "at", "values",
            ),
            pointer,
        )  # fmt: skip
        measured = self._measured(entry, pointer)
        values = required(entry, "values", pointer, "a list of numbers")
        if not isinstance(values, list):
            raise Refused(join(pointer, "values"), show(values), "a list of numbers")
        at_us, offset_s = self._instants(entry, pointer, len(values))
        scaled, decimals = _scaled(
            values, join(pointer, "values"), least=_least(measured["quantity"])
        )
        return Trace(
            **measured,
            at_us=at_us,
            offset_s=offset_s,
            values=scaled,
            decimals=decimals,
        )

    def _instants(
        self, entry: Entry, pointer: str, count: int
    ) -> tuple[Integers, int | Integers]:
        if "at" in entry:
            for key in ("start", "every_s"):
                if key in entry:
                    raise Refused(
                        join(pointer, key), "both", "at, or start and every_s"
                    )
            place = join(pointer, "at")
            listed = entry["at"]
            if not isinstance(listed, list) or len(listed) != count:
                raise Refused(place, show(listed), f"a list of {count} instants")
            instants = [
                self._past(_checked_instant(each, join(place, i)), join(place, i))
                for i, each in enumerate(listed)
            ]
            return (
                np.array([us_of(each) for each in instants], dtype=np.int64),
                np.array([offset_s_of(each) for each in instants], dtype=np.int64),
            )
        start = _instant(entry, "start", pointer)
        every_us = Fraction(number(entry, "every_s", pointer)) * US_PER_S
        if every_us <= 0 or every_us.denominator != 1:
            raise Refused(
                join(pointer, "every_s"),
                show(entry["every_s"]),
                "more than 0, to the microsecond at most",
            )
        if count and us_of(start) + (count - 1) * int(every_us) > us_of(self.judged_at):
            raise Refused(
                join(pointer, "values"),
                f"{count} values, the last of them after judged_at",
                f"instants up to {self.judged_at.isoformat()}",
            )
        steps = np.arange(count, dtype=np.int64) * (int(every_us) if count > 1 else 0)
        return us_of(start) + steps, offset_s_of(start)

    def statement(self, entry: Entry, pointer: str, seen: set[str]) -> Statement:
        refuse_unknown(entry, ("what", "complies"), pointer)
        what = self._once(text(entry, "what", pointer), join(pointer, "what"), seen)
        complies = required(entry, "complies", pointer, "true or false")
        if not isinstance(complies, bool):
            raise Refused(join(pointer, "complies"), show(complies), "true or false")
        return Statement(what, complies)

    def date(self, entry: Entry, pointer: str, seen: set[str]) -> NamedDate:
        refuse_unknown(entry, ("what", "at"), pointer)
        what = self._once(text(entry, "what", pointer), join(pointer, "what"), seen)
        return NamedDate(what, _instant(entry, "at", pointer))


def _least(quantity: str) -> Decimal | None:
    """Return 0 for what is weighed in a sample: less than nothing is a slip."""
    return Decimal(0) if quantity in SAMPLE else None


def _scaled(
    values: list[Any], pointer: str, *, least: Decimal | None
) -> tuple[Integers, int]:
    exact: list[Decimal] = []
    for each in values:
        try:
            exact.append(checked_number(each, "", least=least))
        except Refused as refusal:
            place = join(pointer, len(exact))
            raise Refused(place, refusal.found, refusal.allowed) from None
    decimals = max(map(decimals_of, exact), default=0)
    largest = max((each.adjusted() for each in exact), default=0)
    if largest + decimals >= MOST_DIGITS:
        raise Refused(pointer, "values of too many digits", "what a logger can store")
    whole = [int(each.scaleb(decimals)) for each in exact]
    return np.array(whole, dtype=np.int64), decimals
