"""Inspectors' links: made, listed and revoked by the owner, opened by anybody."""

from functools import wraps
from typing import Any

from django.contrib import messages
from django.core.exceptions import ObjectDoesNotExist
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from batches import lookups, recording
from batches.forms.link import BATCHES_OFFERED, LinkForm
from batches.models import InspectorLink
from batches.qr import qr_svg
from batches.recording.links import sha256_of
from batches.views.access import LINK, NOT_OPEN, View, for_members
from batches.views.places import zone_of
from batches.views.sending import attempt, now


def with_link(view: View) -> View:
    """As `for_members`, with the producer's own link in place of its number."""

    @for_members
    @wraps(view)
    def found(request: HttpRequest, pk: int, *args: Any, **kwargs: Any) -> HttpResponse:
        try:
            link = lookups.link_of(request.producer, pk)
        except ObjectDoesNotExist:
            raise Http404("There is no such link.") from None
        return view(request, link, *args, **kwargs)

    return found


@for_members
def link_list(request: HttpRequest) -> HttpResponse:
    """Show the links: for whom, what they show, whether they serve, how often opened."""
    context = {
        "links": lookups.links_of(request.producer),
        "now": now(),
        "zone": zone_of(request.producer),
    }
    return render(request, "links/link_list.html", context)


@never_cache
@for_members
def link_add(request: HttpRequest) -> HttpResponse:
    """Make a link and show it, once."""
    batches = lookups.batches_of(request.producer)[:BATCHES_OFFERED]
    form = LinkForm(
        request.POST or None,
        batches={batch.code: batch for batch in batches},
        initial={"batch": request.GET.get("batch", "")},
        cancel=reverse("link-list"),
    )
    if request.method == "POST" and form.is_valid():
        made = attempt(
            form,
            lambda: recording.give_link(
                request.producer, **form.wanted(), by=request.member, at=now()
            ),
        )
        if made is not None:
            link, token = made
            address = request.build_absolute_uri(reverse("copy-open", args=[token]))
            context = {
                "link": link,
                "address": address,
                "drawing": qr_svg(address, "The same link as a QR code"),
                "zone": zone_of(request.producer),
            }
            return render(request, "links/link_made.html", context)
    context = {
        "form": form,
        "heading": "A link for an inspector",
        "lead": "It opens the batch records and their signed plans, to read, without "
        "an account. Each page that is opened is noted.",
    }
    return render(request, "batches/form.html", context)


@with_link
def link(request: HttpRequest, link: InspectorLink) -> HttpResponse:
    """Show one link and what was opened by it."""
    context = {
        "link": link,
        "views": lookups.views_of(link),
        "now": now(),
        "zone": zone_of(request.producer),
    }
    return render(request, "links/link.html", context)


@with_link
@require_POST
def link_revoke(request: HttpRequest, link: InspectorLink) -> HttpResponse:
    """Take a link back."""
    recording.revoke_link(link, by=request.member, at=now())
    messages.success(request, f"The link for {link.for_whom} opens nothing any more.")
    return redirect("link-list")


@never_cache
@require_safe
def copy_open(request: HttpRequest, token: str) -> HttpResponse:
    """Open a link: from here on this browser reads what the link shows."""
    number = sha256_of(token)
    if lookups.open_link(token_sha256=number, now=now()) is None:
        raise Http404(NOT_OPEN)
    request.session[LINK] = number
    return redirect("copy")


@never_cache
def copy(request: HttpRequest) -> HttpResponse:
    """Show what a link shows: the batches and the plans they were made by."""
    context = {
        "link": request.link,
        "batches": lookups.batches_in(request.link),
        "plans": lookups.plans_in(request.link),
        "zone": zone_of(request.producer),
    }
    return render(request, "links/copy.html", context)
