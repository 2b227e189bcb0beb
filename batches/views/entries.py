"""The short entries of a batch: steps, statements, dates, remarks, laboratory results."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from batches import recording
from batches.forms.entry import (
    USE_BY,
    DateForm,
    RemarkForm,
    StatementForm,
    StepForm,
)
from batches.forms.instants import InstantForm
from batches.forms.lab import LabForm
from batches.judging import judge
from batches.lookups import records_of
from batches.models import Batch, LabResult, Remark, Statement, StepMark
from batches.models.entry import Entry
from batches.views.access import with_batch
from batches.views.asking import dates_asked, statements_asked
from batches.views.cautions import warnings_for
from batches.views.opening import open_after
from batches.views.sending import attempt, now, said_before
from safety.controls import CONTROL_POINTS, STEPS

OTHER_STATEMENT = ("plan-followed", "the plan was followed as written")


@with_batch
def step_mark(request: HttpRequest, batch: Batch) -> HttpResponse:
    """Say that a step begins or ends."""
    step = request.GET.get("step", "")
    edge = request.GET.get("edge", StepMark.Edge.START)
    form = form_of(
        StepForm, request, batch, initial={"step": step or STEPS[0], "edge": edge}
    )
    heading = "A step begins or ends"
    if step in STEPS:
        verb = "ends" if edge == StepMark.Edge.END else "begins"
        heading = f"{CONTROL_POINTS[step].title}: {verb}"
    facts = batch.product.evidence(batch.premises).facts
    return answered(
        request,
        batch,
        form,
        heading=heading,
        model=StepMark,
        write=recording.mark_step,
        done=lambda row: f"{CONTROL_POINTS[row.step].title}: {row.edge} recorded.",
        warnings=warnings_for(facts, step) if step else [],
    )


@with_batch
def statement(request: HttpRequest, batch: Batch) -> HttpResponse:
    """Put on record that a thing was looked at, and whether it complies."""
    records = records_of(batch)
    findings = judge(records, judged_at=now()).findings
    asked = statements_asked(findings, records) or (OTHER_STATEMENT,)
    form = form_of(
        StatementForm,
        request,
        batch,
        asked=asked,
        initial={"what": request.GET.get("what", "")},
    )
    return answered(
        request,
        batch,
        form,
        heading="State what was looked at",
        model=Statement,
        write=recording.record_statement,
        done=lambda row: f"On record: {row}.",
    )


@with_batch
def date(request: HttpRequest, batch: Batch) -> HttpResponse:
    """Put a date on record, such as the use-by date."""
    records = records_of(batch)
    findings = judge(records, judged_at=now()).findings
    asked = dates_asked(findings, records) or ((USE_BY, "use by"),)
    form = form_of(
        DateForm,
        request,
        batch,
        asked=asked,
        initial={"what": request.GET.get("what", asked[0][0])},
    )
    return answered(
        request,
        batch,
        form,
        heading="Put a date on record",
        model=None,
        write=recording.record_date,
        done=lambda row: f"On record: {row.what.replace('-', ' ')}.",
    )


@with_batch
def remark(request: HttpRequest, batch: Batch) -> HttpResponse:
    """Write words about the batch or a step."""
    form = form_of(
        RemarkForm, request, batch, initial={"step": request.GET.get("step", "")}
    )
    return answered(
        request,
        batch,
        form,
        heading="Write a remark",
        model=Remark,
        write=recording.record_remark,
        done=lambda row: "The remark is recorded.",
    )


@with_batch
def lab_result(request: HttpRequest, batch: Batch) -> HttpResponse:
    """Write down what a laboratory found, or that samples were sent."""
    form = form_of(LabForm, request, batch)
    return answered(
        request,
        batch,
        form,
        heading="Laboratory report",
        lead="Leave the figures empty while you wait for the report. Figures of one "
        "piece belong together: salt and moisture give the salt in its water.",
        model=LabResult,
        write=recording.record_lab_result,
        done=lambda row: f"The report of {row.laboratory} is recorded.",
    )


def form_of(
    kind: type[Any], request: HttpRequest, batch: Batch, **more: Any
) -> InstantForm:
    """Return a form about a batch, filled in with what was sent."""
    return kind(
        request.POST or None,
        zone=batch.premises.zone,
        now=now(),
        cancel=reverse("batch", args=[batch.code]),
        **more,
    )


def answered(
    request: HttpRequest,
    batch: Batch,
    form: Any,
    *,
    heading: str,
    model: type[Entry] | None,
    write: Callable[..., Any],
    done: Callable[[Any], str],
    **shown: Any,
) -> HttpResponse:
    """Show the form, or record what it says and go back to the batch."""
    if request.method == "POST" and form.is_valid():
        wanted = form.wanted()
        if model is not None:
            before = said_before(model, batch, wanted["entry_id"], form)
            wanted |= {name: at for name, at in before.items() if name in wanted}
        row = attempt(
            form, lambda: write(batch, **wanted, by=request.member, at=form.now)
        )
        if row is not None:
            messages.success(request, done(row))
            open_after(request, batch, row, at=form.now)
            return redirect("batch", code=batch.code)
    context = {"batch": batch, "form": form, "heading": heading} | shown
    return render(request, "batches/form.html", context)
