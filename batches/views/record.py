"""Recording one reading after another, with the last one to be taken back at once."""

from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from batches import recording
from batches.errors import RecordError
from batches.forms.reading import ReadingForm
from batches.forms.shape import add_record_error
from batches.judging import judge
from batches.lookups import (
    BatchRecords,
    InstrumentState,
    instruments_of,
    records_of,
)
from batches.models import Batch, Reading
from batches.models.entry import LATE_AFTER
from batches.templatetags.measures import clock, written
from batches.views.access import with_batch
from batches.views.asking import leaves
from batches.views.cautions import warnings_for
from batches.views.opening import open_after
from batches.views.sending import now, said_before
from batches.views.sheet import SHOWN_LAST, Point, grouped
from safety.controls import CONTROL_POINTS, STEPS
from safety.quantities import QUANTITIES, TEMPERATURE_UNITS, Quantity

LETTERS = ("A", "B", "C")
TEMPERATURE = "temperature"


@with_batch
def record(
    request: HttpRequest, batch: Batch, step: str, quantity: str
) -> HttpResponse:
    """Take one reading; come back to the same page for the next."""
    if step not in STEPS or quantity not in QUANTITIES:
        raise Http404("There is no such step or quantity.")
    at = now()
    records = records_of(batch)
    states = [
        state
        for state in instruments_of(request.producer)
        if state.instrument.measures == QUANTITIES[quantity].instrument
        and not state.is_out_of_use
    ]
    form = _form(request, records, step, QUANTITIES[quantity], states, at)
    if request.method == "POST" and form.is_valid():
        reading = _write(request, form, batch, step, at)
        if reading is not None:
            where = reading.place or ("slowest" if _is_hot(quantity) else "")
            said = ", ".join(
                filter(
                    None,
                    [
                        f"Recorded {written(reading.typed, reading.unit)}",
                        where,
                        clock(reading.occurred_at, batch.premises.zone),
                    ],
                )
            )
            late = ", marked late" if reading.is_late else ""
            messages.success(request, f"{said}{late}.")
            open_after(request, batch, reading, at=at)
            return redirect("record", code=batch.code, step=step, quantity=quantity)
    context = _context(request, records, form, step, at)
    context["checked"] = [
        (state.instrument.code, _checked(state, at.astimezone(form.zone)))
        for state in states
    ]
    return render(request, "batches/record.html", context)


def _write(
    request: HttpRequest, form: ReadingForm, batch: Batch, step: str, at: datetime
) -> Reading | None:
    wanted = form.wanted()
    wanted |= said_before(Reading, batch, wanted["entry_id"], form)
    try:
        return recording.record_reading(
            batch, step=step, **wanted, by=request.member, at=at
        )
    except RecordError as error:
        if error.code == "outside-window":
            form.ask_outside()
        add_record_error(form, error)
    return None


def _form(
    request: HttpRequest,
    records: BatchRecords,
    step: str,
    quantity: Quantity,
    states: list[InstrumentState],
    at: datetime,
) -> ReadingForm:
    last = _last(records, step, quantity)
    instruments = [state.instrument for state in states]
    unit = quantity.units[0]
    if last is not None:
        unit = last.unit
    elif quantity.units == TEMPERATURE_UNITS:
        unit = request.member.temperature_unit
    initial: dict[str, Any] = {
        "unit": unit,
        "place": last.place if last else "",
        "instrument": last.instrument.code if last and last.instrument else "",
    }
    if last is None and len(instruments) == 1:
        initial["instrument"] = instruments[0].code
    return ReadingForm(
        request.POST or None,
        quantity=quantity,
        places=_places(records, quantity),
        instruments=instruments,
        zone=records.batch.premises.zone,
        now=at,
        initial=initial,
    )


def _last(records: BatchRecords, step: str, quantity: Quantity) -> Reading | None:
    """Return the reading whose place, unit and instrument are offered again."""
    here = [
        row
        for row in records.readings.current
        if row.quantity == quantity.name and not row.lab_result_id
    ]
    same = [row for row in here if row.step == step] or here
    return max(same, key=lambda row: (row.recorded_at, row.pk), default=None)


def _places(records: BatchRecords, quantity: Quantity) -> list[str]:
    rows = (*records.readings.current, *records.traces.current)
    known = dict.fromkeys(
        row.place for row in rows if row.quantity == quantity.name and row.place
    )
    if len(known) < len(LETTERS):
        known |= dict.fromkeys(LETTERS)
    return list(known)


def _is_hot(quantity: str) -> bool:
    return QUANTITIES[quantity].instrument == TEMPERATURE


def _context(
    request: HttpRequest,
    records: BatchRecords,
    form: ReadingForm,
    step: str,
    at: datetime,
) -> dict[str, Any]:
    batch, quantity = records.batch, form.quantity
    rows = [
        row
        for row in records.readings.current
        if row.step == step and row.quantity == quantity.name
    ]
    newest = max(rows, key=lambda row: (row.recorded_at, row.pk), default=None)
    facts = batch.product.evidence(batch.premises).facts
    judgement = judge(records, judged_at=at)
    points = [
        point
        for point in grouped(judgement.findings)
        if point.control_point == step
        and any(
            getattr(limit, "quantity", None) == quantity.name
            for limit in _limits(judgement.findings, point)
        )
    ]
    return {
        "batch": batch,
        "form": form,
        "step": step,
        "title": CONTROL_POINTS[step].title,
        "quantity": quantity,
        "points": points,
        "last_rows": sorted(rows, key=lambda row: row.occurred_at, reverse=True)[
            :SHOWN_LAST
        ],
        "newest": newest if _is_fresh(newest, request.member.pk, at) else None,
        "window": records.windows.get(step),
        "warnings": warnings_for(facts, step),
        "may_record": request.member.may_record,
        "preferred": request.member.temperature_unit,
        "has_minus": _is_hot(quantity.name),
        "zone": batch.premises.zone,
    }


def _is_fresh(row: Reading | None, member_pk: int, at: datetime) -> bool:
    """Say whether a reading is the member's own and of a moment ago."""
    if row is None or row.by_id != member_pk:
        return False
    return at - row.recorded_at <= LATE_AFTER


def _limits(findings: Any, point: Point) -> list[Any]:
    return [
        limit
        for finding in findings
        if finding.limit_id == point.limit_id
        for limit in leaves(finding.limit)
    ]


def _checked(state: InstrumentState, at: datetime) -> str:
    """Return how long ago an instrument was checked, in words."""
    if state.last_check is None:
        return "never checked"
    then = state.last_check.occurred_at.astimezone(at.tzinfo).date()
    days = (at.date() - then).days
    words = "checked today" if days == 0 else f"checked {days} d ago"
    return f"{words}, due" if state.is_due(at) else words
