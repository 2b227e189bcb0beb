"""Deviations, holds and releases become sheets; beside collect a door to the records."""

import base64
import hashlib
import json
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from django.conf import settings
from django.core.exceptions import ObjectDoesNotExist
from django.core.files.storage import default_storage

from batches.lookups import (
    BatchRecords,
    DeviationState,
    deviation_of,
    premises_of,
)
from batches.lookups.told import Told
from batches.models import Producer
from batches.pictures import KIND
from batches.timeline import timeline
from reports import wording
from reports.deviation_sheets import (
    CaseLine,
    CaseRow,
    DeviationSheet,
    JudgedRow,
    PhotoLine,
    ReleaseRow,
)
from reports.observed import Scribe

NO_PLAN = "No signed plan was in force."


@dataclass(frozen=True, slots=True, kw_only=True)
class Handled:
    """What a batch record says about deviations, holds, rework and release."""

    cases: tuple[CaseRow, ...]
    holds: tuple[str, ...]
    reworks: tuple[str, ...]
    releases: tuple[ReleaseRow, ...]
    answers: dict[tuple[str, str], str]
    """The deviation that takes up a limit, by control point and limit."""
    came_from: str


def handled(records: BatchRecords, told: Told, scribe: Scribe) -> Handled:
    """Return everything that was done about a batch, by what was read of it."""
    batch, states, reworks = records.batch, told.states, told.reworks
    into = [row for row in reworks if row.from_batch_id == batch.pk]
    source = [row for row in reworks if row.to_batch_id == batch.pk]
    return Handled(
        cases=tuple(_case(state, scribe) for state in states),
        holds=tuple(
            f"On hold since {scribe.at(hold.held_at)}"
            f"{f', {hold.where}' if hold.where else ''}: {hold.reason.rstrip('.')} "
            f"({hold.deviation})."
            for state in states
            for hold in state.open_holds
        ),
        reworks=tuple(
            f"{wording.amount(row.kg, 'kg')} worked again as batch {row.to_batch.code} "
            f"({row.disposition.deviation})."
            for row in into
        )
        + tuple(
            f"{wording.amount(row.kg, 'kg')} come from batch {row.from_batch.code}, "
            f"worked again ({row.disposition.deviation} there)."
            for row in source
        ),
        releases=tuple(_release(row, scribe) for row in told.releases),
        answers={
            (state.deviation.control_point, state.deviation.limit_id): str(
                state.deviation
            )
            for state in states
        },
        came_from=" and ".join(
            f"{wording.amount(row.kg, 'kg')} from batch {row.from_batch.code}"
            for row in source
        ),
    )


def deviation_sheet(
    producer: Producer, number: int, *, paper: str, at: Any
) -> DeviationSheet:
    """Return the report of one deviation.

    Raises `LookupError` where the producer has none of that number.
    """
    try:
        state = deviation_of(producer, number)
    except ObjectDoesNotExist:
        raise LookupError(f"There is no deviation DV-{number}.") from None
    row = state.deviation
    batch = row.batch
    premises = batch.premises if batch is not None else premises_of(producer)[0]
    scribe = Scribe(premises.zone)
    sheet = DeviationSheet(
        producer=producer.name,
        address=", ".join(premises.address.splitlines()) or premises.name,
        case=_case(state, scribe),
        subject=(
            f"Batch {batch.code}, {batch.product.name}"
            if batch is not None
            else f"Lot {row.lot.code}, {wording.plain(row.lot.food)}"
        ),
        plan=(
            f"Plan v{batch.plan.number}, signed {scribe.at(batch.plan.signed_at)}."
            if batch is not None and batch.plan is not None
            else NO_PLAN
        ),
        zone=premises.time_zone,
        printed=scribe.at(at),
        version=settings.BRINEWRIGHT_VERSION,
        paper=paper or premises.paper,
        pictures=tuple(_pictures(state)),
    )
    return replace(sheet, content_sha256=_digest(sheet.case))


def _digest(case: CaseRow) -> str:
    text = json.dumps(asdict(case), sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def _case(state: DeviationState, scribe: Scribe) -> CaseRow:
    row = state.deviation
    about = wording.title(row.control_point) if row.control_point else "By hand"
    return CaseRow(
        number=str(row),
        about=f"{about}{f', {row.place}' if row.place else ''}",
        status=row.status,
        standing=state.standing,
        limit=row.limit_words,
        observed=row.observed_words,
        seen=(
            f"Seen {scribe.at(row.observed_at)}, found {scribe.at(row.detected_at)}: "
            f"{row.detected_how}."
        ),
        lines=tuple(_line(line, scribe) for line in timeline(state)),
        is_held=bool(state.open_holds),
    )


def _line(line: Any, scribe: Scribe) -> CaseLine:
    photos: Sequence[Any] = ()
    if line.row is not None and hasattr(line.row, "photos"):
        photos = tuple(line.row.photos.all())
    at, recorded = scribe.at(line.at), scribe.at(line.recorded_at)
    return CaseLine(
        title=line.title,
        text=line.text,
        at=at,
        who=line.who,
        recorded="" if recorded == at else f"written down {recorded}",
        amount=line.amount,
        photos=tuple(PhotoLine(name=each.name, value=each.sha256) for each in photos),
    )


def _pictures(state: DeviationState) -> Iterable[PhotoLine]:
    for photo in state.photos:
        try:
            with default_storage.open(photo.content.name) as file:
                data = file.read()
        except FileNotFoundError:
            continue
        if hashlib.sha256(data).hexdigest() != photo.sha256:
            yield PhotoLine(
                name=f"{photo.name}: the file is not the one stored.", value=""
            )
            continue
        coded = base64.b64encode(data).decode("ascii")
        yield PhotoLine(name=photo.name, value=f"data:{KIND};base64,{coded}")


def _release(row: Any, scribe: Scribe) -> ReleaseRow:
    kept = row.findings
    return ReleaseRow(
        signed=f"{row.title}, {row.get_role_display()}, {scribe.at(row.signed_at)}",
        meaning=row.meaning,
        outcome=kept.outcome,
        cautions=tuple(row.cautions),
        findings=tuple(
            JudgedRow(
                control_point=wording.title(each.control_point),
                place=each.place,
                limit=each.limit_text,
                source=each.source_text,
                status=each.status,
                because=each.because,
                answer=str(each.deviation) if each.deviation else "",
            )
            for each in kept.rows.all()
        ),
        batch_sha256=kept.batch_sha256,
        version=kept.version,
        trail=f"event {row.trail_head_number}, {row.trail_head_sha256}",
    )
