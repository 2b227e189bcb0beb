"""Corrections of what is on record of a batch: a new version, or taking it back."""

from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.core.exceptions import ObjectDoesNotExist
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme

from batches import recording
from batches.forms.correction import FORM_BY_MODEL, CorrectTrace, TakeBackForm
from batches.lookups import instruments_of, row_of
from batches.models import (
    Batch,
    NamedDate,
    Reading,
    Remark,
    Statement,
    StepMark,
    Trace,
)
from batches.models.entry import Entry
from batches.models.trace import Integers
from batches.templatetags.measures import moment
from batches.views.access import with_batch
from batches.views.opening import open_after
from batches.views.sending import attempt, now

WRITE = {
    NamedDate: recording.record_date,
    Reading: recording.record_reading,
    Remark: recording.record_remark,
    Statement: recording.record_statement,
    StepMark: recording.mark_step,
    Trace: recording.record_trace,
}
TITLES = {
    "reading": "a reading",
    "step": "the time of a step",
    "statement": "a statement",
    "date": "a date",
    "remark": "a remark",
    "brine": "a brine",
    "soak-break": "a time outside the brine",
    "trace": "a logger’s series",
    "lab-result": "a laboratory report",
    "packing": "a packing",
    "dispatch": "what went out",
    "stock-count": "a count of packages",
    "market-count": "a count for the market",
}


@dataclass(frozen=True, slots=True, eq=False)
class Series:
    """A trace's own series, to be placed anew."""

    at_us: Integers
    values: Integers
    decimals: int


@with_batch
def correct(request: HttpRequest, batch: Batch, kind: str, pk: int) -> HttpResponse:
    """Correct an entry, or take it back."""
    row = _entry(request, batch, kind, pk)
    taking_back = "take_back" in request.POST
    at = now()
    data = request.POST or None
    form = _form(request, batch, row, None if taking_back else data)
    take_back = TakeBackForm(data if taking_back else None, prefix="back")
    chosen = take_back if taking_back else form
    if request.method == "POST" and chosen is not None and chosen.is_valid():
        signed = {"by": request.member, "at": at}
        done = attempt(
            chosen,
            lambda: (
                recording.withdraw(
                    row, reason=take_back.cleaned_data["reason"], **signed
                )
                if taking_back
                else WRITE[type(row)](batch, **_wanted(form), corrects=row, **signed)
            ),
        )
        if done is not None:
            deed = "Taken back" if taking_back else "Corrected"
            messages.success(request, f"{deed}. Both versions stay in the record.")
            open_after(request, batch, done, at=at)
            return redirect(_back(request, batch))
    context = {
        "batch": batch,
        "form": form,
        "take_back": take_back,
        "heading": f"Correct {TITLES[kind]}",
        "told": _told(row, batch),
    }
    return render(request, "batches/correct.html", context)


def _entry(request: HttpRequest, batch: Batch, kind: str, pk: int) -> Entry:
    if kind not in TITLES:
        raise Http404("There is no such kind of entry.")
    try:
        row = row_of(request.producer, kind, pk)
    except ObjectDoesNotExist:
        raise Http404("There is no such entry.") from None
    if row.batch_id != batch.pk:
        raise Http404("There is no such entry in this batch.")
    return row


def _form(request: HttpRequest, batch: Batch, row: Entry, data: Any) -> Any:
    """Return the form of this kind; None for what can only be taken back."""
    kind = FORM_BY_MODEL.get(type(row))
    if kind is None:
        return None
    more: dict[str, Any] = {}
    if isinstance(row, Reading | Trace):
        states = instruments_of(request.producer)
        more["instruments"] = [state.instrument for state in states]
    return kind(
        data,
        row=row,
        zone=batch.premises.zone,
        now=now(),
        cancel=reverse("batch", args=[batch.code]),
        **more,
    )


def _wanted(form: Any) -> dict[str, Any]:
    wanted = form.wanted()
    if isinstance(form, CorrectTrace):
        at_us, values = form.row.arrays()
        wanted["series"] = Series(at_us, values, form.row.decimals)
    return wanted


def _told(row: Entry, batch: Batch) -> str:
    entered = moment(row.recorded_at, batch.premises.zone)
    return f"{row}, written down by {row.by_name} on {entered}."


def _back(request: HttpRequest, batch: Batch) -> str:
    """Return where the correction was asked from."""
    back = request.POST.get("next", "")
    if url_has_allowed_host_and_scheme(back, allowed_hosts={request.get_host()}):
        return back
    return reverse("batch", args=[batch.code])
