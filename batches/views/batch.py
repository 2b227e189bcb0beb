"""Batches: the list, starting one, the run sheet, and the open file."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from batches import recording
from batches.auditing import found_before, found_in
from batches.forms.batch import StartForm
from batches.judging import evidence_of, judge
from batches.lookups import (
    batches_of,
    lots_of,
    lots_stopped,
    on_hold,
    products_of,
    records_of,
)
from batches.lookups.estimates import estimates_of
from batches.lookups.records import records_of_many
from batches.lookups.told import told_of
from batches.models import Batch
from batches.views.access import for_members, with_batch
from batches.views.deviation_case import case_of
from batches.views.places import first_premises
from batches.views.sending import attempt, now
from batches.views.sheet import sheet_of
from batches.workbench.outcome import kept
from safety.judge import write_batch

PER_PAGE = 12  # each is judged for the list
LOTS_OFFERED = 8


@for_members
def batch_list(request: HttpRequest) -> HttpResponse:
    """Show the batches, newest first, each with its outcome."""
    pages = Paginator(batches_of(request.producer), PER_PAGE)
    page = pages.get_page(request.GET.get("page"))
    at = now()
    held = on_hold(page)
    rows = [
        (batch, judge(records, judged_at=at).outcome.value, batch.pk in held)
        for batch, records in zip(page, records_of_many(list(page)), strict=True)
    ]
    return render(request, "batches/batch_list.html", {"page": page, "rows": rows})


@for_members
def batch_start(request: HttpRequest) -> HttpResponse:
    """Start a batch."""
    if not products_of(request.producer).exists():
        messages.info(request, "Describe the product first; then start its batch.")
        return redirect("product-add")
    at = now()
    lots = list(lots_of(request.producer)[:LOTS_OFFERED])
    stopped = lots_stopped(request.producer)
    left_out = [lot for lot in lots if lot.pk in stopped]
    if (
        request.method != "POST"
    ):  # what was typed is refused with a sentence, never lost
        lots = [lot for lot in lots if lot.pk not in stopped]
    form = StartForm(
        request.POST or None,
        producer=request.producer,
        lots=lots,
        zone=first_premises(request.producer).zone,
        now=at,
        cancel=reverse("batch-list"),
    )
    if request.method == "POST" and form.is_valid():
        batch = attempt(
            form,
            lambda: recording.start_batch(
                request.producer, **form.wanted(), by=request.member, at=at
            ),
        )
        if batch is not None:
            if batch.recorded_at == at:
                messages.success(request, f"Batch {batch.code} is started.")
            else:
                messages.info(
                    request,
                    f"This form already started batch {batch.code}. "
                    "Nothing was started again.",
                )
            return redirect("batch", code=batch.code)
    context = {"form": form, "heading": "Start a batch", "lead": ""}
    if left_out:
        said = ", ".join(f"{lot.code} ({stopped[lot.pk]})" for lot in left_out)
        context["lead"] = _("Nothing may be made now of: %(lots)s.") % {"lots": said}
    return render(request, "batches/form.html", context)


@with_batch
def batch_detail(request: HttpRequest, batch: Batch) -> HttpResponse:
    """Show the run sheet: what to record, what the record shows, and why."""
    records, at = records_of(batch), now()
    judgement, told = judge(records, judged_at=at), told_of(records)
    context = {
        "batch": batch,
        "records": records,
        "audit": found_in(records, now=at, judgement=judgement, told=told),
        "audit_before": found_before(records, told, now=at),
        "sheet": sheet_of(records, judgement),
        "case": case_of(records, judgement, told),
        "brined": told.brined.current,
        "estimates": [(row, kept(row.result)) for row in estimates_of(batch)],
        "mass_kg": sum(part.mass_kg for part in records.lots),
        "may_record": request.member.may_record,
        "preferred": request.member.temperature_unit,
        "zone": batch.premises.zone,
    }
    return render(request, "batches/batch_detail.html", context)


@with_batch
def batch_json(request: HttpRequest, batch: Batch) -> HttpResponse:
    """Give the batch in the open format, judged by whoever has it."""
    evidence = evidence_of(records_of(batch), judged_at=now())
    response = HttpResponse(
        write_batch(evidence, indent=1), content_type="application/json"
    )
    response["Content-Disposition"] = f'attachment; filename="{batch.code}.json"'
    return response
