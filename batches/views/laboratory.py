"""The laboratory: what is awaited and unread, which tests are due, what results say."""

from datetime import date
from typing import Any

from django.contrib import messages
from django.core.exceptions import ObjectDoesNotExist
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from batches import recording
from batches.errors import RecordError
from batches.forms.instants import wall
from batches.forms.lab import LabForm
from batches.lookups import product_of
from batches.lookups.laboratory import (
    ANSWER_WITHIN_DAYS,
    READ_WITHIN_DAYS,
    SALT_TEST,
    Report,
    report_of,
    reports_of,
    salt_limit_of,
    salt_readings,
    salt_tests,
)
from batches.models import Batch, LabResult
from batches.salting import salt_results
from batches.views.access import for_members, with_batch
from batches.views.places import zone_of
from batches.views.sending import attempt, now
from safety.limits import figure

ARRIVED = "The report came."


@for_members
def laboratory(request: HttpRequest) -> HttpResponse:
    """Show reports awaited, unread and read, and which salt tests are due."""
    zone = zone_of(request.producer)
    at = now().astimezone(zone)
    today = at.date()
    reports = reports_of(request.producer)
    context = {
        "open": [
            report_row(each, today) for each in reports if each.due_on is not None
        ],
        "read": [each for each in reports if each.due_on is None],
        "tests": [
            {"test": test, "is_due": test.is_due(today)}
            for test in salt_tests(request.producer, now=at)
        ],
        "asked": figure(SALT_TEST),
        "read_within": READ_WITHIN_DAYS,
        "answer_within": ANSWER_WITHIN_DAYS,
        "may_record": request.member.may_record,
        "zone": zone,
    }
    return render(request, "laboratory/laboratory.html", context)


@for_members
def report_read(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down that a report was read."""
    try:
        result = report_of(request.producer, pk)
    except ObjectDoesNotExist:
        raise Http404("There is no such report.") from None
    if request.method != "POST":
        return redirect("laboratory")
    try:
        recording.read_lab_result(result, by=request.member, at=now())
    except RecordError as error:
        messages.error(request, error.message)
    else:
        messages.success(request, f"It is on record that you read {result}.")
    return redirect("laboratory")


@with_batch
def report_arrived(request: HttpRequest, batch: Batch, pk: int) -> HttpResponse:
    """Put in the report on samples that were sent; both versions stay on record."""
    try:
        sent = report_of(request.producer, pk)
    except ObjectDoesNotExist:
        raise Http404("There is no such report.") from None
    if sent.batch_id != batch.pk:
        raise Http404("There is no such report of this batch.")
    at = now()
    form = LabForm(
        request.POST or None,
        zone=batch.premises.zone,
        now=at,
        prefilled=sent.sampled_at,
        initial=_said(sent, batch),
        cancel=reverse("laboratory"),
    )
    if request.method == "POST" and form.is_valid():
        done = attempt(
            form,
            lambda: recording.record_lab_result(
                batch,
                **form.wanted(),
                corrects=sent,
                reason=ARRIVED,
                by=request.member,
                at=at,
            ),
        )
        if done is not None:
            messages.success(request, f"The report of {done.laboratory} is recorded.")
            return redirect("laboratory")
    context = {
        "batch": batch,
        "form": form,
        "heading": f"The report on {batch.code} came",
        "lead": "Type the figures as they are printed. Leave “You read it at” empty "
        "where somebody else shall read it.",
    }
    return render(request, "batches/form.html", context)


@for_members
def product_salt(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what a product's salt results say: chart, bounds, and all the samples."""
    try:
        product = product_of(request.producer, pk)
    except ObjectDoesNotExist:
        raise Http404("There is no such product.") from None
    limit = salt_limit_of(product, now())
    context = {
        "product": product,
        "results": salt_results(product, limit, salt_readings(product)),
        "zone": zone_of(request.producer),
    }
    return render(request, "laboratory/product_salt.html", context)


def report_row(report: Report, today: date) -> dict[str, Any]:
    """Return a report that is awaited or lies unread, with the days since."""
    return {
        "report": report,
        "is_overdue": report.is_overdue(today),
        "days": report.days(today),
    }


def _said(sent: LabResult, batch: Batch) -> dict[str, Any]:
    zone = batch.premises.zone
    return {
        "laboratory": sent.laboratory,
        "reference": sent.reference,
        "mixed": sent.mixed,
        "sent_at": sent.sent_at and wall(sent.sent_at, zone),
        "note": sent.note,
    }
