"""A plan as its pages show it: control points with their limits, whoever froze them."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from batches.models import PlanVersion
from batches.planning import BY_OTHER, content_of
from safety.controls import STEPS

Plain = Mapping[str, Any]
_STANDING = ("strictest", "covered")


@dataclass(frozen=True, slots=True)
class Point:
    """One control point with the limits by which it is judged."""

    said: Plain
    limits: tuple[Plain, ...]
    compared: tuple[Plain, ...]
    hazards: tuple[str, ...]
    who: str


@dataclass(frozen=True, slots=True)
class PlanPage:
    """Everything that a plan says, in the order in which it is read."""

    content: Plain
    critical: tuple[Point, ...]
    others: tuple[Point, ...]

    @property
    def plan(self) -> Plain:
        """Return what was drafted."""
        return self.content["plan"]

    @property
    def edits(self) -> Plain:
        """Return what the owner decided on top of it."""
        return self.content["edits"]

    @property
    def description(self) -> list[tuple[str, str]]:
        """Return each line of the product description with its answer."""
        given = self.edits["description"]
        return [
            (line["question"], given.get(line["id"], "") or line["answer"])
            for line in self.plan["description"]
        ]

    @property
    def is_reviewed_by_other(self) -> bool:
        """Say whether nobody may review entries of their own."""
        return bool(self.edits.get("review", {}) == BY_OTHER)

    @property
    def letters(self) -> list[Plain]:
        """Return the limits that an authority's letter lets be looser."""
        return [each for each in self.content["limits"] if each["letter"]]


def days_since(written: str, today: date) -> int:
    """Return how many days ago a day of the cure schedule lies."""
    return (today - date.fromisoformat(written)).days


def page_of_draft(version: PlanVersion) -> PlanPage:
    """Return the newest state of a draft as a page."""
    return page_of(json.loads(content_of(version)))


def page_of(content: Plain) -> PlanPage:
    """Return a plan's content as a page."""
    plan = content["plan"]
    titles = {h["id"]: h["title"] for h in plan["analysis"]["hazards"]}

    def points(name: str) -> tuple[Point, ...]:
        return tuple(_point(said, content, titles) for said in plan[name])

    return PlanPage(
        content=content,
        critical=points("critical_control_points"),
        others=points("other_control_points"),
    )


def _point(said: Plain, content: Plain, titles: Mapping[str, str]) -> Point:
    standing = {one["id"] for one in said["limits"] if one["role"] in _STANDING}
    limits = tuple(
        each
        for each in content["limits"]
        if each["limit"]["id"] in standing or _is_own(each, said)
    )
    shown = {each["limit"]["id"] for each in limits}
    return Point(
        said=said,
        limits=limits,
        compared=tuple(one for one in said["limits"] if one["id"] not in shown),
        hazards=tuple(titles.get(name, name) for name in said["hazards"]),
        who=content["edits"]["who"].get(f"{said['step']}/{said['control_point']}", ""),
    )


def _is_own(each: Plain, said: Plain) -> bool:
    if each["published"] is not None:
        return False
    limit, point = each["limit"], said["control_point"]
    seen_in = limit.get("step") or (point if point in STEPS else said["step"])
    return limit.get("control_point") == point and seen_in == said["step"]
