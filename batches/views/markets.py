"""Days at market: what went into the box, what was sold, what came home."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.core.exceptions import ObjectDoesNotExist
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from batches import lookups, recording
from batches.forms.packing import MarketCountForm, MarketForm, MarketSaleForm
from batches.models import Dispatch, MarketCount, MarketDay
from batches.views.access import for_members
from batches.views.places import zone_of
from batches.views.sending import attempt, now

SHOWN = 60  # own figure: days at market on one page


@for_members
def market_list(request: HttpRequest) -> HttpResponse:
    """Show the days at market, the last first."""
    context = {
        "days": lookups.market_days_of(request.producer)[:SHOWN],
        "zone": zone_of(request.producer),
    }
    return render(request, "packages/market_list.html", context)


@for_members
def market_open(request: HttpRequest) -> HttpResponse:
    """Begin a day at market; what was said of the last one is offered."""
    last = lookups.market_days_of(request.producer).first()
    form = MarketForm(
        request.POST or None,
        zone=zone_of(request.producer),
        now=now(),
        cancel=reverse("market-list"),
        initial={}
        if last is None
        else {
            "place": last.place,
            "box": last.box,
            "minutes_away": last.minutes_away,
        },
    )
    if request.method == "POST" and form.is_valid():
        day = attempt(
            form,
            lambda: recording.open_market(
                request.producer, **form.wanted(), by=request.member, at=form.now
            ),
        )
        if day is not None:
            messages.success(request, _("The day is open. Count what you take along."))
            return redirect("market", pk=day.pk)
    context = {"form": form, "heading": _("A day at market")}
    return render(request, "batches/form.html", context)


@for_members
def market(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one day: batch by batch what was taken, what went, what came home."""
    day = _day(request, pk)
    rows = []
    for stock in lookups.sold_at(day):
        out, gone, back = stock.at(day)
        rows.append({
            "batch": stock.batch,
            "out": out,
            "gone": gone,
            "back": back,
            "astray": None if back is None else out - gone - back,
        })
    context = {"day": day, "rows": rows, "zone": zone_of(request.producer)}
    return render(request, "packages/market.html", context)


@for_members
def market_count(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down what goes into the box, or comes home in it."""
    day = _day(request, pk)
    edge = request.GET.get("edge", MarketCount.Edge.OUT)
    form = MarketCountForm(
        request.POST or None,
        zone=zone_of(request.producer),
        now=now(),
        cancel=reverse("market", args=[pk]),
        batches=_batches(request, day, coming_home=edge == MarketCount.Edge.BACK),
        initial={"edge": edge, "batch": request.GET.get("batch", "")},
    )
    return _answer(
        request,
        day,
        form,
        heading=_("Count packages"),
        write=recording.count_for_market,
    )


@for_members
def market_sell(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down what was sold at the stall, or opened, or thrown away."""
    day = _day(request, pk)
    form = MarketSaleForm(
        request.POST or None,
        zone=zone_of(request.producer),
        now=now(),
        cancel=reverse("market", args=[pk]),
        batches=_batches(request, day, coming_home=True),
        initial={
            "kind": Dispatch.Kind.CONSUMER,
            "batch": request.GET.get("batch", ""),
        },
    )
    return _answer(
        request, day, form, heading=_("Sold at the stall"), write=recording.dispatch
    )


# ------------------------------------------------------------ parts


def _day(request: HttpRequest, pk: int) -> MarketDay:
    try:
        return lookups.market_day_of(request.producer, pk)
    except ObjectDoesNotExist:
        raise Http404("There is no such day at market.") from None


def _batches(
    request: HttpRequest, day: MarketDay, *, coming_home: bool
) -> list[tuple[str, str]]:
    """Return the batches to choose from: those along, or all of which some are left."""
    stocks = lookups.sold_at(day) if coming_home else lookups.in_stock(request.producer)
    return [
        (stock.batch.code, f"{stock.batch.code} · {stock.batch.product.name}")
        for stock in stocks
    ]


def _answer(
    request: HttpRequest,
    day: MarketDay,
    form: Any,
    *,
    heading: str,
    write: Callable[..., Any],
) -> HttpResponse:
    if request.method == "POST" and form.is_valid():
        wanted = form.wanted()
        batch = lookups.batch_of(request.producer, wanted.pop("batch"))
        row = attempt(
            form,
            lambda: write(batch, market=day, **wanted, by=request.member, at=form.now),
        )
        if row is not None:
            messages.success(
                request, _("Recorded for %(code)s.") % {"code": batch.code}
            )
            return redirect("market", pk=day.pk)
    context = {"form": form, "heading": heading, "lead": str(day)}
    return render(request, "batches/form.html", context)
