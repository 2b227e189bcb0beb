"""Checking an instrument, correcting a check, and what a failed one touches."""

from collections.abc import Sequence
from datetime import datetime
from fractions import Fraction
from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.core.exceptions import ObjectDoesNotExist
from django.core.paginator import Page, Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode

from batches import recording
from batches.checking import is_failed, truth_words, weighed
from batches.containing import Case, case_of
from batches.errors import RecordError
from batches.forms.check import CheckForm, CorrectCheckForm, methods_of
from batches.forms.correction import TakeBackForm
from batches.forms.shape import add_record_error
from batches.lookback import touched, touched_batch, written_at
from batches.lookups import batch_of, instruments_of, row_of
from batches.lookups.deviations import state_of, states_of
from batches.models import Deviation, Instrument, InstrumentCheck
from batches.templatetags.measures import written
from batches.views.access import with_instrument
from batches.views.places import first_premises
from batches.views.sending import attempt, now
from safety.judge.acceptance import Acceptance
from safety.quantities import INSTRUMENT_KINDS
from safety.science.boiling import boiling_span
from safety.units import convert

PER_PAGE = 10  # own figure: batches judged for one page, so that it comes soon
SAYS = {
    Acceptance.ACCEPTED: "accepted",
    Acceptance.NOT_ACCEPTED: "not accepted",
    Acceptance.NOT_SHOWN: "not shown to be within the tolerance, so not accepted",
}


@with_instrument
def instrument_check(request: HttpRequest, instrument: Instrument) -> HttpResponse:
    """Compare an instrument with a known truth."""
    form = _form(request, instrument, CheckForm)
    if request.method == "POST" and form.is_valid():
        check = _recorded(request, form, instrument)
        if check is not None:
            return _after(request, check)
    return render(
        request, "instruments/check.html", _context(request, instrument, form)
    )


@with_instrument
def check_correct(
    request: HttpRequest, instrument: Instrument, pk: int
) -> HttpResponse:
    """Correct a check, or take it back."""
    check = _check_of(request, instrument, pk)
    taking_back = "take_back" in request.POST
    form = _form(
        request, instrument, CorrectCheckForm, check=check, is_sent=not taking_back
    )
    take_back = TakeBackForm(request.POST if taking_back else None, prefix="back")
    chosen = take_back if taking_back else form
    if request.method == "POST" and chosen.is_valid():
        done = (
            attempt(
                take_back,
                lambda: recording.withdraw(
                    check,
                    reason=take_back.cleaned_data["reason"],
                    by=request.member,
                    at=now(),
                ),
            )
            if taking_back
            else _recorded(request, form, instrument, corrects=check)
        )
        if done is not None:
            return _after(request, done)
    context = _context(request, instrument, form) | {
        "take_back": take_back,
        "check": check,
    }
    return render(request, "instruments/correct_check.html", context)


@with_instrument
def check_touches(
    request: HttpRequest, instrument: Instrument, pk: int
) -> HttpResponse:
    """Show what a check changed in every batch read with the instrument; contain them."""
    check = _check_of(request, instrument, pk)
    if request.method == "POST":
        return _contain(request, check)
    page = Paginator(touched(check), PER_PAGE).get_page(request.GET.get("page"))
    cases = _cases(check, page, now())
    context = {
        "check": check,
        "instrument": instrument,
        "page": page,
        "touched": cases,
        "has_doubt": page.has_other_pages() or any(map(_is_in_doubt, cases)),
        "entry_id": uuid4(),
        "may_record": request.member.may_record,
        "zone": first_premises(request.producer).zone,
        "written_at": written_at(check),
        "is_failed": is_failed(check) and not check.withdrawn,
        "acceptance": weighed(check).acceptance.value,
        "truth": truth_words(check),
    }
    return render(request, "instruments/touches.html", context)


def _is_in_doubt(case: Case) -> bool:
    return case.touched.is_in_doubt and not case.is_contained


def _cases(check: InstrumentCheck, page: Page, at: datetime) -> list[Case]:
    """Return each batch of a page with what was opened and held for it already."""
    states = states_of(Deviation.objects.filter(batch__in=list(page)))
    return [
        case_of(
            touched_batch(batch, check, now=at),
            [one for one in states if one.deviation.batch_id == batch.pk],
            check,
        )
        for batch in page
    ]


def _contain(request: HttpRequest, check: InstrumentCheck) -> HttpResponse:
    """Contain one batch, or all that are in doubt, and come back to the page."""
    told = {"by": request.member, "at": now()}
    try:
        told["entry_id"] = UUID(request.POST.get("entry_id", ""))
        if "all" in request.POST:
            done = recording.contain_all(check, **told)
        else:
            batch = batch_of(request.producer, request.POST.get("batch", ""))
            done = [recording.contain(check, batch, **told)]
    except ObjectDoesNotExist:
        messages.error(request, "No batch is chosen. Press “Contain” beside one.")
    except ValueError:
        messages.error(request, "The page is out of date. Press “Contain” again.")
    except RecordError as error:
        messages.error(request, error.message)
    else:
        messages.success(request, _said(done))
    address = reverse("check-touches", args=[check.instrument.code, check.pk])
    number = request.POST.get("page", "")
    return redirect(f"{address}?page={number}" if number.isdecimal() else address)


def _said(done: Sequence[recording.Contained]) -> str:
    """Return what is on hold now, and what was decided about already."""
    held: list[str] = []
    decided: list[str] = []
    for one in done:
        states = [state_of(each) for each in one.deviations]
        if states:
            is_decided = all(state.is_decided for state in states)
            (decided if is_decided else held).append(one.batch.code)
    said = []
    if held:
        codes = ", ".join(held)
        said.append(f"Contained: {codes}. Decide next what becomes of the food.")
    if decided:
        said.append(f"Decided already: {', '.join(decided)}.")
    return " ".join(said) or "No batch is in doubt; nothing was held."


def _check_of(request: HttpRequest, instrument: Instrument, pk: int) -> InstrumentCheck:
    try:
        check = row_of(request.producer, "check", pk)
    except ObjectDoesNotExist:
        raise Http404("There is no such check.") from None
    if check.instrument_id != instrument.pk:
        raise Http404("There is no such check of this instrument.")
    check.instrument = instrument
    return check


def _form(
    request: HttpRequest,
    instrument: Instrument,
    kind: type[CheckForm],
    *,
    check: InstrumentCheck | None = None,
    is_sent: bool = True,
) -> CheckForm:
    known = dict(methods_of(instrument))
    first = next(iter(known)) if check is None else check.method
    method = (request.POST or request.GET).get("method", first)
    references = [
        state.instrument
        for state in instruments_of(request.producer)
        if not state.is_out_of_use and state.last_check is not None
    ]
    return kind(
        request.POST or None if is_sent else None,
        instrument=instrument,
        method=method if method in known else first,
        references=references,
        zone=first_premises(request.producer).zone,
        now=now(),
        cancel=reverse("instrument", args=[instrument.code]),
        **({} if check is None else {"check": check}),
    )


def _recorded(
    request: HttpRequest,
    form: CheckForm,
    instrument: Instrument,
    corrects: InstrumentCheck | None = None,
) -> InstrumentCheck | None:
    try:
        return recording.record_check(
            instrument,
            **form.wanted(),
            premises=first_premises(request.producer),
            corrects=corrects,
            by=request.member,
            at=now(),
        )
    except RecordError as error:
        if error.code == "not-shown":
            form.ask_if_not_shown()
        field = "as_left_after_min" if error.field == "as_left_at" else error.field
        add_record_error(form, RecordError(field, error.message, error.code))
    return None


def _after(request: HttpRequest, check: InstrumentCheck) -> HttpResponse:
    """Go on to what a failed check touches; a good one needs no more."""
    code = check.instrument.code
    if check.withdrawn or check.corrects_id is not None:
        messages.success(request, "The correction is recorded.")
        return redirect("check-touches", code=code, pk=check.pk)
    messages.success(
        request,
        f"{code} showed {written(check.shown, check.unit)} for "
        f"{written(check.true, check.unit)}: {SAYS[weighed(check).acceptance]}. "
        "Recorded.",
    )
    if is_failed(check):
        return redirect("check-touches", code=code, pk=check.pk)
    return redirect("instrument", code=code)


def _context(
    request: HttpRequest, instrument: Instrument, form: CheckForm
) -> dict[str, Any]:
    premises = first_premises(request.producer)
    known = methods_of(instrument)
    return {
        "form": form,
        "method": form.method,
        "instrument": instrument,
        "premises": premises,
        "zone": premises.zone,
        "methods": [
            (value, label, urlencode({"method": value})) for value, label in known
        ],
        "boils": _boils(instrument, float(premises.elevation_m)),
    }


def _boils(instrument: Instrument, elevation_m: float) -> str:
    """Return between what plain water boils here, in words; nothing where unknown."""
    if instrument.measures != INSTRUMENT_KINDS[0]:
        return ""
    try:
        span = boiling_span(elevation_m)
    except ValueError:
        return ""
    ends = [
        float(convert(Fraction(end), "degC", instrument.unit))
        for end in (span.low_c, span.high_c)
    ]
    return " and ".join(written(f"{end:.1f}", instrument.unit) for end in ends)
