"""A batch's records, sorted once: windows, and one set of rows per step and place."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from fractions import Fraction
from itertools import product

import numpy as np

from safety.judge.evidence import (
    MOST_DIGITS,
    Batch,
    Integers,
    Reading,
    Trace,
    Window,
    decimals_of,
    offset_s_of,
    us_of,
)
from safety.judge.instruments import History, Trust, exact, untracked
from safety.judge.series import Kind, Rows, concatenate
from safety.quantities import QUANTITIES, SAMPLE

LATE_AFTER = timedelta(minutes=30)

Place = str | None


@dataclass(frozen=True, slots=True)
class Span:
    """A window in microseconds; None where an edge is not known or not yet there."""

    start_us: int | None
    end_us: int | None
    exists: bool = True

    @property
    def is_open(self) -> bool:
        """Whether the step goes on."""
        return self.exists and self.end_us is None


NO_WINDOW = Span(None, None, exists=False)


@dataclass(frozen=True, slots=True)
class Placed:
    """The readings of one place: those inside the windows, and whether any is not."""

    rows: Rows | None
    has_outside: bool


class Gathered:
    """The records of one batch, ready to be judged.

    ``outside`` readings of a step with a window are kept apart: they are not judged.
    """

    def __init__(self, batch: Batch) -> None:
        self.batch = batch
        self.judged_us = us_of(batch.judged_at)
        self.windows = {window.step: _span(window) for window in batch.windows}
        self.window_dates = {window.step: window for window in batch.windows}
        self.histories = {each.id: History(each) for each in batch.instruments}
        self.rows: dict[tuple[str, str], dict[Place, Rows]] = {}
        self._fill()

    def window(self, step: str) -> Span:
        """Return the window of ``step``; one without edges where none is recorded."""
        return self.windows.get(step, NO_WINDOW)

    def placed(self, step: str, quantity: str) -> dict[Place, Placed]:
        """Return the readings of one quantity in one step, by place.

        Parameters
        ----------
        step, quantity : str
            Known names.

        Returns
        -------
        dict
            Place (None for readings without one) to the rows inside the window; rows
            None where all of them lie outside.
        """
        span = self.window(step)
        return {
            place: _inside(rows, span)
            for place, rows in self.rows.get((step, quantity), {}).items()
        }

    def has_readings(self, step: str) -> bool:
        """Whether any quantity was read in ``step``, inside its window or not."""
        return any(known == step for known, _ in self.rows)

    def _fill(self) -> None:
        parts: dict[tuple[str, str, Place], list[Rows]] = {}
        typed: dict[tuple[str, str, Place], list[Reading]] = {}
        for reading in self.batch.readings:
            key = (reading.step, reading.quantity, reading.place)
            typed.setdefault(key, []).append(reading)
        for trace in self.batch.traces:
            if len(trace.at_us):
                key = (trace.step, trace.quantity, trace.place)
                parts.setdefault(key, []).append(self._from_trace(trace))
        for key, readings in typed.items():
            parts.setdefault(key, []).append(self._from_readings(readings))
        for sample, rows in _samples(parts).items():
            parts.setdefault(sample, []).append(rows)
        for (step, quantity, place), several in parts.items():
            by_place = self.rows.setdefault((step, quantity), {})
            by_place[place] = concatenate(several)

    def _trust(
        self,
        quantity: str,
        instrument: str | None,
        at_us: int,
        offset_s: int,
        unit: str,
    ) -> Trust:
        measures = QUANTITIES[quantity].instrument
        if measures is None:
            return exact(unit)
        if instrument is None:
            return untracked(measures, unit)
        return self.histories[instrument].trust(at_us, offset_s, unit)

    def _from_readings(self, readings: list[Reading]) -> Rows:
        kinds: dict[Kind, int] = {}
        codes = []
        for each in readings:
            trust = self._trust(
                each.quantity,
                each.instrument,
                us_of(each.at),
                offset_s_of(each.at),
                each.unit,
            )
            kind = Kind(decimals_of(each.value), trust)
            codes.append(kinds.setdefault(kind, len(kinds)))
        if any(_digits(each.value) >= MOST_DIGITS for each in readings):
            values = np.empty(len(readings), dtype=object)
            values[:] = [Fraction(each.value) for each in readings]
        else:
            values = np.array(
                [int(each.value.scaleb(decimals_of(each.value))) for each in readings],
                dtype=np.int64,
            )
        late = np.array([_is_late(each) for each in readings], dtype=np.bool_)
        return Rows(
            at_us=np.array([us_of(each.at) for each in readings], dtype=np.int64),
            low=values,
            high=values,
            kinds=list(kinds),
            code=np.array(codes, dtype=np.int32) if len(kinds) > 1 else None,
            late=late if bool(late.any()) else None,
            typed=np.ones(len(readings), dtype=np.bool_),
        )

    def _from_trace(self, trace: Trace) -> Rows:
        pieces = []
        for at_us, values, offset_s in _by_offset(trace):
            whole = Rows(
                at_us=at_us,
                low=values,
                high=values,
                kinds=[Kind(trace.decimals, exact(trace.unit))],
            ).ordered()
            pieces.append(self._with_trust(whole, trace, offset_s))
        return concatenate(pieces)

    def _with_trust(self, whole: Rows, trace: Trace, offset_s: int) -> Rows:
        cuts = [0]
        if trace.instrument is not None and QUANTITIES[trace.quantity].instrument:
            cuts = self.histories[trace.instrument].cuts(whole.at_us, offset_s)
        parts = []
        for start, stop in zip(cuts, [*cuts[1:], len(whole)], strict=True):
            part = whole.part(start, stop)
            trust = self._trust(
                trace.quantity,
                trace.instrument,
                int(part.at_us[0]),
                offset_s,
                trace.unit,
            )
            parts.append((len(part), Kind(trace.decimals, trust)))
        kinds: dict[Kind, int] = {}
        codes = [kinds.setdefault(kind, len(kinds)) for _, kind in parts]
        whole.kinds = list(kinds)
        if len(kinds) > 1:
            counts = [count for count, _ in parts]
            whole.code = np.repeat(np.array(codes, dtype=np.int32), counts)
        return whole


def _by_offset(trace: Trace) -> Iterable[tuple[Integers, Integers, int]]:
    if isinstance(trace.offset_s, int):
        yield trace.at_us, trace.values, trace.offset_s
        return
    for offset_s in np.unique(trace.offset_s).tolist():
        chosen = trace.offset_s == offset_s
        yield trace.at_us[chosen], trace.values[chosen], int(offset_s)


def _span(window: Window) -> Span:
    end = None if window.end is None else us_of(window.end)
    return Span(us_of(window.start), end)


def _inside(rows: Rows, span: Span) -> Placed:
    if not span.exists:
        return Placed(rows, has_outside=False)
    start, stop = 0, len(rows)
    if span.start_us is not None and int(rows.at_us[0]) < span.start_us:
        start = int(np.searchsorted(rows.at_us, span.start_us, "left"))
    if span.end_us is not None and int(rows.at_us[-1]) > span.end_us:
        stop = int(np.searchsorted(rows.at_us, span.end_us, "right"))
    if start >= stop:
        return Placed(None, has_outside=True)
    return Placed(rows.part(start, stop), has_outside=(start, stop) != (0, len(rows)))


def _digits(value: Decimal) -> int:
    return max(0, value.adjusted()) + decimals_of(value)


def _is_late(reading: Reading) -> bool:
    return (
        reading.entered_at is not None and reading.entered_at - reading.at > LATE_AFTER
    )


def _samples(
    parts: dict[tuple[str, str, Place], list[Rows]],
) -> dict[tuple[str, str, Place], Rows]:
    """Make water phase salt of the salt and moisture of one sample, as hulls."""
    made = {}
    for (step, quantity, place), salts in parts.items():
        if quantity != SAMPLE[0]:
            continue
        waters = parts.get((step, SAMPLE[1], place))
        if waters is None:
            continue
        salt, water = _by_instant(salts), _by_instant(waters)
        shared = sorted(salt.keys() & water.keys())
        if shared:
            hulls = [_water_phase(salt[at_us], water[at_us]) for at_us in shared]
            late = _late_instants([*salts, *waters])
            made[step, "water-phase-salt", place] = _hull_rows(shared, hulls, late)
    return made


def _water_phase(
    salt: list[Fraction], water: list[Fraction]
) -> tuple[Fraction, Fraction]:
    """Return the lowest and the highest water phase salt of all pairs of one sample."""
    if min(salt) >= 0 and min(water) >= 0:  # it grows with salt and falls with water
        pairs = [(min(salt), max(water)), (max(salt), min(water))]
    else:
        pairs = list(product(set(salt), set(water)))
    values = [100 * s / (s + m) for s, m in pairs]
    return min(values), max(values)


def _late_instants(parts: list[Rows]) -> set[int]:
    return {
        at_us
        for part in parts
        if part.late is not None
        for at_us in part.at_us[part.late].tolist()
    }


def _by_instant(parts: list[Rows]) -> dict[int, list[Fraction]]:
    values: dict[int, list[Fraction]] = {}
    for part in parts:
        for i, at_us in enumerate(part.at_us.tolist()):
            values.setdefault(at_us, []).append(part.shown(i, "percent"))
    return values


def _hull_rows(
    instants: list[int], hulls: list[tuple[Fraction, Fraction]], late: set[int]
) -> Rows:
    low = np.empty(len(hulls), dtype=object)
    high = np.empty(len(hulls), dtype=object)
    low[:] = [lowest for lowest, _ in hulls]
    high[:] = [highest for _, highest in hulls]
    return Rows(
        at_us=np.array(instants, dtype=np.int64),
        low=low,
        high=high,
        kinds=[Kind(0, exact("percent"))],
        late=np.array([at_us in late for at_us in instants]) if late else None,
        typed=np.ones(len(hulls), dtype=np.bool_),
    )
