"""What needs somebody now."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from batches.lookups import now_list, premises_of, products_of
from batches.views.access import for_members
from batches.views.instruments import standing
from batches.views.sending import now


@for_members
def now_page(request: HttpRequest) -> HttpResponse:
    """Show running batches with their next check, instruments due, use-by dates near."""
    zone = premises_of(request.producer)[0].zone
    at = now().astimezone(zone)
    needs = now_list(request.producer, now=at)
    context = {
        "needs": needs,
        "instruments": [standing(state, at) for state in needs.instruments_due],
        "has_product": products_of(request.producer).exists(),
        "now": at,
        "zone": zone,
    }
    return render(request, "batches/now.html", context)
