"""Every way through the site that is not in the bar, each with what it is for."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from batches.views.access import for_members

WAYS = (
    (
        "instrument-list",
        "Instruments",
        "What measures, how it was checked, what is due",
    ),
    ("trail", "Trail", "Every act in this record, and whether it is as it was written"),
    ("review-list", "Review", "What is to be read and signed, and by when"),
    (
        "laboratory",
        "Laboratory",
        "Reports awaited and unread, salt tests due, what the results say",
    ),
    ("guidance", "Guidance", "Every published limit we know, with its source"),
)


@for_members
def more(request: HttpRequest) -> HttpResponse:
    """List the ways."""
    return render(request, "batches/more.html", {"ways": WAYS})
