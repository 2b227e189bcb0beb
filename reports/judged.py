"""What the judge found, as rows of a document."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from reports import wording
from reports.sheets import (
    NOTHING,
    Deviation,
    FindingRow,
    LimitRow,
    OpenPoint,
    Pair,
    PlaceLine,
)
from safety.judge.finding import Finding, Status, worst
from safety.limits import interval_of
from safety.limits.model import Combination, Source

Row = TypeVar("Row", Deviation, OpenPoint)

HOLDS = (Status.MISSED, Status.NOT_SHOWN)
_SAID = {
    Status.MET: "checks accepted",
    Status.DOES_NOT_APPLY: "nothing to judge here",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """All findings of one limit at one control point, and the limit's number."""

    number: str
    findings: tuple[Finding, ...]

    @property
    def first(self) -> Finding:
        return self.findings[0]

    @property
    def control_point(self) -> str:
        return wording.title(self.first.control_point)

    @property
    def figure(self) -> str:
        """Return what is asked, short; a combination in the publication's words."""
        published = self.first.published
        if published is not None and isinstance(self.first.limit, Combination):
            return published.words
        return wording.figure(self.first.limit)

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


# ------------------------------------------------------------ what holds the lot


def deviations(groups: Sequence[Group]) -> tuple[Deviation, ...]:
    """Return what was missed, one for each limit."""
    missed = [
        (group, [each for each in group.findings if each.status is Status.MISSED])
        for group in groups
        if group.status is Status.MISSED
    ]
    return tuple(
        Deviation(
            number=f"D{count}",
            numbers=(group.number,),
            limit=f"{group.control_point}: {group.figure} ({group.number})",
            place=", ".join(each.place for each in held if each.place),
            why=_sentences(held, "why"),
            would_settle=_sentences(held, "would_settle"),
        )
        for count, (group, held) in enumerate(missed, start=1)
    )


def open_points(groups: Sequence[Group]) -> tuple[OpenPoint, ...]:
    """Return what is not shown, limits that want for the same thing together."""
    reasons: dict[tuple[str, str], list[Group]] = {}
    for group in groups:
        held = [each for each in group.findings if each.status is Status.NOT_SHOWN]
        if held:
            key = (_sentences(held, "why"), _sentences(held, "would_settle"))
            reasons.setdefault(key, []).append(group)
    return tuple(
        OpenPoint(
            number=f"N{count}",
            limits=", ".join(f"{each.number} {each.control_point}" for each in same),
            numbers=tuple(each.number for each in same),
            why=why,
            would_settle=would_settle,
        )
        for count, ((why, would_settle), same) in enumerate(reasons.items(), start=1)
    )


def taken_up(
    rows: Sequence[Row], groups: Sequence[Group], cases: Mapping[tuple[str, str], str]
) -> tuple[Row, ...]:
    """Return the rows with the deviations on record that take them up.

    ``cases`` are by control point and limit.
    """
    by_number = {
        group.number: cases.get((group.first.control_point, group.first.limit_id), "")
        for group in groups
    }
    return tuple(
        replace(
            row,
            answered=", ".join(
                dict.fromkeys(
                    by_number[number] for number in row.numbers if by_number[number]
                )
            ),
        )
        for row in rows
    )


def answers(rows: Sequence[Deviation | OpenPoint]) -> dict[str, str]:
    """Return for each limit under which numbers it is taken up."""
    found: dict[str, str] = {}
    for row in rows:
        for number in row.numbers:
            found[number] = (
                f"{found[number]}, {row.number}" if number in found else row.number
            )
    return found


def outcome_says(outcome: Status, missed: int, groups: Sequence[Group]) -> str:
    """Return in one sentence what the outcome means for the lot."""
    if outcome is Status.MET:
        return (
            "Every limit that governs is met by this record. "
            "Releasing the lot is for a named person to decide."
        )
    open_ones = sum(
        any(each.status is Status.NOT_SHOWN for each in group.findings)
        for group in groups
    )
    counts = [f"{count} {word}" for count, word in (
        (missed, "missed"), (open_ones, "not shown")) if count]  # fmt: skip
    said = f"Limits: {' and '.join(counts)}. " if counts else "No limit was judged. "
    return said + "Without a named person’s decision the lot is not released."


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


# ------------------------------------------------------------ every finding


def finding_rows(
    groups: Sequence[Group],
    *,
    sources: Mapping[str, str] | None = None,
    answers: Mapping[str, str] | None = None,
) -> tuple[FindingRow, ...]:
    """Return one row for each limit.

    With ``sources`` each says where it is printed; ``answers`` say under which number
    a limit that is not met is taken up.
    """
    found = answers or {}
    return tuple(
        FindingRow(
            number=group.number,
            control_point=group.control_point,
            figure=group.figure,
            status=group.status.value,
            places=_places(group, found.get(group.number)),
            source="" if sources is None else _where(group.first, sources),
        )
        for group in groups
    )


def _places(group: Group, answer: str | None) -> tuple[PlaceLine, ...]:
    same: dict[tuple[str, str, tuple[str, ...]], list[str]] = {}
    for finding in group.findings:
        key = (_observed(finding, answer), finding.status.value, finding.cautions)
        same.setdefault(key, []).append(finding.place or "")
    return tuple(
        PlaceLine(
            place=", ".join(place for place in places if place),
            observed=observed,
            status=status,
            cautions=cautions,
        )
        for (observed, status, cautions), places in same.items()
    )


def _observed(finding: Finding, answer: str | None) -> str:
    figures = wording.observed(finding)
    if figures:
        return figures
    if finding.status in HOLDS:
        return f"see {answer}" if answer else NOTHING
    if finding.limit is None or not finding.why:
        return _SAID[finding.status]
    return finding.why.split(";")[0]  # what was seen; what is asked stands beside it


def cannot_show(groups: Sequence[Group]) -> tuple[str, ...]:
    """Return what the intervals of the limits cannot show, each sentence once."""
    intervals = [
        interval_of(group.first.published)
        for group in groups
        if group.first.published is not None
    ]
    return tuple(dict.fromkeys(each.cannot_show for each in intervals if each))


# ------------------------------------------------------------ limits and publications


def publications(*several: Sequence[Group]) -> dict[str, tuple[str, str]]:
    """Return the publications by their id: a number, and the whole citation."""
    found: dict[str, Source] = {}
    for groups in several:
        for group in groups:
            if group.first.published is not None:
                source = group.first.published.source
                found.setdefault(_identity(source), source)
    return {
        identity: (f"S{count}", _cite(source))
        for count, (identity, source) in enumerate(found.items(), start=1)
    }


def publication_rows(found: Mapping[str, tuple[str, str]]) -> tuple[Pair, ...]:
    """Return the publications as they are listed."""
    return tuple(Pair(name=number, value=cited) for number, cited in found.values())


def limit_rows(
    groups: Sequence[Group], sources: Mapping[str, str]
) -> tuple[LimitRow, ...]:
    """Return the limits in the words of their publications."""
    return tuple(_limit_row(group, sources) for group in groups)


def _limit_row(group: Group, sources: Mapping[str, str]) -> LimitRow:
    finding, published = group.first, group.first.published
    reasons = () if published is None else (published.reason, published.note)
    return LimitRow(
        number=group.number,
        words=group.figure if published is None else published.words,
        source=_where(finding, sources),
        basis="" if published is None else wording.basis(published.basis),
        interval=wording.interval(finding.limit, published),
        note=" ".join(reason for reason in reasons if reason),
    )


def _where(finding: Finding, sources: Mapping[str, str]) -> str:
    if finding.published is None:
        return (
            "rule of this record" if finding.limit is None else "given with the batch"
        )
    source = finding.published.source
    return f"{sources[_identity(source)]}, {source.section}"


def _identity(source: Source) -> str:
    return f"{source.publisher}|{source.title}|{source.edition}"


def _cite(source: Source) -> str:
    return (
        f"{source.publisher}, {source.title}, {source.edition} "
        f"({source.standing}, {source.jurisdiction})"
    )
