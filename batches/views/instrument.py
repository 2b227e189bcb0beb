"""One instrument: its drift, its checks, and whether it is in use."""

from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from batches import recording
from batches.checking import truth_words
from batches.drifting import OVER_HALF, RISES, RISING, Drift, Point, drift_of
from batches.forms.instrument import ChangeForm, UseForm
from batches.lookups import checks_of, uses_of
from batches.models import Instrument, InstrumentUse
from batches.templatetags.measures import written
from batches.views.access import with_instrument
from batches.views.places import zone_of
from batches.views.sending import attempt, now

WARNINGS = {
    OVER_HALF: "The last check is off by more than half of what is allowed.",
    RISING: f"The error has grown {RISES} times in a row: it drifts.",
}


@with_instrument
def instrument_detail(request: HttpRequest, instrument: Instrument) -> HttpResponse:
    """Show how far the instrument was off, check by check."""
    history, uses = list(checks_of(instrument)), list(uses_of(instrument))
    replaced = {check.corrects_id for check in history}
    current = [
        check for check in history if check.pk not in replaced and not check.withdrawn
    ]
    drift = drift_of(instrument, current)
    context = {
        "instrument": instrument,
        "zone": zone_of(request.producer),
        "warnings": [WARNINGS[name] for name in drift.warnings],
        "tolerance": _amount(float(drift.tolerance), drift.unit),
        "points": [_row(point, drift) for point in reversed(drift.points)],
        "old": [check for check in history if check not in current],
        "replaced": replaced,
        "uses": uses,
        "is_out_of_use": bool(uses) and uses[0].state == InstrumentUse.OUT,
    }
    return render(request, "instruments/detail.html", context)


def _row(point: Point, drift: Drift) -> dict[str, Any]:
    check = point.check
    low, high = float(point.low), float(point.high)
    return {
        "check": check,
        "at": point.at,
        "shown": check.as_left if point.is_as_left else check.shown,
        "is_as_left": point.is_as_left,
        "error": (
            _signed(low, drift.unit)
            if low == high
            else f"{_signed(low, drift.unit)} to {_signed(high, drift.unit)}"
        ),
        "acceptance": point.acceptance.value,
        "truth": truth_words(check),
    }


def _signed(value: float, unit: str) -> str:
    return written(f"{value:+.3g}", unit)


def _amount(value: float, unit: str) -> str:
    return written(f"{value:.3g}", unit)


@with_instrument
def instrument_use(request: HttpRequest, instrument: Instrument) -> HttpResponse:
    """Take an instrument out of use, or put it back."""
    last: InstrumentUse | None = uses_of(instrument).first()
    is_out = last is not None and last.state == InstrumentUse.OUT
    at: datetime = now()
    back = reverse("instrument", args=[instrument.code])
    form = UseForm(
        request.POST or None,
        is_out_of_use=is_out,
        zone=zone_of(request.producer),
        now=at,
        cancel=back,
    )
    write = recording.put_back_in_use if is_out else recording.take_out_of_use
    if request.method == "POST" and form.is_valid():
        use = attempt(
            form,
            lambda: write(instrument, **form.wanted(), by=request.member, at=at),
        )
        if use is not None:
            messages.success(request, f"{instrument.code} is now {use}.")
            return redirect(back)
    heading = "Put back into use" if is_out else "Take out of use"
    context = {"form": form, "heading": f"{heading}: {instrument.code}"}
    return render(request, "batches/form.html", context)


@with_instrument
def instrument_change(request: HttpRequest, instrument: Instrument) -> HttpResponse:
    """Set right what is known of an instrument."""
    back = reverse("instrument", args=[instrument.code])
    form = ChangeForm(request.POST or None, instrument=instrument, cancel=back)
    if request.method == "POST" and form.is_valid():
        changed = attempt(
            form,
            lambda: recording.change_instrument(
                instrument, **form.cleaned_data, by=request.member, at=now()
            ),
        )
        if changed is not None:
            messages.success(request, f"{instrument.code} is set right.")
            return redirect(back)
    context = {
        "form": form,
        "heading": f"Set {instrument.code} right",
        "lead": "What it was before stays in the trail.",
    }
    return render(request, "batches/form.html", context)
