"""Packages: what is in stock, packing a batch, sending out, counting; buyers."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.core.exceptions import ObjectDoesNotExist
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from batches import lookups, recording
from batches.forms.packing import (
    BuyerForm,
    DispatchForm,
    PackingForm,
    StockCountForm,
)
from batches.lookups.now import NEAR
from batches.lotcode import shown
from batches.models import Batch, Buyer, Dispatch, Packing, StockCount
from batches.models.entry import Entry
from batches.recording.dispatches import BUYER_FIELDS
from batches.recording.packing import latest_use_by
from batches.views.access import for_members, with_batch
from batches.views.places import zone_of
from batches.views.sending import attempt, now, said_before


@for_members
def package_list(request: HttpRequest) -> HttpResponse:
    """Show what is in stock, oldest first, with its use-by date."""
    zone = zone_of(request.producer)
    today = now().astimezone(zone).date()
    context = {
        "stocks": lookups.in_stock(request.producer),
        "today": today,
        "soon": today + NEAR,
        "zone": zone,
    }
    return render(request, "packages/package_list.html", context)


@with_batch
def batch_packages(request: HttpRequest, batch: Batch) -> HttpResponse:
    """Show every package of a batch: how many were filled, and where they went."""
    stock = lookups.stock_of(batch)
    context = {
        "batch": batch,
        "stock": stock,
        "went": [
            (Dispatch.Kind(kind).label, count)
            for kind, count in stock.went.items()
            if count
        ],
        "rows": sorted(
            (*stock.dispatches.current, *stock.counts.current),
            key=lambda row: (row.occurred_at, row.pk),
        ),
        "zone": batch.premises.zone,
    }
    return render(request, "packages/batch_packages.html", context)


@with_batch
def pack(request: HttpRequest, batch: Batch) -> HttpResponse:
    """Write down a packing."""
    zone = batch.premises.zone
    day = now().astimezone(zone).date()
    latest = latest_use_by(batch, day)
    form = PackingForm(
        request.POST or None,
        zone=zone,
        now=now(),
        cancel=reverse("batch-packages", args=[batch.code]),
        initial={
            "kind": batch.product.packaging,
            "use_by": None if latest is None else latest[0],
        },
    )
    return _answer(
        request,
        batch,
        form,
        model=Packing,
        heading=_("Pack"),
        lead=_(
            "The code of the packages is given when you record it. The use-by date "
            "counts from the day of packing."
        ),
        write=recording.pack,
        done=lambda row: (
            _("Packed: %(packages)s packages. Their code is %(code)s.")
            % {"packages": row.packages, "code": shown(row.code)}
        ),
    )


@with_batch
def dispatch(request: HttpRequest, batch: Batch) -> HttpResponse:
    """Write down that packages went out, or came back."""
    stock = lookups.stock_of(batch)
    form = DispatchForm(
        request.POST or None,
        zone=batch.premises.zone,
        now=now(),
        cancel=reverse("batch-packages", args=[batch.code]),
        buyers=lookups.buyers_of(request.producer),
        packings=stock.packings.current,
        initial={"kind": request.GET.get("kind", "")},
    )
    return _answer(
        request,
        batch,
        form,
        model=Dispatch,
        heading=_("Packages of %(code)s go out") % {"code": batch.code},
        lead=_("%(left)s packages are left.") % {"left": stock.left},
        write=recording.dispatch,
        done=lambda row: (
            _("Recorded: %(packages)s packages, %(where)s.")
            % {"packages": row.packages, "where": row.get_kind_display().lower()}
        ),
    )


@with_batch
def count(request: HttpRequest, batch: Batch) -> HttpResponse:
    """Write down how many packages were counted on the shelf."""
    stock = lookups.stock_of(batch)
    form = StockCountForm(
        request.POST or None,
        zone=batch.premises.zone,
        now=now(),
        cancel=reverse("batch-packages", args=[batch.code]),
    )
    return _answer(
        request,
        batch,
        form,
        model=StockCount,
        heading=_("Count the packages of %(code)s") % {"code": batch.code},
        lead=_("By the record %(left)s should be there. Type what you count.")
        % {"left": stock.left},
        write=recording.count_stock,
        done=lambda row: (
            _("Counted: %(packages)s packages.") % {"packages": row.packages}
        ),
    )


@for_members
def buyer_list(request: HttpRequest) -> HttpResponse:
    """Show the businesses that buy."""
    context = {"buyers": lookups.buyers_of(request.producer)}
    return render(request, "packages/buyer_list.html", context)


@for_members
def buyer_add(request: HttpRequest) -> HttpResponse:
    """Put a business that buys on record."""
    form = BuyerForm(request.POST or None, cancel=reverse("buyer-list"))
    return _keep_buyer(
        request,
        form,
        _("A business that buys"),
        lambda told: recording.add_buyer(
            request.producer, **told, by=request.member, at=now()
        ),
    )


@for_members
def buyer_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Set right what is known of a business that buys."""
    try:
        buyer = lookups.buyer_of(request.producer, pk)
    except ObjectDoesNotExist:
        raise Http404("There is no such buyer.") from None
    form = BuyerForm(
        request.POST or None,
        cancel=reverse("buyer-list"),
        initial={name: getattr(buyer, name) for name in ("name", *BUYER_FIELDS)},
    )
    return _keep_buyer(
        request,
        form,
        buyer.name,
        lambda told: recording.change_buyer(buyer, **told, by=request.member, at=now()),
    )


# ------------------------------------------------------------ parts


def _keep_buyer(
    request: HttpRequest,
    form: BuyerForm,
    heading: str,
    write: Callable[[dict[str, str]], Buyer],
) -> HttpResponse:
    if request.method == "POST" and form.is_valid():
        buyer = attempt(form, lambda: write(form.cleaned_data))
        if buyer is not None:
            messages.success(request, _("On record: %(name)s.") % {"name": buyer.name})
            return redirect("buyer-list")
    return render(request, "batches/form.html", {"form": form, "heading": heading})


def _answer(
    request: HttpRequest,
    batch: Batch,
    form: Any,
    *,
    model: type[Entry],
    write: Callable[..., Any],
    done: Callable[[Any], str],
    **shown_too: Any,
) -> HttpResponse:
    if request.method == "POST" and form.is_valid():
        wanted = form.wanted()
        wanted |= said_before(model, batch, wanted["entry_id"], form)
        row = attempt(
            form, lambda: write(batch, **wanted, by=request.member, at=form.now)
        )
        if row is not None:
            messages.success(request, done(row))
            return redirect("batch-packages", code=batch.code)
    context = {"batch": batch, "form": form} | shown_too
    return render(request, "batches/form.html", context)
