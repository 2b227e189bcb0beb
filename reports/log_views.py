"""Sends the sheets of the logbook, and everything that a producer owns."""

from datetime import date, datetime

from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse, StreamingHttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.views.decorators.http import require_http_methods

from reports.documents import PAPERS, Rendered
from reports.export import export_chunks, file_name
from reports.export_collect import keeping_of
from reports.log_collect import log_sheet
from reports.log_documents import log_page, log_pdf
from reports.log_sheets import LogSheet
from reports.pdf import PdfUnavailable
from reports.views import for_producer

OWNER = "owner"


@for_producer
def log_html(request: HttpRequest, kind: str) -> HttpResponse:
    """Show one kind of record over a period as a page."""
    sheet = _sheet(request, kind)
    period = {
        name: request.GET[name] for name in ("from", "until") if _day(request, name)
    }
    pdf = reverse("log-pdf", args=[kind])
    links = {"Back to the list": reverse("log-list", args=[kind])} | {
        title: f"{pdf}?{urlencode(period | {'paper': paper})}"
        for title, paper in (("PDF, Letter", "letter"), ("PDF, A4", "a4"))
    }
    return _sent(log_page(sheet, links))


@for_producer
def log_pdf_view(request: HttpRequest, kind: str) -> HttpResponse:
    """Send one kind of record over a period as a PDF."""
    try:
        return _sent(log_pdf(_sheet(request, kind)))
    except PdfUnavailable as problem:
        return HttpResponse(str(problem), content_type="text/plain", status=503)


@require_http_methods(["GET", "HEAD", "POST"])
@login_required
def keeping(request: HttpRequest) -> HttpResponse:
    """Show when the last backup was made; give an owner everything in one file."""
    if request.producer is None:
        raise Http404("You belong to no producer.")
    at, is_owner = timezone.now(), request.member.role == OWNER
    if request.method == "POST":
        if not is_owner:
            raise PermissionDenied("Only an owner takes everything out of the house.")
        return _everything(request, at)
    context = keeping_of(request.producer, at) | {"is_owner": is_owner}
    return render(request, "logbook/keeping.html", context)


def _everything(request: HttpRequest, at: datetime) -> HttpResponse:
    """Send everything that the producer owns, made while it is sent."""
    response = StreamingHttpResponse(
        export_chunks(request.producer, at=at), content_type="application/zip"
    )
    name = file_name(request.producer, at)
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    response.headers["Cache-Control"] = "private, no-store"
    return response


def _sheet(request: HttpRequest, kind: str) -> LogSheet:
    paper = request.GET.get("paper", "")
    return log_sheet(
        request.producer,
        kind,
        since=_day(request, "from"),
        until=_day(request, "until"),
        paper=paper if paper in PAPERS else "",
        at=timezone.now(),
    )


def _day(request: HttpRequest, name: str) -> date | None:
    """Return a day of the address; one that is no day leaves that end open."""
    try:
        return date.fromisoformat(request.GET.get(name, ""))
    except ValueError:
        return None


def _sent(rendered: Rendered) -> HttpResponse:
    response = HttpResponse(rendered.content, content_type=rendered.media_type)
    response.headers["Content-Disposition"] = f'inline; filename="{rendered.name}"'
    return response
