"""Draws where food came from and where it went: lots, batches, and those who had it."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

from batches.lookups.trace import Trace
from batches.models import Dispatch

MOST_DRAWN = 24  # own figure: with more batches the drawing is no help; the table is
BOX_W, BOX_H, ROW, GAP = 112, 34, 44, 23
EDGE, COLUMNS = 4, 3
COLUMN_X = tuple(EDGE + number * (BOX_W + GAP) for number in range(COLUMNS))
WIDTH, TOP = 390, 6
LONGEST = 17  # letters that fit into a box
HALF, INSET, BEND = 2, 6, 18
FIRST_Y, SECOND_Y = 14, 27


@dataclass(slots=True)
class Node:
    """A box: its two lines, its column, and from which boxes a line leads to it."""

    key: str
    title: str
    under: str
    column: int
    sources: list[str] = field(default_factory=list)
    y: float = 0.0


def graph(trace: Trace) -> SafeString | None:
    """Return the drawing, or None where there is too much to draw."""
    if not trace.batches or len(trace.batches) > MOST_DRAWN:
        return None
    nodes = [*_lots(trace), *_batches(trace), *_places(trace)]
    height = _placed(nodes)
    by_key = {node.key: node for node in nodes}
    lines = "".join(
        _line(by_key[source], node)
        for node in nodes
        for source in node.sources
        if source in by_key
    )
    boxes = "".join(_box(node) for node in nodes)
    says = escape(
        f"From {len(trace.lots)} lots through {len(trace.batches)} batches to those "
        "who had the packages; the tables below say the same."
    )
    return mark_safe(  # noqa: S308 - every text in it is escaped
        f'<svg class="trace" viewBox="0 0 {WIDTH} {height}" role="img" '
        f'aria-label="{says}">{lines}{boxes}</svg>'
    )


def _lots(trace: Trace) -> list[Node]:
    return [
        Node(f"lot{each.lot.pk}", each.lot.code, f"{each.lot.mass_kg} kg in", 0)
        for each in trace.lots
    ]


def _batches(trace: Trace) -> list[Node]:
    found = []
    for each in trace.batches:
        sources = [f"lot{use.lot_id}" for use in each.uses]
        sources += [f"batch{row.from_batch_id}" for row in each.reworked_in]
        under = f"{each.stock.filled} packages" if each.stock.filled else "not packed"
        key = f"batch{each.batch.pk}"
        found.append(Node(key, each.batch.code, under, 1, sources))
    return found


def _places(trace: Trace) -> list[Node]:
    """Return who had the packages: each buyer once, the rest by what became of them."""
    found: dict[str, Node] = {}
    counts: dict[str, int] = {}
    for row in trace.dispatches:
        name = row.buyer.name if row.buyer is not None else row.get_kind_display()
        key = f"to{name}"
        node = found.setdefault(key, Node(key, name, "", 2))
        source = f"batch{row.batch_id}"
        if source not in node.sources:
            node.sources.append(source)
        sign = -1 if row.kind == Dispatch.Kind.RETURNED else 1
        counts[key] = counts.get(key, 0) + sign * row.packages
    left = [each for each in trace.batches if each.stock.left]
    if left and trace.start.buyer is None:
        key = "to-stock"
        sources = [f"batch{each.batch.pk}" for each in left]
        found[key] = Node(key, "In stock", "", 2, sources)
        counts[key] = sum(each.stock.left for each in left)
    for key, node in found.items():
        node.under = f"{abs(counts[key])} packages"
    return list(found.values())


def _placed(nodes: Sequence[Node]) -> int:
    """Give each box its place, every column in the middle; return the height."""
    columns = [
        [node for node in nodes if node.column == number]
        for number in range(len(COLUMN_X))
    ]
    tallest = max(len(column) for column in columns)
    for column in columns:
        shift = (tallest - len(column)) * ROW / HALF
        for place, node in enumerate(column):
            node.y = TOP + shift + place * ROW
    return int(TOP + tallest * ROW)


def _line(source: Node, to: Node) -> str:
    y1, y2 = source.y + BOX_H / HALF, to.y + BOX_H / HALF
    if source.column == to.column:  # worked again: around the right side
        x = COLUMN_X[source.column] + BOX_W
        path = f"M{x} {y1:g}C{x + BEND} {y1:g} {x + BEND} {y2:g} {x} {y2:g}"
    else:
        x1, x2 = COLUMN_X[source.column] + BOX_W, COLUMN_X[to.column]
        middle = (x1 + x2) / HALF
        path = f"M{x1} {y1:g}C{middle:g} {y1:g} {middle:g} {y2:g} {x2} {y2:g}"
    return f'<path class="trace__line" d="{path}"/>'


def _box(node: Node) -> str:
    x = COLUMN_X[node.column]
    return (
        f'<rect class="trace__box" x="{x}" y="{node.y:g}" width="{BOX_W}" '
        f'height="{BOX_H}"/>'
        f'<text class="trace__title" x="{x + INSET}" y="{node.y + FIRST_Y:g}">'
        f"{escape(_short(node.title))}</text>"
        f'<text class="trace__under" x="{x + INSET}" y="{node.y + SECOND_Y:g}">'
        f"{escape(_short(node.under))}</text>"
    )


def _short(text: str) -> str:
    return text if len(text) <= LONGEST else f"{text[: LONGEST - 1]}…"
