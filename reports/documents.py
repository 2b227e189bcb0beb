"""The documents there are, each as a file name, a media type and bytes."""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from reports.chart import curve
from reports.deviation_sheets import DeviationSheet
from reports.html import deviation_html, plan_html, record_html
from reports.pdf import pdf_from_html
from reports.plan_sheets import PlanSheet
from reports.sheets import BatchRecord, CurveSheet

PAPERS = ("letter", "a4")


@dataclass(frozen=True, slots=True, kw_only=True)
class Rendered:
    """A document as it is sent or saved."""

    name: str
    media_type: str
    content: bytes


def record_page(record: BatchRecord, links: Mapping[str, str]) -> Rendered:
    """Return the batch record as a page for the screen."""
    return Rendered(
        name=f"{_stem(record)}.html",
        media_type="text/html; charset=utf-8",
        content=record_html(record, links=links).encode(),
    )


def record_pdf(record: BatchRecord) -> Rendered:
    """Return the batch record as a PDF."""
    return Rendered(
        name=f"{_stem(record)}.pdf",
        media_type="application/pdf",
        content=pdf_from_html(record_html(record)),
    )


def plan_page(plan: PlanSheet, links: Mapping[str, str]) -> Rendered:
    """Return a plan as a page for the screen."""
    return Rendered(
        name=f"plan-v{plan.number}.html",
        media_type="text/html; charset=utf-8",
        content=plan_html(plan, links=links).encode(),
    )


def plan_pdf(plan: PlanSheet) -> Rendered:
    """Return a plan as a PDF."""
    draft = "" if plan.signed else "-draft"
    return Rendered(
        name=f"plan-v{plan.number}{draft}.pdf",
        media_type="application/pdf",
        content=pdf_from_html(plan_html(plan)),
    )


def deviation_page(sheet: DeviationSheet, links: Mapping[str, str]) -> Rendered:
    """Return the report of a deviation as a page for the screen."""
    return Rendered(
        name=f"deviation-{sheet.case.number}.html",
        media_type="text/html; charset=utf-8",
        content=deviation_html(sheet, links=links).encode(),
    )


def deviation_pdf(sheet: DeviationSheet) -> Rendered:
    """Return the report of a deviation as a PDF."""
    return Rendered(
        name=f"deviation-{sheet.case.number}.pdf",
        media_type="application/pdf",
        content=pdf_from_html(deviation_html(sheet)),
    )


def curve_svg(sheet: CurveSheet) -> Rendered:
    """Return one curve as a drawing."""
    return Rendered(
        name=f"curve-{sheet.slug}.svg",
        media_type="image/svg+xml",
        content=curve(sheet).encode(),
    )


def _stem(record: BatchRecord) -> str:
    return "batch-record-" + re.sub(r"[^A-Za-z0-9-]+", "-", record.code)
