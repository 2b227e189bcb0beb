"""The firm's plans: answered, drafted, completed and signed like a user's."""

import tomllib
from datetime import datetime, timedelta
from typing import Any

from batches import recording
from batches.demo.diary import Diary, Firm
from batches.demo.story import DATA, local, season
from batches.models import PlanVersion
from batches.planning import content_of, sha256_of

DRAFTED_BEFORE = timedelta(minutes=5)


def sign_plans(diary: Diary) -> None:
    """Write and sign every plan of the season."""
    told = tomllib.loads((DATA / "plans.toml").read_text("utf-8"))
    for plan in told["plan"]:
        at = local(plan["signed_at"])
        diary.add(at - DRAFTED_BEFORE, _draft, diary.firm, plan, told)
        diary.add(at, _sign, diary.firm, plan)


def _draft(
    firm: Firm, plan: dict[str, Any], told: dict[str, Any], *, at: datetime
) -> None:
    product = recording.answer_questions(
        firm.products[plan["product"]], facts=told["answers"], by=firm.owner, at=at
    )
    draft = recording.start_plan(
        product, premises=firm.premises, number=plan["number"], by=firm.owner, at=at
    )
    firm.entries[_name(plan)] = recording.revise_plan(
        draft,
        edits={
            "description": told["description"],
            "decisions": [plan["decision"]] if "decision" in plan else [],
            "own": _own(plan),
            "schedule": plan["schedule"],
        },
        by=firm.owner,
        at=at,
    )


def _sign(firm: Firm, plan: dict[str, Any], *, at: datetime) -> None:
    version: PlanVersion = firm.entries[_name(plan)]
    version.product.refresh_from_db()  # a database may keep facts in another order
    recording.sign_plan(
        version,
        seen_sha256=sha256_of(content_of(version)),
        password=season()["producer"]["password"],
        title=f"{firm.owner.name}, owner",
        by=firm.owner,
        at=at,
    )


def _name(plan: dict[str, Any]) -> str:
    return f"plan {plan['product']} {plan['number']}"


def _own(plan: dict[str, Any]) -> list[dict[str, Any]]:
    """Return the firm's own limits, as the open format writes them."""
    own: list[dict[str, Any]] = [
        {
            "id": "own.thickest",
            "control_point": "curing",
            "kind": "at_most",
            "quantity": "thickness",
            "value": plan["thickest_mm"],
            "unit": "mm",
            "words": "The thickest piece is no thicker than the study allows.",
        },
        {
            "id": "own.dried",
            "control_point": "drying",
            "kind": "stated",
            "what": "dried-two-hours",
            "words": "The fish is dried for two hours at least.",
        },
        {
            "id": "own.label-names-fish",
            "control_point": "labelling",
            "kind": "stated",
            "what": "label-names-fish",
            "words": "The label names the fish.",
        },
    ]
    if plan.get("has_papers"):
        own.append({
            "id": "own.receiving-papers",
            "control_point": "receiving",
            "kind": "stated",
            "what": "receiving-papers",
            "words": (
                "The papers of every lot are there: the waters it came from, or "
                "the farm's certificate."
            ),
        })
    if "salt_pct" in plan:
        own.append({
            "id": "own.salt",
            "control_point": "curing",
            "step": "packing",
            "kind": "at_least",
            "quantity": "water-phase-salt",
            "value": plan["salt_pct"],
            "unit": "percent",
            "words": "The loin of the finished fish holds the salt of the plan.",
        })
    return own
