"""Sends documents to the members of the producer whose records they are."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from reports.collect import (
    NotOnRecord,
    Wish,
    batch_record,
    curve_of,
    drift_of_instrument,
)
from reports.documents import (
    PAPERS,
    Rendered,
    curve_svg,
    plan_page,
    plan_pdf,
    record_page,
    record_pdf,
)
from reports.pdf import PdfUnavailable
from reports.plan_collect import draft_sheet, signed_sheet
from reports.plan_sheets import PlanSheet
from reports.salt_collect import salt_sheet

View = Callable[..., HttpResponse]


def for_producer(view: View) -> View:
    """Let in members only; what is not their producer's does not exist."""

    @require_safe
    @login_required
    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if request.producer is None:
            raise Http404("You belong to no producer.")
        try:
            response = view(request, *args, **kwargs)
        except NotOnRecord as missing:
            raise Http404(str(missing)) from None
        response.headers["Cache-Control"] = "private, no-cache"
        return response

    return guarded


@for_producer
def record_html(request: HttpRequest, code: str) -> HttpResponse:
    """Show the batch record as a page."""
    record = batch_record(request.producer, code, wish_of(request))
    pdf = reverse("record-pdf", args=[code])
    links = {
        "Back to the batch": reverse("batch", args=[code]),
        "PDF, Letter": f"{pdf}?paper=letter",
        "PDF, A4": f"{pdf}?paper=a4",
        "PDF with every logged value": f"{pdf}?paper={record.paper}&annex=1",
    }
    return sent(record_page(record, links))


@for_producer
def record_pdf_view(request: HttpRequest, code: str) -> HttpResponse:
    """Send the batch record as a PDF."""
    return _record_printed(request, code)


@for_producer
def curve(request: HttpRequest, code: str, slug: str) -> HttpResponse:
    """Send one curve of a batch as a drawing."""
    return sent(curve_svg(curve_of(request.producer, code, slug, wish_of(request))))


@for_producer
def drift(request: HttpRequest, code: str) -> HttpResponse:
    """Send how far an instrument was off from check to check, as a drawing."""
    return sent(curve_svg(drift_of_instrument(request.producer, code)))


@for_producer
def salt_chart(request: HttpRequest, pk: int) -> HttpResponse:
    """Send the chart of a product's salt results as a drawing."""
    return sent(curve_svg(salt_sheet(request.producer, pk, timezone.now())))


@for_producer
def plan_html(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """Show a signed plan as a page."""
    plan = _plan(request, pk, number)
    pdf = reverse("plan-pdf", args=[pk, number])
    links = {
        "Back to the plan": reverse("plan-signed", args=[pk, number]),
        "PDF, Letter": f"{pdf}?paper=letter",
        "PDF, A4": f"{pdf}?paper=a4",
    }
    return sent(plan_page(plan, links))


@for_producer
def plan_pdf_view(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """Send a signed plan as a PDF."""
    return _printed(_plan(request, pk, number))


@for_producer
def draft_pdf_view(request: HttpRequest, pk: int) -> HttpResponse:
    """Send the draft of a plan as a PDF that says that it is one."""
    wish = wish_of(request)
    return _printed(draft_sheet(request.producer, pk, paper=wish.paper, at=wish.at))


# ------------------------------------------------------------ copies by a link


def for_link(view: View) -> View:
    """Let in whoever came by a link; `batches.middleware` has asked what it shows."""

    @require_safe
    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if request.link is None:
            raise Http404("There is nothing at this address.")
        try:
            response = view(request, *args, **kwargs)
        except NotOnRecord as missing:
            raise Http404(str(missing)) from None
        response.headers["Cache-Control"] = "private, no-store"
        return response

    return guarded


@for_link
def copy_record(request: HttpRequest, code: str) -> HttpResponse:
    """Show the batch record to whoever came by a link."""
    record = batch_record(request.producer, code, wish_of(request))
    links = _copy_links(request, reverse("copy-record-pdf", args=[code]))
    return sent(record_page(record, links))


@for_link
def copy_record_pdf(request: HttpRequest, code: str) -> HttpResponse:
    """Send the batch record as a PDF to whoever came by a link."""
    return _record_printed(request, code)


@for_link
def copy_plan(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """Show a signed plan to whoever came by a link."""
    links = _copy_links(request, reverse("copy-plan-pdf", args=[pk, number]))
    return sent(plan_page(_plan(request, pk, number), links))


@for_link
def copy_plan_pdf(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """Send a signed plan as a PDF to whoever came by a link."""
    return _printed(_plan(request, pk, number))


def _copy_links(request: HttpRequest, pdf: str) -> dict[str, str]:
    link = request.link
    return {
        f"Read-only copy for {link.for_whom}. Whether the food may be sold is decided "
        "by the inspector, the process authority and the local code. All of this "
        "copy": reverse("copy"),
        "PDF, Letter": f"{pdf}?paper=letter",
        "PDF, A4": f"{pdf}?paper=a4",
    }


# ------------------------------------------------------------ parts


def _record_printed(request: HttpRequest, code: str) -> HttpResponse:
    record = batch_record(request.producer, code, wish_of(request))
    try:
        return sent(record_pdf(record))
    except PdfUnavailable as problem:
        return HttpResponse(str(problem), content_type="text/plain", status=503)


def _plan(request: HttpRequest, pk: int, number: int) -> PlanSheet:
    wish = wish_of(request)
    return signed_sheet(request.producer, pk, number, paper=wish.paper, at=wish.at)


def _printed(plan: PlanSheet) -> HttpResponse:
    try:
        return sent(plan_pdf(plan))
    except PdfUnavailable as problem:
        return HttpResponse(str(problem), content_type="text/plain", status=503)


def wish_of(request: HttpRequest) -> Wish:
    paper = request.GET.get("paper", "")
    reader = request.member or request.link.by
    return Wish(
        at=timezone.now(),
        paper=paper if paper in PAPERS else "",
        unit=reader.temperature_unit,
        has_annex=request.GET.get("annex") == "1",
    )


def sent(rendered: Rendered) -> HttpResponse:
    response = HttpResponse(rendered.content, content_type=rendered.media_type)
    response.headers["Content-Disposition"] = f'inline; filename="{rendered.name}"'
    return response
