"""Raw fish: what is left of every lot, and where one of them came from."""

from django.core.exceptions import ObjectDoesNotExist
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from batches import lookups
from batches.logsheet import cells, titles
from batches.lookups.raw_fish import NOTHING
from batches.models import LotOrigin
from batches.views.access import for_members
from batches.views.places import zone_of


@for_members
def lot_stock(request: HttpRequest) -> HttpResponse:
    """Show what is left of every lot by weight, the oldest that is left first."""
    found = lookups.raw_fish_of(list(lookups.lots_of(request.producer)))
    left = sorted(
        (fish for fish in found if fish.left_kg),
        key=lambda fish: (fish.lot.received_at, fish.lot.pk),
    )
    context = {
        "left": left,
        "gone": [fish for fish in found if not fish.left_kg],
        "usable_kg": sum((fish.left_kg for fish in left if fish.is_usable), NOTHING),
        "zone": zone_of(request.producer),
    }
    return render(request, "lots/stock.html", context)


@for_members
def lot_origin(request: HttpRequest, code: str) -> HttpResponse:
    """Show where a lot came from, what tracing still asks, and what became of it."""
    try:
        lot = lookups.lot_of(request.producer, code)
    except ObjectDoesNotExist:
        raise Http404("There is no such lot.") from None
    fish = lookups.raw_fish(lot)
    said = []
    if fish.origin is not None:
        row = cells("origins", fish.origin, ())
        said = list(zip(titles("origins"), row, strict=True))[2:]
    context = {
        "fish": fish,
        "lot": lot,
        "said": [(title, text) for title, text in said if text],
        "ways": LotOrigin.Way.choices,
        "zone": zone_of(request.producer),
    }
    return render(request, "lots/origin.html", context)
