"""The run sheet: what a batch page says, put together from records and judgement."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from batches.lookups import BatchRecords, StepWindow
from batches.models import Reading, Remark, Trace
from batches.views.asking import asked_of
from batches.views.cautions import Warn, warnings_for
from safety.controls import CONTROL_POINTS, STEPS
from safety.judge.finding import Finding, Judgement, Status, worst
from safety.limits.model import Published
from safety.quantities import QUANTITIES, TEMPERATURE_UNITS

# What people write down in a step besides what its limits ask for.
USUAL: dict[str, tuple[str, ...]] = {
    "receiving": ("product-temperature",),
    "freezing": ("core-temperature", "air-temperature"),
    "thawing": ("core-temperature", "air-temperature"),
    "curing": ("water-temperature", "thickness", "air-temperature"),
    "drying": ("air-temperature", "relative-humidity"),
    "heating": ("core-temperature", "air-temperature"),
    "cooling": ("core-temperature", "air-temperature"),
    "packing": ("core-temperature",),
    "cold-holding": ("air-temperature", "core-temperature"),
}
LABORATORY = {"salt", "moisture", "water-phase-salt", "water-activity", "ph", "nitrite"}
# Steps of other kinds of work, shown once something of them is on record.
RARE = {"freezing", "thawing"}
SHOWN_LAST = 4


@dataclass(frozen=True, slots=True)
class Place:
    """What one series shows of one limit."""

    name: str | None
    status: str
    why: str
    would_settle: str
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Point:
    """One limit with what each place shows of it."""

    limit_id: str
    control_point: str
    status: str
    published: Published | None
    governs: bool
    places: tuple[Place, ...]

    @property
    def first(self) -> Place:
        """Return the place that decides: the worst, first named."""
        return next(place for place in self.places if place.status == self.status)

    @property
    def slug(self) -> str:
        """Return the status as the name of a style."""
        return self.status.replace(" ", "-")


@dataclass(frozen=True, slots=True)
class Said:
    """What several limits of one step say in the same words, said once."""

    points: tuple[Point, ...]

    @property
    def first(self) -> Point:
        """Return the limit that speaks for all."""
        return self.points[0]


@dataclass(frozen=True, slots=True)
class StepView:
    """One knot on the rule."""

    name: str
    title: str
    window: StepWindow | None
    points: tuple[Point, ...]
    status: str | None
    offered: tuple[tuple[str, str], ...]
    readings: tuple[Reading, ...]
    reading_count: int
    traces: tuple[Trace, ...]
    remarks: tuple[Remark, ...]
    has_curve: bool = False
    asks_laboratory: bool = False
    warnings: tuple[Warn, ...] = ()

    @property
    def said(self) -> tuple[Said, ...]:
        """Return the limits, those together that say the same."""
        return said_once(self.points)

    @property
    def is_untouched(self) -> bool:
        """Say whether nothing was begun or seen here, and nothing is wrong."""
        has_rows = bool(self.readings or self.traces)
        is_wrong = self.status == Status.MISSED.value
        return self.window is None and not has_rows and not is_wrong

    @property
    def state(self) -> str:
        """Return whether the step is ahead, going on or done."""
        if self.window is None:
            return "ahead"
        return "going" if self.window.is_open else "done"


@dataclass(frozen=True, slots=True)
class Sheet:
    """Everything that a batch page says about the work and its limits."""

    outcome: str
    steps: tuple[StepView, ...]
    others: tuple[Said, ...]
    comparison: tuple[Said, ...]
    missed: tuple[Point, ...]
    not_shown: tuple[Point, ...]

    @property
    def drawn_first(self) -> StepView | None:
        """Return the first step that missed a limit and has a curve to look at."""
        return next(
            (
                step
                for step in self.steps
                if step.has_curve and step.status == Status.MISSED.value
            ),
            None,
        )

    @property
    def not_shown_titles(self) -> tuple[str, ...]:
        """Return where something is not shown yet, each control point once."""
        titles = (CONTROL_POINTS[p.control_point].title for p in self.not_shown)
        return tuple(dict.fromkeys(titles))

    @property
    def going(self) -> StepView | None:
        """Return the step that goes on; with several, the last begun in the work."""
        return next(
            (step for step in reversed(self.steps) if step.state == "going"), None
        )

    @property
    def ahead(self) -> StepView | None:
        """Return the step that comes next: the first after all that were begun."""
        begun = [i for i, step in enumerate(self.steps) if step.state != "ahead"]
        after = self.steps[begun[-1] + 1 :] if begun else self.steps
        return next((step for step in after if step.name not in RARE), None)


def sheet_of(records: BatchRecords, judgement: Judgement) -> Sheet:
    """Put records and judgement together in the order of the work."""
    points = grouped(judgement.findings)
    by_step: dict[str, list[Point]] = {}
    others: list[Point] = []
    for point in points:
        is_step = CONTROL_POINTS[point.control_point].is_step
        (by_step.setdefault(point.control_point, []) if is_step else others).append(
            point
        )
    seen = _seen(records)
    steps = tuple(
        _step(name, records, judgement.findings, by_step.get(name, []))
        for name in STEPS
        if name not in RARE or name in seen or name in by_step
    )
    return Sheet(
        outcome=judgement.outcome.value,
        steps=steps,
        others=said_once(others),
        comparison=said_once(grouped(judgement.comparison)),
        missed=tuple(p for p in points if p.status == Status.MISSED.value),
        not_shown=tuple(p for p in points if p.status == Status.NOT_SHOWN.value),
    )


def grouped(findings: Iterable[Finding]) -> list[Point]:
    """Return findings by limit, the places of each together."""
    together: dict[tuple[str, str], list[Finding]] = {}
    for finding in findings:
        key = (finding.control_point, finding.limit_id)
        together.setdefault(key, []).append(finding)
    return [
        Point(
            limit_id=limit_id,
            control_point=control_point,
            status=worst([finding.status for finding in group]).value,
            published=group[0].published,
            governs=group[0].governs,
            places=tuple(
                Place(f.place, f.status.value, f.why, f.would_settle, f.cautions)
                for f in group
            ),
        )
        for (control_point, limit_id), group in together.items()
    ]


def said_once(points: Iterable[Point]) -> tuple[Said, ...]:
    """Put those limits together of which the record shows the same."""
    together: dict[tuple[str, str, str, str], list[Point]] = {}
    for point in points:
        told = (point.control_point, point.status, *_told(point))
        together.setdefault(told, []).append(point)
    return tuple(Said(tuple(same)) for same in together.values())


def _told(point: Point) -> tuple[str, str]:
    return point.first.why, point.first.would_settle


def _seen(records: BatchRecords) -> set[str]:
    rows = (*records.readings.current, *records.traces.current)
    return {row.step for row in rows} | set(records.windows)


def _step(
    name: str,
    records: BatchRecords,
    findings: Sequence[Finding],
    points: Sequence[Point],
) -> StepView:
    limited = asked_of(findings, name)
    asked = dict.fromkeys((*limited, *USUAL.get(name, ())))
    facts = records.batch.product.evidence(records.batch.premises).facts
    readings = [row for row in records.readings.current if row.step == name]
    statuses = [Status(point.status) for point in points]
    return StepView(
        name=name,
        title=CONTROL_POINTS[name].title,
        window=records.windows.get(name),
        points=tuple(points),
        status=worst(statuses).value if statuses else None,
        offered=tuple(
            (quantity, QUANTITIES[quantity].title)
            for quantity in asked
            if quantity not in LABORATORY
        ),
        readings=tuple(readings[-SHOWN_LAST:]),
        reading_count=len(readings),
        traces=tuple(row for row in records.traces.current if row.step == name),
        remarks=tuple(row for row in records.remarks.current if row.step == name),
        has_curve=_has_curve(name, records, limited),
        warnings=tuple(warnings_for(facts, name)),
        asks_laboratory=bool(LABORATORY & asked.keys()),
    )


def _has_curve(name: str, records: BatchRecords, limited: Sequence[str]) -> bool:
    """Say whether a document can draw this step: two temperatures or more of a kind."""
    window = records.windows.get(name)
    counts: dict[str, int] = {}
    for row in records.readings.current:
        if row.step == name and _is_inside(row.occurred_at, window):
            counts[row.quantity] = counts.get(row.quantity, 0) + 1
    for row in records.traces.current:
        if row.step == name:
            counts[row.quantity] = counts.get(row.quantity, 0) + row.count
    warm = {q for q in counts if QUANTITIES[q].units == TEMPERATURE_UNITS}
    chosen = warm & set(limited) or warm
    return any(counts[quantity] > 1 for quantity in chosen)


def _is_inside(instant: datetime, window: StepWindow | None) -> bool:
    if window is None:
        return True
    return window.start.occurred_at <= instant and (
        window.end is None or instant <= window.end.occurred_at
    )
