"""From a plan's rows to its content and back: what is drafted, edited, frozen, judged."""

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from batches.models import (
    AuthorityLetter,
    PlanSignature,
    PlanVersion,
    Premises,
    Product,
)
from batches.models.plan import no_edits
from safety.controls import STEPS
from safety.errors import InputError, Refused, UnknownName
from safety.facts import Answer
from safety.judge.export import exact_json, limit_entry
from safety.judge.plan import Planned
from safety.judge.sentences import state
from safety.limits.model import Published, Source, StatedLimit
from safety.limits.parse import parse_limit
from safety.plans import Decision, DraftPlan, PlanPoint, Role, draft
from safety.plans.edited import EditedLimit, editable, edited_limits

FORMAT = "brinewright.plan/1"
BY_OTHER = {"by_other": "yes"}  # of a plan that lets nobody review entries of their own
BY_OTHER_WORDS = "Whoever wrote an entry of a batch does not review it: somebody else reads and signs."
MEANING = (
    "I am responsible for this plan. I have read its hazard analysis, its control points "
    "and its limits, I accept it as the plan for this product at these premises, and "
    "batches started from now on are judged by it."
)


@dataclass(frozen=True, slots=True)
class Obstacle:
    """Why a draft cannot be signed yet: where, and what to do."""

    where: str
    sentence: str


def facts_of(product: Product, premises: Premises) -> dict[str, str]:
    """Return the facts from which a plan is drafted."""
    return dict(product.evidence(premises).facts)


def drafted(version: PlanVersion) -> DraftPlan:
    """Return what the guidance drafts, with the owner's decisions about hazards."""
    return draft(
        facts_of(version.product, version.premises), _decisions(edits_of(version))
    )


def edits_of(version: PlanVersion) -> dict[str, Any]:
    """Return all the edits of a version; what nobody edited is there, and empty."""
    return no_edits() | version.edits


def limits_of(version: PlanVersion, plan: DraftPlan) -> tuple[EditedLimit, ...]:
    """Return the limits that the version judges by."""
    edits = edits_of(version)
    figures = _with_intervals(version.product, plan, edits["figures"])
    return edited_limits(plan, figures, edits["own"])


def _with_intervals(
    product: Product, plan: DraftPlan, figures: Mapping[str, Mapping[str, str]]
) -> dict[str, dict[str, str]]:
    """Add the product's own intervals between readings, where its owner set none."""
    whole = {identity: dict(set_by) for identity, set_by in figures.items()}
    intervals = product.check_intervals_min()
    for point in plan.points:
        minutes = intervals.get(point.control_point)
        for each in point.limits:
            limit = each.published.limit
            is_watched = "check_every_min" in editable(limit)
            if minutes is not None and each.role is Role.STRICTEST and is_watched:
                whole.setdefault(limit.id, {}).setdefault(
                    "check_every_min", str(minutes)
                )
    return whole


def check_edits(product: Product, premises: Premises, edits: Mapping[str, Any]) -> None:
    """Refuse edits from which no plan can be made.

    Raises `InputError` or `UnknownName`, as the core does.
    """
    plan = draft(facts_of(product, premises), _decisions(edits))
    edited_limits(plan, _with_intervals(product, plan, edits["figures"]), edits["own"])


def obstacles(version: PlanVersion) -> list[Obstacle]:
    """Return everything that stands between a draft and its signature."""
    plan = drafted(version)
    edits = edits_of(version)
    found = [
        Obstacle("questions", f"Answer this first: {question.words}")
        for question in plan.questions
    ]
    found += [
        Obstacle("hazards", f"Decide whether this must be controlled: {hazard.title}.")
        for hazard in plan.analysis.undecided
    ]
    limits = limits_of(version, plan)
    found += [
        Obstacle(
            "limits",
            f"{state(each.limit)}: this is not as strict as what is published "
            f"({each.published.words}). Only a process authority's letter allows it.",
        )
        for each in limits
        if each.published is not None
        and not each.is_kept
        and each.published.limit.id not in edits["letters"]
    ]
    found += [
        Obstacle(
            "limits",
            f"The control point “{point.title}” in “{point.step_title}” has no limit. "
            "Add one of your own, from a study or a rule of your house.",
        )
        for point in plan.critical_points
        if not _has_published(point) and not _has_own(point, limits)
    ]
    return found


def _has_published(point: PlanPoint) -> bool:
    return any(each.role is Role.STRICTEST for each in point.limits)


def _has_own(point: PlanPoint, limits: Iterable[EditedLimit]) -> bool:
    return any(
        each.published is None
        and each.limit.control_point == point.control_point
        and _step(each) in (None, point.step)
        for each in limits
    )


def _step(each: EditedLimit) -> str | None:
    """Return the step in which a limit is judged; None where it is judged in none."""
    point = each.limit.control_point
    return each.limit.step or (point if point in STEPS else None)


def _decisions(edits: Mapping[str, Any]) -> list[Decision]:
    return [
        Decision(entry["hazard"], Answer(entry["significant"]), entry["reason"])
        for entry in edits["decisions"]
    ]


# ------------------------------------------------------------ frozen content


def content_of(version: PlanVersion) -> str:
    """Return the whole plan as text: what is signed, printed and judged by for ever."""
    plan = drafted(version)
    edits = edits_of(version)
    letters = {letter.pk: letter for letter in version.producer.letters.all()}
    by_limit = {identity: letters[int(pk)] for identity, pk in edits["letters"].items()}
    document = {
        "format": FORMAT,
        "number": version.number,
        "product": version.product.name,
        "premises": f"{version.premises.name}, {version.premises.address}".strip(", "),
        "plan": plan.as_json(),
        "edits": edits,
        "intervals": version.product.check_intervals_min(),
        "limits": [
            _frozen(each, by_limit.get(each.limit.id))
            for each in limits_of(version, plan)
        ],
    }
    return exact_json(_in_order(document))


def _in_order(value: Any) -> Any:
    """Return plain values with sorted keys: a database may keep those in any order."""
    if isinstance(value, Mapping):
        return {name: _in_order(value[name]) for name in sorted(value)}
    if isinstance(value, list | tuple):
        return [_in_order(each) for each in value]
    return value


def sha256_of(text: str) -> str:
    """Return the SHA-256 by which two states of a plan's content are told apart."""
    return hashlib.sha256(text.encode()).hexdigest()


def content(signature: PlanSignature) -> dict[str, Any]:
    """Return the content of a signed plan, every number exact."""
    read: dict[str, Any] = json.loads(
        signature.content, parse_float=Decimal, parse_int=Decimal
    )
    return read


def schedule_of(signature: PlanSignature) -> dict[str, str]:
    """Return the schedule of the cure that a signed plan has, each figure as typed."""
    schedule = content(signature)["edits"].get("schedule", {})
    return {name: str(value) for name, value in schedule.items()}


def planned(signature: PlanSignature) -> tuple[Planned, ...]:
    """Return the limits of a signed plan as the judge takes them."""
    return tuple(_planned(entry) for entry in content(signature)["limits"])


def plan_facts(signature: PlanSignature) -> dict[str, str]:
    """Return the facts of the product as they were when the plan was signed."""
    facts: dict[str, str] = content(signature)["plan"]["facts"]
    return facts


def _frozen(each: EditedLimit, letter: AuthorityLetter | None) -> dict[str, Any]:
    words = each.words
    is_said = each.published is None and isinstance(each.limit, StatedLimit) and words
    if each.is_edited and not is_said:  # of a statement, its own words say all
        words = f"{state(each.limit)}. {words}".strip()
    return {
        "limit": limit_entry(each.limit),
        "words": words,
        "edited": each.is_edited,
        "published": None if each.published is None else _published(each.published),
        "letter": None if letter is None or each.is_kept else _letter(letter),
    }


def _published(published: Published) -> dict[str, Any]:
    source = published.source
    return {
        "limit": limit_entry(published.limit),
        "words": published.words,
        "reason": published.reason,
        "basis": published.basis,
        "checked": published.checked.isoformat(),
        "programmes": list(published.programmes),
        "continuous_recorder": published.continuous_recorder,
        "interval_basis": published.interval_basis,
        "note": published.note,
        "source": {
            "id": source.id,
            "publisher": source.publisher,
            "title": source.title,
            "section": source.section,
            "edition": source.edition,
            "date": source.date.isoformat(),
            "standing": source.standing,
            "jurisdiction": source.jurisdiction,
        },
    }


def _letter(letter: AuthorityLetter) -> dict[str, Any]:
    return {
        "author": letter.author,
        "organisation": letter.organisation,
        "date": letter.written_on.isoformat(),
        "summary": letter.summary,
        "sha256": letter.sha256,
    }


def _planned(entry: Mapping[str, Any]) -> Planned:
    frozen = entry["published"]
    return Planned(
        limit=parse_limit(entry["limit"]),
        published=None if frozen is None else _thawed(frozen),
        words=entry["words"],
        has_letter=entry["letter"] is not None,
    )


def _thawed(frozen: Mapping[str, Any]) -> Published:
    source = dict(frozen["source"])
    source["date"] = date.fromisoformat(source["date"])
    return Published(
        limit=parse_limit(frozen["limit"]),
        source=Source(**source),
        words=frozen["words"],
        reason=frozen["reason"],
        basis=frozen["basis"],
        checked=date.fromisoformat(frozen["checked"]),
        programmes=tuple(frozen["programmes"]),
        continuous_recorder=frozen["continuous_recorder"],
        interval_basis=frozen["interval_basis"],
        note=frozen["note"],
    )


def refusal_sentence(error: InputError | UnknownName | Refused) -> str:
    """Return what the core refuses about an edit, for the person who made it."""
    if isinstance(error, Refused):
        return f"{error.found} cannot stand here; allowed is {error.allowed}."
    return str(error)
