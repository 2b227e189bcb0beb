"""Judges a whole batch: every limit given, or every limit its product's facts select."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

from safety.controls import CONTROL_POINTS, STEPS
from safety.facts import Answer
from safety.judge import combined, cooling, dates, dwell, exposure, stay, values
from safety.judge.evidence import Batch
from safety.judge.finding import Finding, Judgement, Status, worst
from safety.judge.gather import Gathered
from safety.judge.placing import Scene
from safety.judge.plan import Planned, published_ids
from safety.judge.sentences import Clock
from safety.judge.trusting import judge_instruments
from safety.limits import Catalogue, Selected, interval_of, select, with_interval
from safety.limits.model import (
    Combination,
    CoolLimit,
    DwellLimit,
    ExposureLimit,
    Limit,
    Published,
    StatedLimit,
    StayLimit,
    ValueLimit,
    WithinLimit,
)

TYPED = "typed where a recorder is asked"
BY_LETTER = "looser by a process authority's letter"
NO_LIMIT = "no-governing-limit"


def judge_batch(
    batch: Batch,
    *,
    intervals: Mapping[str, int] | None = None,
    plan: Sequence[Planned] | None = None,
    among: Catalogue | None = None,
) -> Judgement:
    """Judge one batch by its own limits, by a plan's or by the published ones.

    Parameters
    ----------
    batch : Batch
        With ``limits``: exactly these are judged, and the instruments used. Without:
        those that the product's facts select; a limit that may apply for want of a
        fact is a finding ``not shown``, never left out.
    intervals : Mapping, optional
        Control point to the longest minutes between readings that the producer's plan
        allows, in place of our own interval; never above its ceiling.
    plan : sequence of Planned, optional
        The limits of the signed plan in force when the batch was started. Exactly
        these govern, as the plan froze them; published limits outside it are shown as
        comparison. That a plan covers all that governs is checked where it is signed.
    among : Catalogue, optional
        Other guidance than our own, to see what it would change.

    Returns
    -------
    Judgement
        Its outcome is the worst finding that governs; with none, not shown. Nothing
        in it errs towards met.

    Raises
    ------
    Refused
        If an interval lies above the ceiling for its control point.
    """
    gathered = Gathered(batch)
    clock = Clock(gathered)
    comparison: list[Finding] = []
    if batch.limits is not None:
        findings = [
            finding
            for limit in batch.limits
            for finding in _judge_top(limit, gathered, clock)
        ]
    elif plan is not None:
        findings, comparison = _judge_planned(gathered, clock, plan, among)
    else:
        findings, comparison = _judge_published(gathered, clock, intervals or {}, among)
    findings += judge_instruments(gathered)
    return Judgement(
        outcome=_outcome(findings),
        control_points=_by_control_point(findings),
        findings=tuple(findings),
        comparison=tuple(comparison),
    )


def _outcome(findings: list[Finding]) -> Status:
    status = worst([finding.status for finding in findings])
    return Status.NOT_SHOWN if status is Status.DOES_NOT_APPLY else status


def _by_control_point(findings: list[Finding]) -> dict[str, Status]:
    by_name: dict[str, list[Status]] = {}
    for finding in findings:
        by_name.setdefault(finding.control_point, []).append(finding.status)
    return {name: worst(by_name[name]) for name in CONTROL_POINTS if name in by_name}


def _judge_top(limit: Limit, gathered: Gathered, clock: Clock) -> list[Finding]:
    control_point = limit.control_point or ""
    step = limit.step or (control_point if control_point in STEPS else None)
    return _judge(limit, Scene(gathered, clock, control_point, step))


def _judge(limit: Limit, scene: Scene) -> list[Finding]:
    if isinstance(limit, Combination):
        return combined.judge(limit, scene, _judge)
    return _JUDGES[type(limit)](limit, scene)


_JUDGES: dict[type[Limit], Callable[..., list[Finding]]] = {
    ValueLimit: values.judge,
    DwellLimit: dwell.judge,
    StayLimit: stay.judge,
    CoolLimit: cooling.judge,
    ExposureLimit: exposure.judge,
    WithinLimit: dates.judge_within,
    StatedLimit: dates.judge_stated,
}


def _judge_published(
    gathered: Gathered,
    clock: Clock,
    intervals: Mapping[str, int],
    among: Catalogue | None,
) -> tuple[list[Finding], list[Finding]]:
    findings: list[Finding] = []
    comparison: list[Finding] = []
    for selected in select(gathered.batch.product.facts, among=among):
        published = _with_plan(selected.published, intervals)
        governs = selected.governs is not Answer.NO
        if Answer.UNKNOWN in (selected.applies, selected.governs):
            found = [_open_question(published, selected)]
        else:
            found = [
                _with_source(finding, published, gathered, governs=governs)
                for finding in _judge_top(published.limit, gathered, clock)
            ]
        (findings if governs else comparison).extend(
            replace(each, governs=governs) for each in found
        )
    return _in_order(findings), comparison


def _judge_planned(
    gathered: Gathered,
    clock: Clock,
    plan: Sequence[Planned],
    among: Catalogue | None,
) -> tuple[list[Finding], list[Finding]]:
    findings = []
    for planned in plan:
        published = planned.published
        for finding in _judge_top(planned.limit, gathered, clock):
            judged = finding
            if published is not None:
                kept = replace(
                    published,
                    limit=planned.limit,
                    words=planned.words or published.words,
                )
                judged = _with_source(finding, kept, gathered, governs=True)
            if planned.has_letter:
                judged = replace(judged, cautions=(*judged.cautions, BY_LETTER))
            findings.append(replace(judged, planned=planned))
    covered = published_ids(plan)
    outside = [
        _with_source(finding, selected.published, gathered, governs=False)
        for selected in select(gathered.batch.product.facts, among=among)
        if selected.published.limit.id not in covered and selected.applies is Answer.YES
        for finding in _judge_top(selected.published.limit, gathered, clock)
    ]
    return _in_order(findings), outside


def _in_order(findings: list[Finding]) -> list[Finding]:
    """Return the findings in the order of the work; one that says so where none is."""
    judged = list(findings)
    if all(finding.status is Status.DOES_NOT_APPLY for finding in judged):
        judged.append(_nothing_governs())
    order = list(CONTROL_POINTS)
    return sorted(judged, key=lambda finding: order.index(finding.control_point))


def _with_plan(published: Published, intervals: Mapping[str, int]) -> Published:
    minutes = intervals.get(published.limit.control_point or "")
    if minutes is None or interval_of(published) is None:
        return published
    return with_interval(published, Decimal(minutes))


def _with_source(
    finding: Finding, published: Published, gathered: Gathered, *, governs: bool
) -> Finding:
    cautions = finding.cautions
    if published.continuous_recorder and _was_typed(published.limit, gathered):
        cautions = (*cautions, TYPED)
    return replace(finding, published=published, cautions=cautions, governs=governs)


def _was_typed(limit: Limit, gathered: Gathered, inherited: str = "") -> bool:
    """Whether any reading that a limit rests on was typed instead of logged."""
    step = limit.step or limit.control_point or inherited
    if isinstance(limit, Combination):
        return any(_was_typed(member, gathered, step) for member in limit.limits)
    if not isinstance(limit, ValueLimit | CoolLimit | ExposureLimit):
        return False
    steps = (step,) if isinstance(limit, ValueLimit) else limit.steps
    return any(
        rows.typed is not None and bool(rows.typed.any())
        for step in steps
        for rows in gathered.rows.get((step, limit.quantity), {}).values()
    )


def _open_question(published: Published, selected: Selected) -> Finding:
    limit = published.limit
    return Finding(
        control_point=limit.control_point or "",
        limit=limit,
        limit_id=limit.id,
        place=None,
        status=Status.NOT_SHOWN,
        why=selected.why,
        would_settle=f"The product's {', '.join(selected.missing)}.",
        published=published,
    )


def _nothing_governs() -> Finding:
    return Finding(
        control_point="record-review",
        limit=None,
        limit_id=NO_LIMIT,
        place=None,
        status=Status.NOT_SHOWN,
        why="No published limit that we know governs this product.",
        would_settle=(
            "The product's food, process, packaging, storage and programme, or limits "
            "given with the batch."
        ),
    )
