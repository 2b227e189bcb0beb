"""Which of several published limits is the strictest: one that makes the others idle.

A limit is at least as strict as another when every record that meets it meets the other
too. Where that cannot be said from the two alone, neither is dropped.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from safety.controls import STEPS
from safety.facts import Answer
from safety.limits import Selected
from safety.limits.model import (
    Band,
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
from safety.plans.planned import PlanLimit, Role
from safety.quantities import quantity
from safety.units import convert

_LEAST = ("at_least", "dwell_at_least", "stay_at_least")


@dataclass(frozen=True, slots=True)
class Placed:
    """A limit with the step in which it is judged and what must record it."""

    limit: Limit
    step: str | None
    recorder: bool


def placed(published: Published) -> Placed:
    """Return a published limit with its step."""
    limit = published.limit
    own = limit.control_point if limit.control_point in STEPS else None
    return Placed(limit, limit.step or own, published.continuous_recorder)


def at_least_as_strict(one: Placed, other: Placed) -> bool:
    """Say whether every record that meets ``one`` meets ``other`` too.

    False also where it cannot be told: then both limits stay.
    """
    if other.recorder and not one.recorder:
        return False
    return _implies(one.limit, one.step, other.limit, other.step)


def choose(selected: tuple[Selected, ...]) -> tuple[PlanLimit, ...]:
    """Return the limits of one control point with the part that each plays in a plan.

    Parameters
    ----------
    selected : tuple of Selected
        Limits that apply or may apply, in one step.

    Returns
    -------
    tuple of PlanLimit
        Every one of them. STRICTEST: it governs, and no other makes it idle. COVERED:
        whoever meets another that governs meets it too. OPEN: it would count, but a
        fact is missing. COMPARISON: it does not govern here. Only a limit that applies
        and governs for certain covers another.
    """
    sure = [one for one in selected if _certain(one)]
    standing = [one for one in sure if _covering(one, sure) is None]
    return tuple(_role(one, standing) for one in selected)


def _certain(selected: Selected) -> bool:
    return selected.applies is Answer.YES and selected.governs is Answer.YES


def _role(selected: Selected, standing: list[Selected]) -> PlanLimit:
    published = selected.published
    if selected.governs is Answer.NO:
        return PlanLimit(
            published=published,
            role=Role.COMPARISON,
            why=selected.why,
            missing=selected.missing,
        )
    stricter = _covering(selected, standing)
    if stricter is not None:
        other = stricter.published
        return PlanLimit(
            published=published,
            role=Role.COVERED,
            covered_by=other.limit.id,
            why=f"Whoever meets {other.limit.id} meets this one too. {selected.why}",
            missing=selected.missing,
        )
    role = Role.STRICTEST if _certain(selected) else Role.OPEN
    return PlanLimit(
        published=published, role=role, why=selected.why, missing=selected.missing
    )


def _covering(selected: Selected, sure: list[Selected]) -> Selected | None:
    """Return the limit that makes this one idle; of two that say the same, the first."""
    mine = placed(selected.published)
    for other in sure:
        if other is selected:
            continue
        its = placed(other.published)
        if not at_least_as_strict(its, mine):
            continue
        equal = at_least_as_strict(mine, its)
        if not equal or not _stands_before(selected, other, sure):
            return other
    return None


def _stands_before(one: Selected, other: Selected, sure: list[Selected]) -> bool:
    """Say whether the first of two comes earlier in the list; one not in it does not."""
    for each in sure:
        if each is one or each is other:
            return each is one
    return False


def _implies(one: Limit, step: str | None, other: Limit, its: str | None) -> bool:
    step, its = one.step or step, other.step or its
    if isinstance(one, Combination) and one.kind == "any_of":
        return all(_implies(member, step, other, its) for member in one.limits)
    if isinstance(other, Combination) and other.kind == "all_of":
        return all(_implies(one, step, member, its) for member in other.limits)
    if isinstance(other, Combination):
        return any(_implies(one, step, member, its) for member in other.limits) or (
            isinstance(one, Combination)
            and any(_implies(member, step, other, its) for member in one.limits)
        )
    if isinstance(one, Combination):
        return any(_implies(member, step, other, its) for member in one.limits)
    if one.kind != other.kind or (step != its and not isinstance(one, StatedLimit)):
        return False
    compare = _COMPARE.get(type(one))
    return compare is not None and compare(one, other)


def _thresholds(
    value: Decimal, unit: str, also: Mapping[str, Decimal], units: tuple[str, ...]
) -> list[Fraction]:
    """Return the figure that a reading in each unit is compared with."""
    return [
        Fraction(also[each]) if each in also else Fraction(convert(value, unit, each))
        for each in units
    ]


def _values(one: ValueLimit, other: ValueLimit) -> bool:
    if one.quantity != other.quantity:
        return False
    units = quantity(one.quantity).units
    mine = _thresholds(one.value, one.unit, one.also, units)
    its = _thresholds(other.value, other.unit, other.also, units)
    loose = other.strict and not one.strict
    for a, b in zip(mine, its, strict=True):
        beyond = a > b if one.kind in _LEAST else a < b
        if not beyond and (a != b or loose):
            return False
    return True


def _dwells(one: DwellLimit, other: DwellLimit) -> bool:
    return (
        _values(one, other)
        and one.minutes >= other.minutes
        and one.check_every_min <= other.check_every_min
    )


def _stays(one: StayLimit, other: StayLimit) -> bool:
    return (
        _values(one, other)
        and one.excursion_min <= other.excursion_min
        and one.check_every_min <= other.check_every_min
    )


def _coolings(one: CoolLimit, other: CoolLimit) -> bool:
    if (one.quantity, one.steps) != (other.quantity, other.steps):
        return False
    if one.minutes > other.minutes or (other.strict and not one.strict):
        return False
    units = quantity(one.quantity).units

    def ends(limit: CoolLimit, end: int, value: Decimal) -> list[Fraction]:
        also = {unit: pair[end] for unit, pair in limit.also.items()}
        return _thresholds(value, limit.unit, also, units)

    if ends(one, 0, one.from_value) != ends(other, 0, other.from_value):
        return False
    stops = zip(ends(one, 1, one.to_value), ends(other, 1, other.to_value), strict=True)
    return all(a <= b for a, b in stops)


def _exposures(one: ExposureLimit, other: ExposureLimit) -> bool:
    if one.quantity != other.quantity or not set(other.steps) <= set(one.steps):
        return False
    if one.check_every_min > other.check_every_min:
        return False
    return all(
        any(_band(mine, one.unit, its, other.unit) for mine in one.bands)
        for its in other.bands
    )


def _band(mine: Band, unit: str, its: Band, other: str) -> bool:
    def exact(value: Decimal, of: str) -> Fraction:
        return Fraction(convert(value, of, unit))

    if exact(mine.above, unit) > exact(its.above, other) or mine.minutes > its.minutes:
        return False
    if mine.up_to is None:
        return True
    return its.up_to is not None and exact(mine.up_to, unit) >= exact(its.up_to, other)


def _dates(one: WithinLimit, other: WithinLimit) -> bool:
    return (one.what, one.of) == (other.what, other.of) and one.days <= other.days


def _statements(one: StatedLimit, other: StatedLimit) -> bool:
    return one.what == other.what


_COMPARE: dict[type[Limit], Callable[[Any, Any], bool]] = {
    ValueLimit: _values,
    DwellLimit: _dwells,
    StayLimit: _stays,
    CoolLimit: _coolings,
    ExposureLimit: _exposures,
    WithinLimit: _dates,
    StatedLimit: _statements,
}
