"""What the judge says: a status that explains itself."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from fractions import Fraction
from typing import Any

from safety.judge.plan import Planned
from safety.limits.model import Limit, Published


class Status(Enum):
    """The four answers; never a bare boolean."""

    MET = "met"
    MISSED = "missed"
    NOT_SHOWN = "not shown"
    DOES_NOT_APPLY = "does not apply"


_RANK = {
    Status.DOES_NOT_APPLY: 0,
    Status.MET: 1,
    Status.NOT_SHOWN: 2,
    Status.MISSED: 3,
}


def worst(statuses: list[Status]) -> Status:
    """Return the worst of ``statuses``; with none, does not apply.

    Parameters
    ----------
    statuses : list of Status
        In any order.

    Returns
    -------
    Status
        Missed over not shown over met over does not apply.
    """
    return max(statuses, key=_RANK.__getitem__, default=Status.DOES_NOT_APPLY)


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One limit judged for one series, with the figures and the reason.

    ``observed`` holds the figures in the limit's unit and in minutes (None: without
    bound). ``published`` is None where the limit came with the batch file.
    ``governs`` is False for a limit shown only as comparison; ``planned`` is the limit
    as the producer's signed plan has it, where one was judged by.
    """

    control_point: str
    limit: Limit | None
    limit_id: str
    place: str | None
    status: Status
    observed: Mapping[str, Any] = field(default_factory=dict)
    cautions: tuple[str, ...] = ()
    why: str = ""
    would_settle: str = ""
    published: Published | None = None
    governs: bool = True
    planned: Planned | None = None

    def as_json(self) -> dict[str, Any]:
        """Return the finding as the judgement format writes it."""
        return {
            "control_point": self.control_point,
            "limit": self.limit_id,
            "place": self.place,
            "status": self.status.value,
            "observed": _plain(self.observed),
            "cautions": list(self.cautions),
            "why": self.why,
            "would_settle": self.would_settle,
            "source": _source(self.published),
        }


@dataclass(frozen=True, slots=True)
class Judgement:
    """All findings of one batch.

    ``comparison`` are findings by limits that do not govern this batch: shown, never
    part of the outcome.
    """

    outcome: Status
    control_points: Mapping[str, Status]
    findings: tuple[Finding, ...]
    comparison: tuple[Finding, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Return the judgement in the format ``brinewright.judgement/1``."""
        document = {
            "format": "brinewright.judgement/1",
            "outcome": self.outcome.value,
            "control_points": {
                name: status.value for name, status in self.control_points.items()
            },
            "findings": [finding.as_json() for finding in self.findings],
        }
        if self.comparison:
            document["comparison"] = [finding.as_json() for finding in self.comparison]
        return document


def _plain(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    if isinstance(value, Fraction):
        return float(value)
    return value


def _source(published: Published | None) -> dict[str, str] | None:
    if published is None:
        return None
    source = published.source
    return {
        "publisher": source.publisher,
        "title": source.title,
        "section": source.section,
        "edition": source.edition,
    }
