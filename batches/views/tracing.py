"""Trace: from any code, name or day to everything that hangs together with it."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from batches.lookups.trace import found_under, trace_of
from batches.tracegraph import graph
from batches.views.access import for_members
from batches.views.places import zone_of


@for_members
def trace(request: HttpRequest) -> HttpResponse:
    """Ask for a code and show where the food came from and where it went."""
    zone = zone_of(request.producer)
    asked = request.GET.get("q", "").strip()
    start = found_under(request.producer, asked, zone) if asked else None
    found = trace_of(request.producer, start) if start is not None else None
    context = {
        "asked": asked,
        "start": start,
        "trace": found,
        "graph": None if found is None else graph(found),
        "zone": zone,
    }
    return render(request, "packages/trace.html", context)
