"""What came in: the list, and receiving."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from batches import lookups, recording
from batches.forms.lot import LotForm
from batches.views.access import for_members
from batches.views.places import zone_of
from batches.views.sending import attempt, now


@for_members
def lot_list(request: HttpRequest) -> HttpResponse:
    """Show what came in, newest first."""
    lots = lookups.lots_of(request.producer)
    stopped = lookups.lots_stopped(request.producer)
    context = {
        "lots": [(lot, stopped.get(lot.pk, "")) for lot in lots],
        "zone": zone_of(request.producer),
    }
    return render(request, "batches/lot_list.html", context)


@for_members
def lot_receive(request: HttpRequest) -> HttpResponse:
    """Take in a delivery."""
    at = now()
    form = LotForm(
        request.POST or None,
        zone=zone_of(request.producer),
        now=at,
        cancel=reverse("lot-list"),
    )
    if request.method == "POST" and form.is_valid():
        lot = attempt(
            form,
            lambda: recording.receive_lot(
                request.producer, **form.wanted(), by=request.member, at=at
            ),
        )
        if lot is not None:
            messages.success(request, f"Lot {lot.code} is in: {lot.mass_kg} kg.")
            return redirect("lot-list")
    context = {"form": form, "heading": "Receive a lot"}
    return render(request, "batches/form.html", context)
