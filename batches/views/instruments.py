"""Instruments: the list with their last checks, and adding one."""

from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from batches import recording
from batches.checking import weighed
from batches.forms.instrument import InstrumentForm
from batches.lookups import InstrumentState, instruments_of
from batches.views.access import for_members
from batches.views.places import zone_of
from batches.views.sending import attempt, now


@for_members
def instrument_list(request: HttpRequest) -> HttpResponse:
    """Show each instrument, its last check and when the next is due."""
    zone = zone_of(request.producer)
    at = now().astimezone(zone)
    rows = [standing(state, at) for state in instruments_of(request.producer)]
    context = {"rows": rows, "zone": zone}
    return render(request, "instruments/list.html", context)


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


def standing(state: InstrumentState, at: datetime) -> dict[str, Any]:
    """Return an instrument with its last check and the days until the next."""
    due_on = state.due_on(at)
    last = state.last_check
    due_days = None if due_on is None else (due_on - at.date()).days
    return {
        "instrument": state.instrument,
        "last": last,
        "due_days": due_days,
        "overdue_days": None if due_days is None else -due_days,
        "is_due": state.is_due(at),
        "is_due_soon": state.is_due_soon(at),
        "is_out_of_use": state.is_out_of_use,
        "must_be_read_again": last is not None and due_on is None,
        "acceptance": last and weighed(last).acceptance.value,
    }
