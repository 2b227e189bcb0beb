"""A plan's rows become the sheet of its document; beside collect a door to the records."""

import json
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from typing import Any

from django.conf import settings
from django.core.exceptions import ObjectDoesNotExist

from batches.lookups import (
    Standing,
    newest_draft,
    product_of,
    signed_plan,
    standing,
)
from batches.models import PlanSignature, Premises, Producer, Product
from batches.planning import BY_OTHER_WORDS, content_of, sha256_of
from batches.planpage import PlanPage, Point, days_since, page_of
from reports.collect import NotOnRecord
from reports.observed import Scribe, letters
from reports.plan_letters import letter_words, looser_lines, published_words
from reports.plan_sheets import LimitLine, PlanSheet, PointRow
from reports.plan_worksheet import worksheet
from reports.sheets import Pair

SCHEDULE = {
    "brine_sal": "Strength of the brine at the start, °SAL",
    "ratio": "Parts of brine to one of fish",
    "minimum_h": "Shortest time in the brine, h",
    "thickest_mm": "Thickest piece, mm",
    "support": "Supported by",
    "support_date": "Of",
}
OWN = "the producer’s own"


def signed_sheet(
    producer: Producer, pk: int, number: int, *, paper: str, at: datetime
) -> PlanSheet:
    """Return the sheet of a signed plan, from what was frozen at signing."""
    try:
        signature = signed_plan(product_of(producer, pk), number)
    except ObjectDoesNotExist:
        raise NotOnRecord("There is no such plan.") from None
    zone = signature.premises.zone
    scribe = Scribe(zone)
    reassessed = tuple(
        f"{scribe.at(each.done_at)}, {each.by_name}: {each.get_outcome_display()}. "
        f"{each.note}".strip()
        for each in signature.reassessments.order_by("done_at")
    )
    return _sheet(
        json.loads(signature.content),
        signature.product,
        signature.premises,
        number=number,
        paper=paper,
        printed=scribe.at(at),
        today=at.astimezone(zone).date(),
        signed=_signed(signature, scribe),
        meaning=signature.meaning,
        content_sha256=signature.content_sha256,
        reassessed=reassessed,
        **_stands(standing(signature), scribe),
        trail=_trail(signature),
    )


def draft_sheet(producer: Producer, pk: int, *, paper: str, at: datetime) -> PlanSheet:
    """Return the sheet of the newest draft of a product's plan."""
    try:
        version = newest_draft(product_of(producer, pk))
    except ObjectDoesNotExist:
        version = None
    if version is None:
        raise NotOnRecord("There is no draft of a plan for this product.")
    text = content_of(version)
    return _sheet(
        json.loads(text),
        version.product,
        version.premises,
        number=version.number,
        paper=paper,
        printed=Scribe(version.premises.zone).at(at),
        today=at.astimezone(version.premises.zone).date(),
        signed="",
        meaning="",
        content_sha256=sha256_of(text),
        reassessed=(),
    )


def _stands(found: Standing, scribe: Scribe) -> dict[str, str]:
    """Return by which plan this one was superseded, or by when it is due again."""
    after = found.superseded_by
    if after is not None:
        since = scribe.at(after.signed_at)
        return {"superseded": f"superseded by v{after.number} since {since}"}
    return {} if found.due_at is None else {"due": scribe.at(found.due_at)}


def _trail(signature: PlanSignature) -> str:
    if not signature.trail_head_sha256:
        return ""
    return f"event {signature.trail_head_number}, {signature.trail_head_sha256}"


def _signed(signature: PlanSignature, scribe: Scribe) -> str:
    return (
        f"{signature.title} (account of {signature.by_name}, "
        f"{signature.get_role_display()}), {scribe.at(signature.signed_at)}"
    )


def _sheet(
    content: Mapping[str, Any],
    product: Product,
    premises: Premises,
    *,
    paper: str,
    today: date,
    **said: Any,
) -> PlanSheet:
    page = page_of(content)
    numbers = _publications(page)
    schedule = page.edits["schedule"]
    return PlanSheet(
        producer=product.producer.name,
        address=", ".join(premises.address.splitlines()) or premises.name,
        product=product.name,
        version=settings.BRINEWRIGHT_VERSION,
        paper=paper or premises.paper,
        description=tuple(
            Pair(name=question, value=answer or "not written")
            for question, answer in page.description
        ),
        flow=tuple(
            Pair(name=box["title"], value="control point" if box["points"] else "")
            for box in page.plan["flow"]
        ),
        hazards=worksheet(page.plan, lambda source: _where(source, numbers)),
        critical=tuple(_point(point, numbers) for point in page.critical),
        others=tuple(_point(point, numbers) for point in page.others),
        schedule=tuple(
            Pair(name=title, value=_scheduled(name, schedule[name], today))
            for name, title in SCHEDULE.items()
            if name in schedule
        ),
        rules=(
            *page.plan["rules"],
            *([BY_OTHER_WORDS] if page.is_reviewed_by_other else ()),
        ),
        not_covered=tuple(page.plan["not_covered"]),
        letters=looser_lines(page.content["limits"]),
        publications=tuple(
            Pair(name=number, value=cited) for cited, number in numbers.items()
        ),
        **said,
    )


def _scheduled(name: str, value: str, today: date) -> str:
    """Return a line of the cure schedule; of what supports it, how old it is."""
    if name != "support_date":
        return value
    return f"{value}, {days_since(value, today)} days before this print"


def _cite(source: Mapping[str, Any]) -> str:
    return f"{source['publisher']}, {source['title']}, {source['edition']}"


def _publications(page: PlanPage) -> dict[str, str]:
    """Return every publication that the plan cites, with its number."""
    sources = [h["source"] for h in page.plan["analysis"]["hazards"]]
    sources += [
        each["published"]["source"]
        for each in page.content["limits"]
        if each["published"]
    ]
    cited = dict.fromkeys(_cite(source) for source in sources)
    return {text: f"S{count}" for count, text in enumerate(cited, start=1)}


def _where(source: Mapping[str, Any], numbers: Mapping[str, str]) -> str:
    return f"{numbers[_cite(source)]}, {source['section']}"


def _point(point: Point, numbers: Mapping[str, str]) -> PointRow:
    said, rows = point.said, point.said["monitoring"]
    title = said["step_title"]
    if said["title"] != title:
        title += f": {said['title']}"

    return PointRow(
        number=str(said["number"] or ""),
        name=title,
        hazards="; ".join(point.hazards),
        limits=(
            *(_limit(each, numbers) for each in point.limits),
            *(LimitLine(words=must, source="") for must in said["must"]),
        ),
        what=_column(rows, "what"),
        how=_column(rows, "how"),
        how_often=_column(rows, "how_often"),
        who=(point.who,) if point.who else _column(rows, "who"),
        corrective=_joined((
            "Food: " + "; ".join(said["if_not_met"]) + "."
            if said["if_not_met"]
            else "",
            "Cause: " + "; ".join(said["put_right"]) + "." if said["put_right"] else "",
        )),
        verification=_joined(said["verification"]),
        records=_joined(said["records"]),
    )


def _column(rows: Sequence[Mapping[str, Any]], name: str) -> tuple[str, ...]:
    """Return a column of the monitoring, one line where all that is watched has one."""
    said = [row[name] for row in rows]
    if len(set(said)) <= 1:
        return (*dict.fromkeys(said),) or ("—",)
    return tuple(
        f"({mark}) {words}"
        for mark, words in zip(letters(len(said)), said, strict=True)
    )


def _limit(each: Mapping[str, Any], numbers: Mapping[str, str]) -> LimitLine:
    published = each["published"]
    source = OWN
    if published is not None:
        where = _where(published["source"], numbers)
        source = f"{where} ({published['basis']})"
    letter = each["letter"]
    return LimitLine(
        words=each["words"],
        source=source,
        letter=letter_words(letter) if letter else "",
        published=published_words(each) if each["edited"] else "",
    )


def _joined(parts: Iterable[str]) -> str:
    return " ".join(dict.fromkeys(part for part in parts if part)) or "—"
