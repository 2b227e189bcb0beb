"""``draft_plan``: drafts a plan from the facts of a product, without the database."""

import json
import sys
from argparse import ArgumentParser
from collections.abc import Iterator
from typing import Any

from django.core.management.base import BaseCommand

from safety.errors import Refused
from safety.facts import Answer
from safety.judge import read_product
from safety.plans import DraftPlan, Hazard, PlanPoint, Question, Role, draft
from safety.site.console import (
    UNREADABLE_CODE,
    bytes_of,
    refused,
    suit_any_terminal,
    wrapped,
)

ANSWERS = {Answer.YES: "yes", Answer.NO: "no", Answer.UNKNOWN: "undecided"}
ROLES = {
    Role.STRICTEST: "limit",
    Role.OPEN: "limit, if it applies",
    Role.COVERED: "met with it",
    Role.COMPARISON: "for comparison",
}
WHO_DECIDES = (
    "This is a draft from published guidance. Whoever is trained for it completes and "
    "signs it; whether it is enough is decided by the authority."
)


class Command(BaseCommand):
    help = (
        "Draft the hazard analysis and the plan of a product. FACTS.json is the "
        "product object of a batch file. Exit code: 0 drafted, 3 unreadable."
    )
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", metavar="FACTS.json", help="a product")
        parser.add_argument(
            "--json", action="store_true", dest="as_json", help="JSON instead of words"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        suit_any_terminal()
        try:
            plan = draft(read_product(bytes_of(options["file"])).facts)
        except Refused as refusal:
            self.stdout.write(
                refused(options["file"], refusal, as_json=options["as_json"])
            )
            sys.exit(UNREADABLE_CODE)
        if options["as_json"]:
            self.stdout.write(json.dumps(plan.as_json(), ensure_ascii=False))
        else:
            self.stdout.write("\n".join(_in_words(plan)))


def _in_words(plan: DraftPlan) -> Iterator[str]:
    yield from (plan.title, "")
    parts = (
        ("Questions that stand open", map(_question, plan.questions)),
        ("Hazards", map(_hazard, plan.analysis.hazards)),
        ("Critical control points", map(_point, plan.critical_points)),
        ("Other control points with a published limit", map(_point, plan.other_points)),
        ("For the whole plan", (wrapped(rule, "  ") for rule in plan.rules)),
        ("Not covered", (wrapped(one, "  ") for one in plan.not_covered)),
    )
    for title, blocks in parts:
        lines = [line for block in blocks for line in block]
        yield from (title, *(lines or ["  none"]), "")
    yield from (*wrapped(WHO_DECIDES, ""), "")


def _question(question: Question) -> Iterator[str]:
    answers = f" ({', '.join(question.values)})" if question.values else ""
    name = f"{question.fact}: " if question.fact else ""
    yield from wrapped(f"{name}{question.words}{answers}", "  ")


def _hazard(hazard: Hazard) -> Iterator[str]:
    can, must = ANSWERS[hazard.potential], ANSWERS[hazard.significant]
    yield from wrapped(
        f"{hazard.title} [{hazard.kind}]: can arise {can}; must be controlled {must}.",
        "  ",
    )
    yield from wrapped(hazard.why, "    ")
    if hazard.uncontrolled:
        yield "    No step of this product controls it: change step, process or product."
    if hazard.step and hazard.significant is not Answer.NO:
        yield from wrapped(f"step: {hazard.step}. {hazard.measure}", "    ")
        walked = (f"{one.question} {ANSWERS[one.answer]}" for one in hazard.tree)
        yield from wrapped(f"decision tree: {', '.join(walked)}", "    ")
    yield from wrapped(f"{hazard.source.cite()} ({hazard.basis})", "    ")


def _point(point: PlanPoint) -> Iterator[str]:
    number = f"{point.number}. " if point.number else ""
    open_end = " (if it is one)" if point.critical is Answer.UNKNOWN else ""
    head = f"{number}{point.step_title}: {point.title.lower()}{open_end}"
    yield from wrapped(head, "  ")
    for words in (point.why, *_limits(point), *_work(point)):
        yield from wrapped(words, "    ")


def _limits(point: PlanPoint) -> Iterator[str]:
    for words in point.must:
        yield f"limit: {words}"
    for limit in point.limits:
        published = limit.published
        yield (
            f"{ROLES[limit.role]}: {published.words} [{published.limit.id}; "
            f"{published.source.cite()}; {published.basis}]"
        )
    if point.study:
        yield f"a study sets: {', '.join(factor.what for factor in point.study)}"
    elif point.needs_own_limit:
        yield "limit: no published figure was read; the plan must set one."


def _work(point: PlanPoint) -> Iterator[str]:
    for row in point.monitoring:
        words = f"{row.what} {row.how} {row.how_often} {row.who}"
        yield f"watch: {words} Record: {row.record}"
    if point.if_not_met:
        yield f"if not met: {'; '.join(point.if_not_met)}"
    if point.put_right:
        yield f"put right: {'; '.join(point.put_right)}"
    for words in point.verification:
        yield f"verify: {words}"
