"""The curves of a batch: which readings are drawn, against which limits.

A curve is drawn, not judged: values are floats here, and a deadline runs from the
last reading at or above the upper temperature, as read.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from reports import wording
from reports.chart import DENSE
from reports.sheets import Bound, CurveSheet, Deadline, Line
from safety.controls import STEPS
from safety.judge.evidence import Batch, us_of
from safety.judge.finding import Judgement
from safety.limits.model import (
    Combination,
    CoolLimit,
    DwellLimit,
    Limit,
    StayLimit,
    ValueLimit,
)
from safety.quantities import QUANTITIES, TEMPERATURE_UNITS
from safety.units import convert, symbol

HEATING = "heating"
Drawn = CoolLimit | ValueLimit
MIN_US = 60_000_000
MOST_BOUNDS = 3  # of a longer table of alternatives only the first row is drawn
LONG_GAP = 4  # times the usual one
REACH = 0.5  # a deadline further beyond the readings than this share is only named
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Drawing:
    """What all curves of a batch share."""

    batch: Batch
    judgement: Judgement
    unit: str
    zone: ZoneInfo

    def turned(self, value: object, unit: str) -> float:
        return float(convert(value, unit, self.unit))  # type: ignore[arg-type]

    def said(self, value: object, unit: str) -> str:
        return f"{wording.number(convert(value, unit, self.unit))} {symbol(self.unit)}"  # type: ignore[arg-type]

    def clock(self, at_us: int) -> str:
        return f"{(EPOCH + timedelta(microseconds=at_us)).astimezone(self.zone):%H:%M}"


def curve_sheets(
    batch: Batch, judgement: Judgement, *, unit: str, zone: ZoneInfo
) -> tuple[CurveSheet, ...]:
    """Return a curve for every step with two temperatures or more, in order of work.

    Where a governing limit judges a quantity of the step, only such are drawn.
    """
    drawing = Drawing(batch, judgement, unit, zone)
    sheets = []
    for step in STEPS:
        for count, quantity in enumerate(_drawn(drawing, step)):
            slug = step if count == 0 else f"{step}-{quantity}"
            sheets.append(_sheet(drawing, slug, step, quantity))
    return tuple(sheets)


def _drawn(drawing: Drawing, step: str) -> list[str]:
    batch = drawing.batch
    present = {row.quantity for row in batch.readings if row.step == step}
    present |= {row.quantity for row in batch.traces if row.step == step}
    warm = [
        name
        for name, quantity in QUANTITIES.items()
        if name in present and quantity.units == TEMPERATURE_UNITS
    ]
    judged = {limit.quantity for limit in _limits(drawing, step)}
    chosen = [name for name in warm if name in judged] or warm
    return [
        name
        for name in chosen
        if sum(line.at_us.size for line in _lines(drawing, step, name)) > 1
    ]


# ------------------------------------------------------------ readings


def _lines(drawing: Drawing, step: str, quantity: str) -> tuple[Line, ...]:
    window = next((w for w in drawing.batch.windows if w.step == step), None)
    low = None if window is None else us_of(window.start)
    high = None if window is None or window.end is None else us_of(window.end)
    lines = []
    for place, (at_us, values) in _series(drawing, (step,), quantity).items():
        inside = np.ones(at_us.size, bool)
        if low is not None:
            inside &= at_us >= low
        if high is not None:
            inside &= at_us <= high
        if inside.any():
            lines.append(Line(label=place, at_us=at_us[inside], values=values[inside]))
    return tuple(lines)


def _series(
    drawing: Drawing, steps: Sequence[str], quantity: str
) -> dict[str, tuple[NDArray[np.int64], NDArray[np.float64]]]:
    """Return instants and values by place, sorted, in the unit that is drawn."""
    parts: dict[str, list[tuple[NDArray[np.int64], NDArray[np.float64]]]] = {}
    for reading in drawing.batch.readings:
        if reading.step in steps and reading.quantity == quantity:
            at = np.array([us_of(reading.at)], dtype=np.int64)
            value = np.array([drawing.turned(reading.value, reading.unit)])
            parts.setdefault(reading.place or "", []).append((at, value))
    for trace in drawing.batch.traces:
        if trace.step in steps and trace.quantity == quantity:
            zero = drawing.turned(0, trace.unit)
            scale = drawing.turned(1, trace.unit) - zero
            values = trace.values / 10**trace.decimals * scale + zero
            parts.setdefault(trace.place or "", []).append((trace.at_us, values))
    series = {}
    for place in sorted(parts):
        at_us = np.concatenate([part[0] for part in parts[place]])
        values = np.concatenate([part[1] for part in parts[place]])
        order = np.argsort(at_us, kind="stable")
        series[place] = at_us[order], values[order]
    return series


# ------------------------------------------------------------ limits


def _limits(drawing: Drawing, step: str) -> list[Drawn]:
    """Return the governing limits, each once, that judge a temperature of the step."""
    found: dict[str, Drawn] = {}
    for finding in drawing.judgement.findings:
        if finding.limit is None:
            continue
        for limit in _leaves(finding.limit):
            if step in _steps(limit, finding.limit, finding.control_point):
                found.setdefault(f"{finding.limit_id} {limit.id}", limit)
    return list(found.values())


def _leaves(limit: Limit) -> Iterator[Drawn]:
    if isinstance(limit, Combination):
        dwells = [each for each in limit.limits if isinstance(each, DwellLimit)]
        is_table = limit.kind == "any_of" and len(dwells) > MOST_BOUNDS
        for member in limit.limits[:1] if is_table else limit.limits:
            yield from _leaves(member)
    elif isinstance(limit, CoolLimit | ValueLimit):
        yield limit


def _steps(limit: Drawn, whole: Limit, control_point: str) -> tuple[str, ...]:
    if isinstance(limit, CoolLimit):
        return tuple(s for s in limit.steps if s != HEATING) or limit.steps
    return (limit.step or whole.step or control_point,)


def _bounds(
    drawing: Drawing, limits: Iterable[Drawn], quantity: str
) -> tuple[Bound, ...]:
    bounds: dict[tuple[float, bool], Bound] = {}
    for limit in limits:
        if not isinstance(limit, ValueLimit) or limit.quantity != quantity:
            continue
        value = drawing.turned(limit.value, limit.unit)
        is_floor = limit.kind.endswith("at_least")
        is_dwell = isinstance(limit, DwellLimit)
        words = drawing.said(limit.value, limit.unit)
        if not isinstance(limit, DwellLimit):
            words += " or more" if is_floor else " or less"
        elif limit.minutes:
            words += f" for {wording.span(float(limit.minutes))}"
        bounds.setdefault(
            (value, is_floor),
            Bound(value=value, words=words, is_floor=is_floor, is_whole=not is_dwell),
        )
    return tuple(sorted(bounds.values(), key=lambda bound: bound.value))


def _deadlines(
    drawing: Drawing, limits: Iterable[Drawn], quantity: str
) -> tuple[list[Deadline], set[float]]:
    deadlines: list[Deadline] = []
    levels: set[float] = set()
    for limit in limits:
        if not isinstance(limit, CoolLimit) or limit.quantity != quantity:
            continue
        value = drawing.turned(limit.to_value, limit.unit)
        levels |= {drawing.turned(limit.from_value, limit.unit), value}
        ends = _ends(drawing, limit)
        if not ends:
            continue
        words = f"{drawing.said(limit.to_value, limit.unit)} by {_span(drawing, ends)}"
        for count, at_us in enumerate(sorted(set(ends.values()))):
            deadlines.append(
                Deadline(at_us=at_us, value=value, words="" if count else words)
            )
    return deadlines, levels


def _span(drawing: Drawing, ends: dict[str, int]) -> str:
    """Return the deadline as wall time, with its places where they differ."""
    first = min(ends, key=lambda place: ends[place])
    last = max(ends, key=lambda place: ends[place])
    if drawing.clock(ends[first]) == drawing.clock(ends[last]):
        return drawing.clock(ends[first])
    return f"{drawing.clock(ends[first])} ({first}) to {drawing.clock(ends[last])} ({last})"


def _ends(drawing: Drawing, limit: CoolLimit) -> dict[str, int]:
    """Return for each place the last instant at which the stage may be over."""
    hot = drawing.turned(limit.from_value, limit.unit)
    windows = {window.step: window for window in drawing.batch.windows}
    heating = windows.get(HEATING)
    others = [step for step in limit.steps if step != HEATING]
    edge = None
    if heating is not None and heating.end is not None:
        edge = us_of(heating.end)
    elif others and others[0] in windows:
        edge = us_of(windows[others[0]].start)
    heated = (
        _series(drawing, (HEATING,), limit.quantity) if HEATING in limit.steps else {}
    )
    ends = {}
    for place, (at_us, values) in _series(drawing, limit.steps, limit.quantity).items():
        if others and place not in _series(drawing, others, limit.quantity):
            continue
        is_hot = values >= hot
        start = _start(at_us, is_hot, heated.get(place), hot, edge)
        if start is not None:
            ends[place] = start + int(limit.minutes * MIN_US)
    return ends


def _start(at_us, is_hot, heated, hot: float, edge: int | None) -> int | None:
    """Return the last hot reading of the run from which cooling began, else the edge."""
    since = edge
    if heated is not None and (heated[1] >= hot).any():
        since = int(heated[0][heated[1] >= hot][-1])
    first = 0 if since is None else int(np.searchsorted(at_us, since, "left"))
    if first >= at_us.size or not is_hot[first]:
        return since
    broken = np.flatnonzero(~is_hot[first:])
    last = first + int(broken[0]) - 1 if broken.size else at_us.size - 1
    return int(at_us[last])


# ------------------------------------------------------------ the sheet


def _sheet(drawing: Drawing, slug: str, step: str, quantity: str) -> CurveSheet:
    lines = _lines(drawing, step, quantity)
    limits = _limits(drawing, step)
    bounds = _bounds(drawing, limits, quantity)
    deadlines, levels = _deadlines(drawing, limits, quantity)
    start_us, end_us = _edges(drawing, step, lines, deadlines)
    asked = [
        float(limit.check_every_min)
        for limit in limits
        if isinstance(limit, DwellLimit | StayLimit) and limit.quantity == quantity
    ]
    join_min = min(asked, default=None if deadlines else _usual_gap_min(lines))
    name = f"{wording.title(step)}, {wording.quantity_name(quantity)}"
    return CurveSheet(
        slug=slug,
        step=step,
        title=name,
        description=_describe(drawing, lines, bounds, deadlines),
        caption=_caption(lines, bounds, deadlines, asked),
        unit=symbol(drawing.unit),
        zone=str(drawing.zone),
        lines=lines,
        start_us=start_us,
        end_us=end_us,
        bounds=bounds,
        deadlines=tuple(deadlines),
        levels=tuple(sorted(levels)),
        join_min=join_min,
    )


def _usual_gap_min(lines: Sequence[Line]) -> float | None:
    """Return the longest gap that is joined where no limit names one."""
    gaps = np.concatenate([np.diff(line.at_us) for line in lines]) / MIN_US
    return float(np.median(gaps)) * LONG_GAP if gaps.size else None


def _edges(
    drawing: Drawing, step: str, lines: Sequence[Line], deadlines: Sequence[Deadline]
) -> tuple[int, int]:
    first = min(int(line.at_us[0]) for line in lines)
    last = max(int(line.at_us[-1]) for line in lines)
    for window in drawing.batch.windows:
        if window.step == step:
            first = min(first, us_of(window.start))
            last = max(last, us_of(window.end)) if window.end else last
    reach = last + int((last - first) * REACH)
    near = [deadline.at_us for deadline in deadlines if deadline.at_us <= reach]
    return first, max([last, *near])


def _caption(
    lines: Sequence[Line],
    bounds: Sequence[Bound],
    deadlines: Sequence[Deadline],
    asked: Sequence[float],
) -> str:
    is_dense = any(line.at_us.size > DENSE for line in lines)
    said = [
        "Drawn from the lowest to the highest reading at every instant."
        if is_dense
        else "Dots are readings; dashes only join them."
    ]
    if asked and not deadlines:
        said.append(f"Gaps longer than {wording.span(min(asked))} are not joined.")
    if deadlines:
        said.append("Hatched: too late, counted from the last reading still hot.")
    elif any(not bound.is_whole for bound in bounds):
        said.append("Hatched: does not count.")
    elif bounds:
        said.append("Hatched: outside the limit.")
    return " ".join(said)


def _describe(
    drawing: Drawing,
    lines: Sequence[Line],
    bounds: Sequence[Bound],
    deadlines: Sequence[Deadline],
) -> str:
    sign = symbol(drawing.unit)
    parts = [
        f"{line.label or 'All places'}: {line.at_us.size} readings from "
        f"{drawing.clock(int(line.at_us[0]))} to {drawing.clock(int(line.at_us[-1]))}, "
        f"{line.values[0]:.1f} {sign} at first, {line.values[-1]:.1f} {sign} at last, "
        f"lowest {line.values.min():.1f}, highest {line.values.max():.1f}"
        for line in lines
    ]
    parts += [f"limit: {bound.words}" for bound in bounds]
    parts += [f"limit: {deadline.words}" for deadline in deadlines if deadline.words]
    return "; ".join(parts) + "."
