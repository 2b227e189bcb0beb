"""Renders a sheet as HTML: the same page for the screen and for the PDF."""

import base64
from collections.abc import Mapping

from django.template.loader import render_to_string

from reports.chart import curve
from reports.deviation_sheets import DeviationSheet
from reports.plan_sheets import PlanSheet
from reports.sheets import BatchRecord, CurveSheet


def record_html(record: BatchRecord, *, links: Mapping[str, str] | None = None) -> str:
    """Return the batch record as a page; ``links`` are shown on screen only."""
    drawn = [(sheet, _image(sheet)) for sheet in record.curves]
    context = {"record": record, "curves": drawn, "links": links or {}}
    return render_to_string("reports/batch_record.html", context)


def plan_html(plan: PlanSheet, *, links: Mapping[str, str] | None = None) -> str:
    """Return a plan as a page; ``links`` are shown on screen only."""
    context = {"record": plan, "plan": plan, "links": links or {}}
    return render_to_string("reports/plan.html", context)


def deviation_html(
    sheet: DeviationSheet, *, links: Mapping[str, str] | None = None
) -> str:
    """Return the report of a deviation as a page; ``links`` are for the screen only."""
    context = {"record": sheet, "links": links or {}}
    return render_to_string("reports/deviation.html", context)


def _image(sheet: CurveSheet) -> str:
    """Return the curve as an address that carries the drawing with it."""
    drawing = base64.b64encode(curve(sheet).encode()).decode("ascii")
    return f"data:image/svg+xml;base64,{drawing}"
