"""How far apart readings may be: our own figures, and what a plan may make of them."""

from dataclasses import replace
from decimal import Decimal

from safety.errors import Refused
from safety.limits.entries import Interval
from safety.limits.load import catalogue
from safety.limits.model import (
    Combination,
    DwellLimit,
    ExposureLimit,
    Limit,
    Published,
    StayLimit,
)


def interval_of(published: Published) -> Interval | None:
    """Return the interval of a limit that is watched over time, else None."""
    return catalogue().interval_of.get(published.limit.id)


def with_interval(published: Published, minutes: Decimal | int) -> Published:
    """Return a copy in which readings may be ``minutes`` apart, as a plan says.

    Raises
    ------
    Refused
        If the limit has no interval, or ``minutes`` is not above 0 and within the
        ceiling that no plan may pass.
    """
    interval = interval_of(published)
    if interval is None:
        raise Refused(
            "/check_every_min", str(minutes), "nothing, for it is not watched over time"
        )
    wanted = Decimal(minutes)
    if not 0 < wanted <= interval.ceiling_min:
        raise Refused(
            "/check_every_min",
            str(minutes),
            f"more than 0 and at most {interval.ceiling_min} min",
        )
    return replace(
        published,
        limit=_spread(published.limit, wanted),
        interval_basis=f"plan: a reading at least every {wanted} min.",
    )


def _spread(limit: Limit, minutes: Decimal) -> Limit:
    if isinstance(limit, Combination):
        return replace(
            limit, limits=tuple(_spread(member, minutes) for member in limit.limits)
        )
    if isinstance(limit, DwellLimit | StayLimit | ExposureLimit):
        return replace(limit, check_every_min=minutes)
    return limit
