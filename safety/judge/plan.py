"""A limit as a producer's signed plan has it: published, tightened, or its own."""

from collections.abc import Iterable
from dataclasses import dataclass

from safety.limits.model import Limit, Published


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """One limit of a plan.

    ``published`` is the published limit that it keeps or tightens, as the plan froze it
    when it was signed; None for a limit of the producer's own. ``has_letter`` says that
    a process authority's letter lets it be looser: every document shows that.
    """

    limit: Limit
    published: Published | None = None
    words: str = ""
    has_letter: bool = False


def published_ids(plan: Iterable[Planned]) -> frozenset[str]:
    """Return the ids of the published limits that a plan covers.

    Parameters
    ----------
    plan : iterable of Planned
        The limits of one plan.

    Returns
    -------
    frozenset of str
        Without the producer's own limits.
    """
    return frozenset(
        each.published.limit.id for each in plan if each.published is not None
    )
