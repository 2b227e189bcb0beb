"""Draws a curve as SVG: readings as dots, limits as edges of hatched regions."""

import io
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from html import escape
from threading import Lock
from zoneinfo import ZoneInfo

import matplotlib as mpl
import numpy as np
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from reports.sheets import Bound, CurveSheet, Deadline, Level, Line

Floats = NDArray[np.float64]

# The drawing is 360 units wide: at that width it is as large as a phone shows it, and
# as half a printed page holds it, so that one size of text serves both.
WIDTH, HEIGHT = 360.0, 232.0
LEFT, TOP, BOTTOM = 32.0, 16.0, 22.0
RIGHT_BARE, RIGHT_LABEL, RIGHT_MOST = 10.0, 20.0, 110.0
TEXT, SMALL, LINE_STEP, LETTER = 10.5, 9.5, 11.0, 0.62
INK, QUIET, RULE, EDGE = "#1D2A31", "#4A565F", "#CDC4B0", "#B84A00"
FONTS = "'Document Sans', 'DejaVu Sans Condensed', 'DejaVu Sans', system-ui, sans-serif"
HATCH_STEP, BAND, ROOM = 6.0, 14.0, 0.08
DENSE, NEAR = 90, 3.0  # readings drawn as dots; units that count as no gap
TIME_LABEL, EDGE_LABEL = 44.0, 14.0
LOOKS: tuple[tuple[str, str, tuple[float, float], bool], ...] = (
    # marker, colour, dash, filled: told apart without colour
    ("o", INK, (1.2, 1.8), True),
    ("s", "#0072B2", (4.0, 2.0), False),
    ("^", "#8A4B00", (2.4, 1.6), True),
    ("D", "#6A3D7C", (6.0, 1.6), False),
    ("v", INK, (3.0, 3.0), False),
    ("P", "#0072B2", (1.2, 3.0), True),
    ("X", "#8A4B00", (8.0, 2.0), True),
    ("h", "#6A3D7C", (2.0, 2.0), False),
)
MINUTES = (5, 10, 15, 30, 60, 120, 180, 360, 720, 1440, 2880, 10080, 20160, 43200)
MIN_US, DAY_MIN = 60_000_000, 1440
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)

mpl.rcParams["svg.fonttype"] = "none"  # text stays text
mpl.rcParams["svg.hashsalt"] = "brinewright"  # the same curve gives the same bytes
_ONE_AT_A_TIME = Lock()  # the drawing library is not safe among threads


@dataclass(frozen=True, slots=True)
class Frame:
    """Where on the paper an instant and a value lie."""

    start_us: int
    end_us: int
    low: float
    high: float
    right: float

    @property
    def bottom(self) -> float:
        return HEIGHT - BOTTOM

    def x(self, at_us: NDArray[np.int64] | int) -> Floats:
        span = max(1, self.end_us - self.start_us)
        share = (np.asarray(at_us) - self.start_us) / span
        return LEFT + share * (self.right - LEFT)

    def y(self, value: Floats | float) -> Floats:
        share = (np.asarray(value, dtype=float) - self.low) / (self.high - self.low)
        return self.bottom - share * (self.bottom - TOP)


def curve(sheet: CurveSheet) -> str:
    """Return the curve as one SVG element, its text kept as text.

    The same sheet gives the same characters. Nothing is drawn between readings but
    dashes, and nothing at all across a gap longer than ``join_min``.
    """
    with _ONE_AT_A_TIME:
        figure = Figure(figsize=(WIDTH / 72, HEIGHT / 72), dpi=72)
        canvas = FigureCanvasSVG(figure)
        axes = figure.add_axes((0, 0, 1, 1))
        axes.set_xlim(0, WIDTH)
        axes.set_ylim(HEIGHT, 0)
        axes.set_axis_off()
        frame = _frame(sheet)
        _draw_grid(axes, frame, sheet)
        _draw_limits(axes, frame, sheet)
        for mark in sheet.marks:
            _draw_mark(axes, frame, mark)
        ends = [
            _draw_line(axes, frame, line, LOOKS[i % len(LOOKS)], sheet.join_min)
            for i, line in enumerate(sheet.lines)
        ]
        _draw_labels(axes, frame, sheet.lines, ends)
        _write(axes, LEFT, TOP - 6, sheet.unit, size=SMALL, color=QUIET, ha="right")
        out = io.StringIO()
        empty = dict.fromkeys(("Date", "Creator", "Format", "Type"))
        canvas.print_svg(out, metadata=empty)
    return _finish(out.getvalue(), sheet)


# ------------------------------------------------------------ the frame and its grid


def _frame(sheet: CurveSheet) -> Frame:
    figures = [b.value for b in sheet.bounds] + [d.value for d in sheet.deadlines]
    figures += [*sheet.levels, *(mark.value for mark in sheet.marks)]
    for line in sheet.lines:
        if line.values.size:
            figures += [float(line.values.min()), float(line.values.max())]
    low, high = (min(figures), max(figures)) if figures else (0.0, 1.0)
    room = max((high - low) * ROOM, sheet.least_room)
    longest = max((len(line.label) for line in sheet.lines), default=0)
    room_beside = RIGHT_LABEL + longest * TEXT * LETTER if longest else RIGHT_BARE
    right = WIDTH - min(room_beside, RIGHT_MOST)
    end_us = max(sheet.end_us, sheet.start_us + MIN_US)
    return Frame(sheet.start_us, end_us, low - room, high + room, right)


def _draw_grid(axes, frame: Frame, sheet: CurveSheet) -> None:
    marked = {b.value for b in sheet.bounds} | {d.value for d in sheet.deadlines}
    marked |= set(sheet.levels)
    taken: list[float] = []
    nice = MaxNLocator(5).tick_values(frame.low, frame.high)
    for value in [*sorted(marked), *nice]:
        y = float(frame.y(value))
        if not TOP <= y <= frame.bottom or any(abs(y - t) < LINE_STEP for t in taken):
            continue
        taken.append(y)
        axes.plot([LEFT, frame.right], [y, y], color=RULE, lw=0.7, zorder=1)
        weight = "bold" if value in marked else "normal"
        _write(
            axes, LEFT - 4, y, f"{value:.6g}", ha="right", va="center", weight=weight
        )
    axes.plot([LEFT, frame.right], [frame.bottom] * 2, color=INK, lw=0.9, zorder=2)
    axes.plot([frame.right] * 2, [TOP, frame.bottom], color=RULE, lw=0.7, zorder=1)
    for at_us, words in _times(frame, sheet.zone):
        x = float(frame.x(at_us))
        axes.plot([x, x], [frame.bottom, frame.bottom + 3], color=INK, lw=0.9)
        _write(axes, min(x, WIDTH - EDGE_LABEL), HEIGHT - 8, words, ha="center")


def _times(frame: Frame, zone: str) -> Iterable[tuple[int, str]]:
    """Yield instants on the round hours of the wall clock, with their words."""
    place = ZoneInfo(zone)
    start, end = (EPOCH + timedelta(microseconds=t) for t in _span(frame))
    room = (frame.right - LEFT) / TIME_LABEL
    wanted = (end - start) / timedelta(minutes=1) / room
    step = next((m for m in MINUTES if m >= wanted), MINUTES[-1])
    midnight = start.astimezone(place).replace(
        hour=0, minute=0, second=0, microsecond=0
    )
    shown = None
    for turn in range(int((end - midnight.astimezone(UTC)).days + 2) * DAY_MIN):
        wall = midnight.replace(tzinfo=None) + timedelta(minutes=turn * step)
        at = wall.replace(tzinfo=place).astimezone(UTC)
        if at > end:
            return
        if at < start:
            continue
        day = f"{wall.day} {wall:%b}"
        yield (
            (at - EPOCH) // timedelta(microseconds=1),
            (day if step >= DAY_MIN or shown not in {None, day} else f"{wall:%H:%M}"),
        )
        shown = day


def _span(frame: Frame) -> tuple[int, int]:
    return int(frame.start_us), int(frame.end_us)


# ------------------------------------------------------------ limits


def _draw_limits(axes, frame: Frame, sheet: CurveSheet) -> None:
    for bound in sheet.bounds:
        _draw_bound(axes, frame, bound)
    taken: list[float] = []
    for deadline in sorted(sheet.deadlines, key=lambda d: (-d.value, d.at_us)):
        _draw_deadline(axes, frame, deadline, taken)


def _draw_bound(axes, frame: Frame, bound: Bound) -> None:
    y = float(frame.y(bound.value))
    far = frame.bottom if bound.is_floor else TOP
    if not bound.is_whole:
        far = min(far, y + BAND) if bound.is_floor else max(far, y - BAND)
    _hatch(axes, LEFT, frame.right, min(y, far), max(y, far))
    axes.plot([LEFT, frame.right], [y, y], color=EDGE, lw=1.5, zorder=3)
    _write(axes, LEFT + 4, y - 5, bound.words, color=EDGE, weight="bold", boxed=True)


def _draw_mark(axes, frame: Frame, mark: Level) -> None:
    y = float(frame.y(mark.value))
    axes.plot([LEFT, frame.right], [y, y], color=QUIET, lw=0.9, ls="--", zorder=2)
    _write(axes, frame.right - 2, y - 4, mark.words, size=SMALL, ha="right", boxed=True)


def _draw_deadline(axes, frame: Frame, deadline: Deadline, taken: list[float]) -> None:
    is_beyond = deadline.at_us > frame.end_us
    x = min(max(float(frame.x(deadline.at_us)), LEFT), frame.right)
    y = float(frame.y(deadline.value))
    if not is_beyond:
        _hatch(axes, x, frame.right, TOP, y)
        axes.plot([x, x, frame.right], [TOP, y, y], color=EDGE, lw=1.5, zorder=3)
    if not deadline.words:
        return
    level = TOP + LINE_STEP
    while any(abs(level - other) < LINE_STEP for other in taken):
        level += LINE_STEP + 1
    taken.append(level)
    is_left = x > (LEFT + frame.right) / 2
    _write(
        axes,
        x - 4 if is_left else x + 4,
        level,
        f"{deadline.words} →" if is_beyond else deadline.words,
        color=EDGE,
        weight="bold",
        ha="right" if is_left else "left",
        boxed=True,
    )


def _hatch(axes, x0: float, x1: float, y0: float, y1: float) -> None:
    """Fill a rectangle with slanted lines that run on from one rectangle to the next."""
    if x1 - x0 <= 0 or y1 - y0 <= 0:
        return
    first = np.ceil((x0 + y0) / HATCH_STEP) * HATCH_STEP
    sums = np.arange(first, x1 + y1, HATCH_STEP)  # each line is x + y = sum
    left = np.maximum(x0, sums - y1)
    right = np.minimum(x1, sums - y0)
    ends = [
        [(a, s - a), (b, s - b)]
        for a, b, s in zip(left.tolist(), right.tolist(), sums.tolist(), strict=True)
        if b > a
    ]
    axes.add_collection(
        LineCollection(ends, colors=EDGE, linewidths=0.7, alpha=0.55, zorder=1.5),
        autolim=False,
    )


# ------------------------------------------------------------ readings


def _draw_line(axes, frame: Frame, line: Line, look, join_min: float | None):
    """Draw one place's readings and return how high its last one lies."""
    if not line.at_us.size:
        return None
    marker, color, dash, is_filled = look
    is_dense = line.at_us.size > DENSE
    first_us, last_us, x, y = _columns(frame, line, is_dense)
    gap_min = (first_us[1:] - last_us[:-1]) / MIN_US
    is_joined = np.ones(gap_min.size, bool) if join_min is None else gap_min <= join_min
    is_near = (np.diff(x) <= NEAR) & is_dense
    depth = 4 + 1 / (2 + np.abs(np.diff(y)).sum())  # what covers most lies lowest
    for chosen, style in ((is_joined & ~is_near, (0, dash)), (is_near, "solid")):
        px, py = _strokes(x, y, chosen)
        if px.size:
            axes.plot(px, py, color=color, lw=0.9, linestyle=style, zorder=depth)
    every = max(1, round(x.size / (frame.right - LEFT) * TIME_LABEL)) if is_dense else 1
    axes.plot(
        x[::every],
        y[::every],
        linestyle="none",
        marker=marker,
        markersize=4.2,
        color=color,
        markerfacecolor=color if is_filled else "#FFFFFF",
        markeredgewidth=0.9,
        zorder=depth,
    )
    return float(y[-1])


def _columns(frame: Frame, line: Line, is_dense: bool):
    """Return the points to draw: all, or the lowest and highest of every column.

    For each point also the first and last instant of what it stands for.
    """
    at_us, values = line.at_us, line.values
    x = frame.x(at_us)
    if not is_dense:
        return at_us, at_us, x, frame.y(values)
    starts = np.flatnonzero(np.diff(np.floor(x), prepend=-1.0))
    stops = np.append(starts[1:], at_us.size) - 1
    low = np.minimum.reduceat(values, starts)
    high = np.maximum.reduceat(values, starts)
    middle = (x[starts] + x[stops]) / 2
    is_rising = values[stops] >= values[starts]
    pairs = np.column_stack([
        np.where(is_rising, low, high),
        np.where(is_rising, high, low),
    ])
    keep = np.column_stack([np.ones(starts.size, bool), low != high]).ravel()
    last_us = np.column_stack([at_us[starts], at_us[stops]])
    last_us[low == high, 0] = at_us[stops][low == high]
    first_us = np.column_stack([at_us[starts], at_us[starts]])
    return (
        first_us.ravel()[keep],
        last_us.ravel()[keep],
        np.repeat(middle, 2)[keep],
        frame.y(pairs.ravel()[keep]),
    )


def _strokes(x: Floats, y: Floats, chosen: NDArray[np.bool_]) -> tuple[Floats, Floats]:
    """Return the chosen joins as one path, broken wherever a join is not chosen."""
    at = np.flatnonzero(chosen)
    if not at.size:
        return np.empty(0), np.empty(0)
    breaks = np.flatnonzero(np.diff(at) > 1)
    begins = np.append(at[0], at[breaks + 1])
    ends = np.append(at[breaks], at[-1]) + 1
    hole = np.array([np.nan])
    xs = [p for b, e in zip(begins, ends, strict=True) for p in (x[b : e + 1], hole)]
    ys = [p for b, e in zip(begins, ends, strict=True) for p in (y[b : e + 1], hole)]
    return np.concatenate(xs), np.concatenate(ys)


def _draw_labels(axes, frame: Frame, lines: Sequence[Line], ends) -> None:
    """Write each place at the right, in the order of its last reading."""
    named = [
        (end, line.label, LOOKS[i % len(LOOKS)])
        for i, (line, end) in enumerate(zip(lines, ends, strict=True))
        if line.label and end is not None
    ]
    named.sort(key=lambda item: item[0])
    step = min(LINE_STEP + 1, (frame.bottom - TOP) / max(1, len(named)))
    ys = _spread([item[0] for item in named], step, TOP + 2, frame.bottom - 2)
    for y, (_, label, (marker, color, _, is_filled)) in zip(ys, named, strict=True):
        x = frame.right + 9
        axes.plot(
            [x],
            [y],
            marker=marker,
            markersize=4.2,
            color=color,
            markerfacecolor=color if is_filled else "#FFFFFF",
            markeredgewidth=0.9,
        )
        _write(axes, x + 5, y, label, va="center", color=color, weight="bold")


def _spread(
    wanted: Sequence[float], step: float, low: float, high: float
) -> list[float]:
    """Return the positions, in order, at least ``step`` apart and inside the frame."""
    placed: list[float] = []
    for y in wanted:
        placed.append(max(y, placed[-1] + step if placed else low))
    over = placed[-1] - high if placed else 0.0
    if over > 0:
        ceiling = high
        for i in range(len(placed) - 1, -1, -1):
            placed[i] = min(placed[i], ceiling)
            ceiling = placed[i] - step
    return placed


# ------------------------------------------------------------ text and tags


def _write(axes, x, y, words, *, size=TEXT, boxed=False, color=QUIET, **kwargs) -> None:
    text = axes.text(
        x, y, words, fontsize=size, family="DejaVu Sans", color=color, parse_math=False,
        zorder=6, **kwargs,
    )  # fmt: skip
    if boxed:
        text.set_bbox({
            "facecolor": "#FFFFFF",
            "edgecolor": "none",
            "pad": 1.0,
            "alpha": 0.85,
        })


def _finish(drawn: str, sheet: CurveSheet) -> str:
    """Give the drawing its names, let it scale, and drop what only a file needs."""
    body = drawn[drawn.index("<svg") :]
    body = body[body.index(">") + 1 :]
    body = re.sub(r"<metadata>.*?</metadata>\s*", "", body, flags=re.DOTALL)
    body = re.sub(r"font-family: [^;]*", f"font-family: {FONTS}", body)
    name = re.sub(r"[^a-z0-9-]", "", sheet.slug)
    head = (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        f'viewBox="0 0 {WIDTH:g} {HEIGHT:g}" role="img" '
        f'aria-labelledby="{name}-title {name}-desc">\n'
        f' <title id="{name}-title">{escape(sheet.title)}</title>\n'
        f' <desc id="{name}-desc">{escape(sheet.description)}</desc>'
    )
    return head + body.rstrip() + "\n"
