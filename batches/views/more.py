"""Every way through the site that is not in the bar, each with what it is for."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from batches import roles
from batches.views.access import for_members

WAYS = (
    ("deviation-list", "Deviations", "What went wrong, what is held, what was decided"),
    ("review-list", "Review", "What is to be read and signed, and by when"),
    ("package-list", "Packages", "What is in stock, and where the rest went"),
    ("trace", "Trace", "From any code to every package and every buyer, or back"),
    ("recall-list", "Recalls and drills", "Find every package against the clock"),
    ("market-list", "Days at market", "What was taken along, sold and brought back"),
    (
        "instrument-list",
        "Instruments",
        "What measures, how it was checked, what is due",
    ),
    (
        "laboratory",
        "Laboratory",
        "Reports awaited and unread, salt tests due, what the results say",
    ),
    ("logbook", "Records", "Cleaning, training, complaints, visits, papers, repairs"),
    ("guidance", "Guidance", "Every published limit we know, with its source"),
    (
        "workbench",
        "Workbench",
        "Estimates to plan with, each with its range and source",
    ),
    ("trail", "Trail", "Every act in this record, and whether it is as it was written"),
    ("people", "People", "Who works here, in which role"),
    (
        "link-list",
        "Inspectors’ links",
        "Read-only copies for a while, and who saw them",
    ),
    ("keeping", "Keeping", "Backups, and everything of yours in one file"),
    ("me", "Me", "Your password, your unit, the second step at sign-in"),
)


@for_members
def more(request: HttpRequest) -> HttpResponse:
    """List the ways that this person may go."""
    seen = {name: roles.page(name).see for name, _, _ in WAYS}
    ways = [
        way
        for way in WAYS
        if seen[way[0]] == roles.ANYBODY or request.member.may(seen[way[0]])
    ]
    return render(request, "batches/more.html", {"ways": ways})
