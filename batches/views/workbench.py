"""The workbench: calculators for anybody, whose answers are estimates and never evidence."""

from typing import Any
from uuid import uuid4

from django.contrib import messages
from django.core.exceptions import ObjectDoesNotExist
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from batches import recording
from batches.errors import RecordError
from batches.forms.workbench import CalculatorForm
from batches.lookups import batch_of
from batches.lookups.estimates import batches_for_an_estimate
from batches.views.access import for_members
from batches.views.sending import now
from batches.workbench.outcome import Outcome
from batches.workbench.told import Calculator, calculator, calculators
from batches.workbench.working import WORKED_BY
from safety.errors import SafetyError


def workbench(request: HttpRequest) -> HttpResponse:
    """List the calculators."""
    return render(request, "workbench/workbench.html", {"several": calculators()})


def calculator_page(request: HttpRequest, slug: str) -> HttpResponse:
    """Ask what a calculator needs and, once it was sent, say what comes of it."""
    told = known(slug)
    is_sent = any(asked.name in request.GET for asked in told.inputs)
    form = CalculatorForm(request.GET if is_sent else None, calculator=told)
    context: dict[str, Any] = {"told": told, "form": form, "outcome": None}
    if form.is_bound and form.is_valid():
        context["outcome"] = worked_out(told, form)
        context["typed"] = form.typed()
        if context["outcome"] and request.member and request.member.may("record"):
            context["batches"] = batches_for_an_estimate(request.producer)
            context["query"] = request.GET.urlencode()
            context["entry_id"] = uuid4()
    return render(request, "workbench/calculator.html", context)


@for_members
def attach(request: HttpRequest, slug: str) -> HttpResponse:
    """Keep an answer beside a batch; it is worked out anew from what was asked."""
    told, query = known(slug), request.POST.get("query", "")
    page = reverse("calculator", args=[told.slug])
    form = CalculatorForm(QueryDict(query), calculator=told)
    outcome = worked_out(told, form) if form.is_valid() else None
    if request.method != "POST" or outcome is None:
        return redirect(f"{page}?{query}" if query else page)
    try:
        batch = batch_of(request.producer, request.POST.get("batch", ""))
        recording.attach_estimate(
            batch,
            calculator=told.slug,
            title=told.title,
            query=query,
            inputs=form.typed(),
            result=outcome.plain(),
            by=request.member,
            at=now(),
            entry_id=request.POST.get("entry_id") or None,
        )
    except ObjectDoesNotExist:
        messages.error(request, _("There is no such batch. Choose one of the list."))
        return redirect(f"{page}?{query}")
    except RecordError as error:
        messages.error(request, error.message)
        return redirect(f"{page}?{query}")
    messages.success(
        request,
        _("The estimate stands beside batch %(code)s. It is no evidence.")
        % {"code": batch.code},
    )
    return redirect("batch", code=batch.code)


def known(slug: str) -> Calculator:
    """Return the calculator of that name, or say that there is none."""
    told = calculator(slug)
    if told is None:
        raise Http404(f"There is no calculator {slug}.")
    return told


def worked_out(told: Calculator, form: CalculatorForm) -> Outcome | None:
    """Return what comes of the answers; where a formula does not hold, the form says so."""
    try:
        return WORKED_BY[told.slug](form.answers)
    except (SafetyError, ValueError) as error:
        form.add_error(None, str(error))
        return None
