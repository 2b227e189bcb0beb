"""The trail: who did what and when, and whether the record is as it was written."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from batches import lookups
from batches.forms.trail import TrailForm
from batches.verifying import verify
from batches.views.access import for_members
from batches.views.places import zone_of
from batches.views.sending import now
from batches.views.trail_words import kinds, said_in

PER_PAGE = 25
SHOWN_AT_MOST = 50


@for_members
def trail_list(request: HttpRequest) -> HttpResponse:
    """Show the trail, newest first, narrowed to an act, a kind of row or a person."""
    names = kinds()
    known = lookups.trail_filters(request.producer)
    form = TrailForm(request.GET, known=known, kinds=names)
    wanted = form.cleaned_data if form.is_valid() else {}
    events = lookups.trail_of(request.producer, **wanted)
    page = Paginator(events, PER_PAGE).get_page(request.GET.get("page"))
    zone = zone_of(request.producer)
    rows = [
        (event, names.get(event.subject, event.subject), said_in(event, zone))
        for event in page
    ]
    context = {"form": form, "page": page, "rows": rows, "zone": zone}
    return render(request, "trail/trail_list.html", context)


@for_members
def trail_verified(request: HttpRequest) -> HttpResponse:
    """Walk the trail now, compare every row with it, and say what was found."""
    report = verify(request.producer)
    context = {
        "report": report,
        "faults": report.faults[:SHOWN_AT_MOST],
        "at": now(),
        "zone": zone_of(request.producer),
    }
    return render(request, "trail/trail_verified.html", context)
