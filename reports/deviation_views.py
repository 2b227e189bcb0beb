"""Sends the report of a deviation to the members of its producer."""

from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from reports.collect import NotOnRecord
from reports.deviation_collect import deviation_sheet
from reports.deviation_sheets import DeviationSheet
from reports.documents import deviation_page, deviation_pdf
from reports.pdf import PdfUnavailable
from reports.views import for_producer, sent, wish_of


@for_producer
def deviation_html(request: HttpRequest, number: int) -> HttpResponse:
    """Show the report of a deviation as a page."""
    pdf = reverse("deviation-pdf", args=[number])
    links = {
        "Back to the deviation": reverse("deviation", args=[number]),
        "PDF, Letter": f"{pdf}?paper=letter",
        "PDF, A4": f"{pdf}?paper=a4",
    }
    return sent(deviation_page(_sheet(request, number), links))


@for_producer
def deviation_pdf_view(request: HttpRequest, number: int) -> HttpResponse:
    """Send the report of a deviation as a PDF."""
    try:
        return sent(deviation_pdf(_sheet(request, number)))
    except PdfUnavailable as problem:
        return HttpResponse(str(problem), content_type="text/plain", status=503)


def _sheet(request: HttpRequest, number: int) -> DeviationSheet:
    wish = wish_of(request)
    try:
        return deviation_sheet(request.producer, number, paper=wish.paper, at=wish.at)
    except LookupError as missing:
        raise NotOnRecord(str(missing)) from None
