"""A list of records as a page and as a PDF."""

from collections.abc import Mapping

from django.template.loader import render_to_string

from reports.documents import Rendered
from reports.log_sheets import LogSheet
from reports.pdf import pdf_from_html


def log_html(sheet: LogSheet, *, links: Mapping[str, str] | None = None) -> str:
    """Return a sheet as a page; ``links`` are shown on screen only."""
    context = {"record": sheet, "sheet": sheet, "links": links or {}}
    return render_to_string("reports/log.html", context)


def log_page(sheet: LogSheet, links: Mapping[str, str]) -> Rendered:
    """Return a sheet as a page for the screen."""
    return Rendered(
        name=f"{sheet.kind}.html",
        media_type="text/html; charset=utf-8",
        content=log_html(sheet, links=links).encode(),
    )


def log_pdf(sheet: LogSheet) -> Rendered:
    """Return a sheet as a PDF."""
    return Rendered(
        name=f"{sheet.kind}.pdf",
        media_type="application/pdf",
        content=pdf_from_html(log_html(sheet)),
    )
