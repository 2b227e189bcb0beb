"""What the limits of a batch ask for: quantities, statements, dates."""

from collections.abc import Iterable, Iterator, Sequence

from batches.lookups import BatchRecords
from batches.reviewing import REVIEW
from safety.controls import STEPS
from safety.judge.finding import Finding
from safety.limits.model import (
    Combination,
    CoolLimit,
    ExposureLimit,
    Limit,
    StatedLimit,
    WithinLimit,
)


def leaves(limit: Limit | None) -> Iterator[Limit]:
    """Give a limit, or the limits that a combination is made of."""
    if isinstance(limit, Combination):
        for member in limit.limits:
            yield from leaves(member)
    elif limit is not None:
        yield limit


def asked_of(findings: Iterable[Finding], step: str) -> tuple[str, ...]:
    """Return the quantities that limits ask for in a step, in the order of the limits."""
    asked: dict[str, None] = {}
    for finding in findings:
        for limit in leaves(finding.limit):
            quantity = getattr(limit, "quantity", None)
            if quantity is not None and step in _steps_of(limit, finding):
                asked[quantity] = None
    return tuple(asked)


def statements_asked(
    findings: Iterable[Finding], records: BatchRecords
) -> tuple[tuple[str, str], ...]:
    """Return what limits want stated and is not on record yet, with their words."""
    stated = {row.what for row in records.statements.current}
    asked: dict[str, str] = {}
    for finding in findings:
        for limit in leaves(finding.limit):
            if isinstance(limit, StatedLimit) and limit.what not in stated:
                asked.setdefault(limit.what, _words(limit, finding))
    return tuple(asked.items())


def dates_asked(
    findings: Iterable[Finding], records: BatchRecords
) -> tuple[tuple[str, str], ...]:
    """Return the dates that limits name and that are not on record yet.

    That of a review is no date to be typed: whoever reads the record signs it.
    """
    dated = {row.what for row in records.dates.current}
    asked: dict[str, str] = {}
    for finding in findings:
        for limit in leaves(finding.limit):
            if isinstance(limit, WithinLimit):
                for what in (limit.what, limit.of):
                    is_edge = what.rpartition(".")[0] in STEPS
                    if what not in dated and what != REVIEW and not is_edge:
                        asked.setdefault(what, what.replace("-", " "))
    return tuple(asked.items())


def _words(limit: StatedLimit, finding: Finding) -> str:
    about = limit.what.replace("-", " ")
    return f"{about}: {finding.published.words}" if finding.published else about


def _steps_of(limit: Limit, finding: Finding) -> Sequence[str]:
    if isinstance(limit, CoolLimit):
        return limit.steps[-1:]
    if isinstance(limit, ExposureLimit):
        return ()
    whole = finding.limit.step if finding.limit else None
    return (limit.step or whole or finding.control_point,)
