"""Instruments: the list with their last checks, adding one, checking one."""

from datetime import datetime
from typing import Any

from django.contrib import messages
from django.core.exceptions import ObjectDoesNotExist
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from batches import recording
from batches.forms.correction import TakeBackForm
from batches.forms.instrument import CheckForm, CorrectCheckForm, InstrumentForm
from batches.lookups import InstrumentState, instruments_of, row_of
from batches.models import Instrument
from batches.views.access import for_members, with_instrument
from batches.views.places import first_premises, zone_of
from batches.views.sending import attempt, now


@for_members
def instrument_list(request: HttpRequest) -> HttpResponse:
    """Show each instrument, its last check and when the next is due."""
    zone = zone_of(request.producer)
    at = now().astimezone(zone)
    rows = [standing(state, at) for state in instruments_of(request.producer)]
    context = {"rows": rows, "zone": zone}
    return render(request, "batches/instrument_list.html", context)


@for_members
def instrument_add(request: HttpRequest) -> HttpResponse:
    """Put an instrument into use."""
    form = InstrumentForm(
        request.POST or None,
        preferred=request.member.temperature_unit,
        cancel=reverse("instrument-list"),
    )
    if request.method == "POST" and form.is_valid():
        instrument = attempt(
            form,
            lambda: recording.add_instrument(
                request.producer, **form.cleaned_data, by=request.member, at=now()
            ),
        )
        if instrument is not None:
            messages.success(
                request, f"{instrument.code} is in use. Check it before you rely on it."
            )
            return redirect("instrument-check", code=instrument.code)
    context = {"form": form, "heading": "Add an instrument"}
    return render(request, "batches/form.html", context)


@with_instrument
def instrument_check(request: HttpRequest, instrument: Instrument) -> HttpResponse:
    """Compare an instrument with a known truth."""
    premises, at = first_premises(request.producer), now()
    form = CheckForm(
        request.POST or None,
        instrument=instrument,
        zone=premises.zone,
        now=at,
        cancel=reverse("instrument-list"),
    )
    if request.method == "POST" and form.is_valid():
        check = attempt(
            form,
            lambda: recording.record_check(
                instrument, **form.wanted(), by=request.member, at=at
            ),
        )
        if check is not None:
            messages.success(
                request,
                f"{instrument.code}: it showed {check.shown} and should have shown "
                f"{check.true}. Recorded.",
            )
            return redirect("instrument-check", code=instrument.code)
    context = _so_far(instrument) | {
        "form": form,
        "instrument": instrument,
        "premises": premises,
        "zone": premises.zone,
    }
    return render(request, "batches/instrument_check.html", context)


@with_instrument
def check_correct(
    request: HttpRequest, instrument: Instrument, pk: int
) -> HttpResponse:
    """Correct a check, or take it back."""
    try:
        check = row_of(request.producer, "check", pk)
    except ObjectDoesNotExist:
        raise Http404("There is no such check.") from None
    if check.instrument_id != instrument.pk:
        raise Http404("There is no such check of this instrument.")
    back = reverse("instrument-check", args=[instrument.code])
    taking_back = "take_back" in request.POST
    at = now()
    form = CorrectCheckForm(
        None if taking_back else request.POST or None,
        check=check,
        instrument=instrument,
        zone=zone_of(request.producer),
        now=at,
        cancel=back,
    )
    take_back = TakeBackForm(request.POST if taking_back else None, prefix="back")
    chosen = take_back if taking_back else form
    if request.method == "POST" and chosen.is_valid():
        signed = {"by": request.member, "at": at}
        done = attempt(
            chosen,
            lambda: (
                recording.withdraw(
                    check, reason=take_back.cleaned_data["reason"], **signed
                )
                if taking_back
                else recording.record_check(
                    instrument, **form.wanted(), corrects=check, **signed
                )
            ),
        )
        if done is not None:
            messages.success(request, "The correction is recorded.")
            return redirect(back)
    context = {
        "form": form,
        "take_back": take_back,
        "heading": f"Correct a check of {instrument.code}",
    }
    return render(request, "batches/correct.html", context)


def _so_far(instrument: Instrument) -> dict[str, Any]:
    history = list(
        instrument.checks.order_by("-occurred_at", "-pk").select_related("corrects")
    )
    replaced = {check.corrects_id for check in history if check.corrects_id}
    current = [
        check for check in history if check.pk not in replaced and not check.withdrawn
    ]
    return {
        "checks": history,
        "replaced": replaced,
        "last": current[0] if current else None,
    }


def standing(state: InstrumentState, at: datetime) -> dict[str, Any]:
    """Return an instrument with its last check and the days until the next."""
    due_on = state.due_on(at)
    due_days = None if due_on is None else (due_on - at.date()).days
    return {
        "instrument": state.instrument,
        "last": state.last_check,
        "due_days": due_days,
        "overdue_days": None if due_days is None else -due_days,
        "is_due": state.is_due(at),
    }
