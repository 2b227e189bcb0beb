"""One lot: what came in, what was made of it, and what is done where something is wrong."""

from functools import wraps
from typing import Any

from django.contrib import messages
from django.core.exceptions import ObjectDoesNotExist
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from batches import lookups, recording
from batches.forms.deviation import HoldForm, OpenForm
from batches.models import Deviation, Lot
from batches.views.access import View, for_members
from batches.views.places import zone_of
from batches.views.sending import attempt, now
from safety.plans.options import options_for

RECEIVING = "receiving"


def with_lot(view: View) -> View:
    """As `for_members`, with the producer's own lot in place of its code."""

    @for_members
    @wraps(view)
    def found(
        request: HttpRequest, code: str, *args: Any, **kwargs: Any
    ) -> HttpResponse:
        try:
            lot = lookups.lot_of(request.producer, code)
        except ObjectDoesNotExist:
            raise Http404(f"There is no lot {code}.") from None
        return view(request, lot, *args, **kwargs)

    return found


@with_lot
def lot_detail(request: HttpRequest, lot: Lot) -> HttpResponse:
    """Show a lot: how it came in, what was made of it, what went wrong with it."""
    case = lookups.lot_case(lot)
    context = {
        "lot": lot,
        "case": case,
        "triggers": options_for(RECEIVING) if case.is_wrong else (),
        "zone": zone_of(request.producer),
        "may_record": request.member.may_record,
    }
    return render(request, "batches/lot_detail.html", context)


@with_lot
def lot_hold(request: HttpRequest, lot: Lot) -> HttpResponse:
    """Hold a lot: nothing is made of it until it is decided what becomes of it."""
    at = now()
    form = HoldForm(
        request.POST or None,
        zone=zone_of(request.producer),
        now=at,
        cancel=reverse("lot", args=[lot.code]),
        initial={"reason": _said(lot), "kg": lot.mass_kg},
    )
    if request.method == "POST" and form.is_valid():
        row = attempt(
            form,
            lambda: recording.hold(lot, **form.wanted(), by=request.member, at=at),
        )
        if row is not None:
            messages.success(request, _("Lot %(lot)s is on hold.") % {"lot": lot.code})
            return redirect("deviation", number=row.deviation.number)
    context = {"form": form, "heading": _("Hold lot %(lot)s") % {"lot": lot.code}}
    return render(request, "batches/form.html", context)


@with_lot
def lot_deviation(request: HttpRequest, lot: Lot) -> HttpResponse:
    """Open a deviation of a lot by hand."""
    at = now()
    form = OpenForm(
        request.POST or None,
        zone=zone_of(request.producer),
        now=at,
        cancel=reverse("lot", args=[lot.code]),
        initial={"about": f"{RECEIVING}/", "words": _said(lot)},
    )
    if request.method == "POST" and form.is_valid():
        row = attempt(
            form,
            lambda: recording.open_deviation(
                lot,
                **form.wanted(),
                status=Deviation.Status.BY_HAND,
                by=request.member,
                at=at,
            ),
        )
        if row is not None:
            said = _("%(deviation)s is open. Hold the lot now.") % {"deviation": row}
            messages.success(request, said)
            return redirect("deviation", number=row.number)
    heading = _("Open a deviation of lot %(lot)s") % {"lot": lot.code}
    return render(request, "batches/form.html", {"form": form, "heading": heading})


def _said(lot: Lot) -> str:
    """Return why a lot was rejected, where it was: the words to begin with."""
    check = lookups.receiving_check_of(lot)
    if check is None or check.decision != check.Decision.REJECTED:
        return ""
    return check.note
