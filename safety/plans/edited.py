"""A drafted plan as its owner edits it: limits tightened, loosened or added."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

from safety.controls import STEPS
from safety.errors import Refused
from safety.limits import interval_of
from safety.limits.fields import checked_number, join
from safety.limits.model import (
    Combination,
    CoolLimit,
    DwellLimit,
    Limit,
    Published,
    StayLimit,
    ValueLimit,
    WithinLimit,
)
from safety.limits.parse import parse_limit
from safety.plans.planned import DraftPlan, PlanLimit, Role
from safety.plans.strictest import Placed, at_least_as_strict, placed
from safety.units import convert

OWN = "own."  # how the ids of a producer's own limits begin
_FIGURES: dict[str, tuple[type[Limit], ...]] = {
    "value": (ValueLimit,),
    "from": (CoolLimit,),
    "to": (CoolLimit,),
    "minutes": (DwellLimit, CoolLimit),
    "check_every_min": (DwellLimit, StayLimit),
    "excursion_min": (StayLimit,),
    "days": (WithinLimit,),
}
_FIELDS = {"from": "from_value", "to": "to_value"}


@dataclass(frozen=True, slots=True, kw_only=True)
class EditedLimit:
    """One limit of a plan after its owner's edits.

    ``published`` is None for a limit of the producer's own. ``is_kept`` says that every
    record that meets it meets the published one too; otherwise the plan needs a process
    authority's letter.
    """

    limit: Limit
    published: Published | None
    words: str
    is_edited: bool = False
    is_kept: bool = True


def editable(limit: Limit) -> tuple[str, ...]:
    """Return the figures of a limit that a plan may set, by their key.

    A combination has none: a plan adds a limit of its own beside it.
    """
    return tuple(key for key, kinds in _FIGURES.items() if isinstance(limit, kinds))


def figure(limit: Limit, key: str) -> Decimal:
    """Return the figure of a limit that stands under a key.

    Raises
    ------
    Refused
        If this kind of limit has no such figure.
    """
    if key not in editable(limit):
        raise Refused(join("", key), key, ", ".join(editable(limit)) or "no figure")
    value: Decimal = getattr(limit, _FIELDS.get(key, key))
    return value


def edited_limits(
    draft: DraftPlan,
    figures: Mapping[str, Mapping[str, str]],
    own: Sequence[Mapping[str, Any]] = (),
) -> tuple[EditedLimit, ...]:
    """Return the limits that a plan judges by, in the order of the work.

    Parameters
    ----------
    draft : DraftPlan
        With the published limits and the part that each plays.
    figures : Mapping
        Published id to the figures that the owner sets in place of the printed ones,
        by key, as typed.
    own : sequence of Mapping
        Limits of the producer's own, as the open format writes them, with ``words``.

    Returns
    -------
    tuple of EditedLimit
        The strictest published ones, as edited; every covered one that an edit no
        longer covers; and the producer's own. None is ever left out.

    Raises
    ------
    Refused
        If a figure is no number or not this limit's, or an own limit is unclear.
    """
    strictest = [
        _edited(each, figures.get(each.published.limit.id, {}))
        for each in _with_role(draft, Role.STRICTEST)
    ]
    known = {each.limit.id for each in strictest}
    for identity in figures:
        if identity not in known:
            raise Refused(
                join("/limits", identity), identity, "a limit that the plan is set by"
            )
    standing = [_placed(each) for each in strictest]
    uncovered = [
        EditedLimit(
            limit=each.published.limit,
            published=each.published,
            words=each.published.words,
        )
        for each in _with_role(draft, Role.COVERED)
        if not any(at_least_as_strict(one, placed(each.published)) for one in standing)
    ]
    added = [_own(entry, i) for i, entry in enumerate(own)]
    return (*strictest, *uncovered, *added)


def _with_role(draft: DraftPlan, role: Role) -> Iterator[PlanLimit]:
    seen: set[str] = set()
    for point in draft.points:
        for each in point.limits:
            identity = each.published.limit.id
            if each.role is role and identity not in seen:
                seen.add(identity)
                yield each


def _edited(planned: PlanLimit, figures: Mapping[str, str]) -> EditedLimit:
    published = planned.published
    limit = published.limit
    changes: dict[str, Any] = {}
    for key, typed in figures.items():
        pointer = join(join("/limits", limit.id), key)
        if key not in editable(limit):
            allowed = ", ".join(editable(limit)) or "no figure: add a limit of your own"
            raise Refused(pointer, key, allowed)
        value = _number(typed, pointer)
        if value != figure(limit, key):
            changes[_FIELDS.get(key, key)] = value
    if not changes:
        return EditedLimit(limit=limit, published=published, words=published.words)
    _check_interval(published, changes)
    if changes.keys() & {"value", "from_value", "to_value"}:
        changes["also"] = _also(limit, changes)
    edited = replace(limit, **changes)
    if isinstance(edited, CoolLimit) and edited.from_value <= edited.to_value:
        raise Refused(
            join("/limits", limit.id), str(edited.to_value), "a colder end than start"
        )
    own = placed(published)
    compared = edited
    if "check_every_min" in changes:  # our own figure, held by its ceiling alone
        same: dict[str, Any] = {"check_every_min": figure(limit, "check_every_min")}
        compared = replace(edited, **same)
    return EditedLimit(
        limit=edited,
        published=published,
        words="",
        is_edited=True,
        is_kept=at_least_as_strict(replace(own, limit=compared), own),
    )


def _also(limit: Limit, changes: Mapping[str, Any]) -> dict[str, Any]:
    """Return the figures in the other unit: those printed no longer hold.

    Only where the start of a cooling stays as printed does its figure stay too; the end
    beside it is rounded down, to the strict side.
    """
    if not isinstance(limit, CoolLimit) or "from_value" in changes:
        return {}
    end = changes["to_value"]
    return {
        unit: (start, _rounded_down(convert(end, limit.unit, unit)))
        for unit, (start, _) in limit.also.items()
    }


def _rounded_down(exact: Fraction) -> Decimal:
    return Decimal(math.floor(exact * 10)) / 10


def _check_interval(published: Published, changes: Mapping[str, Any]) -> None:
    interval = interval_of(published)
    wanted = changes.get("check_every_min")
    if wanted is None or interval is None:
        return
    if not 0 < wanted <= interval.ceiling_min:
        raise Refused(
            join("/limits", published.limit.id),
            f"{wanted} min between readings",
            f"more than 0 and at most {interval.ceiling_min} min",
        )


def _number(typed: str, pointer: str) -> Decimal:
    try:
        value = Decimal(str(typed))
    except ArithmeticError:
        raise Refused(pointer, repr(typed), "a number") from None
    return checked_number(value, pointer)


def _placed(edited: EditedLimit) -> Placed:
    limit = edited.limit
    own = limit.control_point if limit.control_point in STEPS else None
    recorder = edited.published is not None and edited.published.continuous_recorder
    return Placed(limit, limit.step or own, recorder)


def _own(entry: Mapping[str, Any], index: int) -> EditedLimit:
    pointer = join("/own", index)
    rest = {
        key: _number(value, join(pointer, key)) if key in _FIGURES else value
        for key, value in entry.items()
        if key != "words"
    }
    limit = parse_limit(rest, pointer=pointer)
    if not limit.id.startswith(OWN) or isinstance(limit, Combination):
        raise Refused(join(pointer, "id"), limit.id, f"one plain limit, {OWN}…")
    words = str(entry.get("words", "")).strip()
    return EditedLimit(limit=limit, published=None, words=words, is_edited=True)
