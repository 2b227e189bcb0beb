"""What the judge found, as rows of a document."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from reports import wording
from reports.sheets import Deviation, FindingRow, LimitRow, PlaceLine
from safety.judge.finding import Finding, Status, worst

HOLDS = (Status.MISSED, Status.NOT_SHOWN)


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """All findings of one limit at one control point, and the limit's number."""

    number: str
    findings: tuple[Finding, ...]

    @property
    def first(self) -> Finding:
        return self.findings[0]

    @property
    def status(self) -> Status:
        return worst([finding.status for finding in self.findings])


def grouped(findings: Iterable[Finding], letter: str) -> tuple[Group, ...]:
    """Return the findings by limit, in the order in which the judge gave them."""
    by_limit: dict[tuple[str, str], list[Finding]] = {}
    for finding in findings:
        key = (finding.control_point, finding.limit_id)
        by_limit.setdefault(key, []).append(finding)
    return tuple(
        Group(number=f"{letter}{count}", findings=tuple(same))
        for count, same in enumerate(by_limit.values(), start=1)
    )


def finding_rows(groups: Sequence[Group]) -> tuple[FindingRow, ...]:
    """Return one row for each limit, with a line for each place."""
    return tuple(
        FindingRow(
            number=group.number,
            control_point=wording.title(group.first.control_point),
            figure=wording.figure(group.first.limit),
            status=group.status.value,
            places=_places(group),
            source=_short_source(group.first),
        )
        for group in groups
    )


def deviations(groups: Sequence[Group]) -> tuple[Deviation, ...]:
    """Return what holds the lot, the missed first."""
    rows = []
    for status in HOLDS:
        for group in groups:
            held = [each for each in group.findings if each.status is status]
            if held:
                rows.append((group, status, held))
    return tuple(
        Deviation(
            number=f"D{count}",
            control_point=wording.title(group.first.control_point),
            figure=f"{wording.figure(group.first.limit)} ({group.number})",
            place=", ".join(each.place for each in held if each.place),
            status=status.value,
            why=_sentences(held, "why"),
            would_settle=_sentences(held, "would_settle"),
            needs_response=status is Status.MISSED,
        )
        for count, (group, status, held) in enumerate(rows, start=1)
    )


def limit_rows(groups: Sequence[Group]) -> tuple[LimitRow, ...]:
    """Return the limits with their whole citations."""
    return tuple(_limit_row(group) for group in groups)


def outcome_says(outcome: Status, rows: Sequence[Deviation]) -> str:
    """Return in one sentence what the outcome means for the lot."""
    if outcome is Status.MET:
        return (
            "Every limit that governs is met by this record. "
            "Releasing the lot is for a named person to decide."
        )
    missed = sum(row.needs_response for row in rows)
    open_ones = len(rows) - missed
    counts = [f"{missed} missed"] * bool(missed) + [f"{open_ones} not shown"] * bool(
        open_ones
    )
    said = f"Limits: {' and '.join(counts)}. " if counts else "No limit was judged. "
    return said + "The lot stays on hold until a named person has decided on it."


def _places(group: Group) -> tuple[PlaceLine, ...]:
    return tuple(
        PlaceLine(
            place=finding.place or "",
            observed=wording.observed(finding),
            status=finding.status.value,
            cautions=finding.cautions,
        )
        for finding in group.findings
    )


def _sentences(findings: Sequence[Finding], name: str) -> str:
    """Return the judge's sentences; where places differ, each after its place."""
    said: dict[str, list[str]] = {}
    for finding in findings:
        said.setdefault(getattr(finding, name), []).append(finding.place or "")
    parts = []
    for sentence, places in said.items():
        named = [place for place in places if place and place not in sentence]
        is_shared = len(said) == 1
        prefix = "" if is_shared or not named else f"{', '.join(named)}: "
        parts.append(prefix + sentence if sentence else "")
    return " ".join(part for part in parts if part)


def _short_source(finding: Finding) -> str:
    if finding.published is None:
        return ""
    source = finding.published.source
    return f"{source.title}, {source.section}"


def _limit_row(group: Group) -> LimitRow:
    published, limit = group.first.published, group.first.limit
    notes = [] if limit is None else [wording.interval(limit, published)]
    if published is not None:
        notes += [published.reason, published.note]
    return LimitRow(
        number=group.number,
        control_point=wording.title(group.first.control_point),
        figure=wording.figure(limit),
        words="" if published is None else published.words,
        citation="given with the batch" if published is None else _cite(group.first),
        basis="" if published is None else wording.basis(published.basis),
        note=" ".join(note for note in notes if note),
    )


def _cite(finding: Finding) -> str:
    source = finding.published.source
    return (
        f"{source.publisher}, {source.title}, {source.section}, {source.edition} "
        f"({source.standing}, {source.jurisdiction})"
    )
