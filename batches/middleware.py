"""Tells every page who is signed in and for which producer; refuses what is not theirs."""

import time
from collections.abc import Callable
from datetime import timedelta
from typing import Any

from django.contrib.auth.signals import user_logged_in
from django.core.exceptions import ObjectDoesNotExist, PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseNotAllowed
from django.shortcuts import redirect
from django.utils import timezone

from batches import lookups, recording, roles, second_step
from batches.lookups.laboratory import report_of
from batches.lookups.recalls import recall_of
from batches.models import InspectorLink, Producer
from batches.views import carrying
from batches.views.access import LINK, NOT_OPEN

SAFE = {"GET", "HEAD", "OPTIONS", "TRACE"}
BEFORE_A_NEW_PASSWORD = {"me-password", "sign-out", "theme"}
BEFORE_A_SECOND_STEP = {"second-step", "me-password", "sign-out", "theme"}
# Own figure: whoever was signed in when the owner began to ask for the second step goes
# on for so long, which is longer than a smoke; then, or at the next sign-in, it is asked.
GRACE = timedelta(hours=16)
SIGNED_IN = "signed-in"  # in the session: when the password was given
ROLL_AFTER_S = timedelta(days=1).total_seconds()
ROLLED = "rolled"  # when the session was last given its full time again

Finder = Callable[[Producer, dict[str, Any]], object]

# How to find what an address names, by its first part; a refusal of another producer's
# thing must read like that of a thing that does not exist.
FINDERS: dict[str, Finder] = {
    "batches": lambda producer, names: lookups.batch_of(producer, names["code"]),
    "deviations": lambda producer, names: lookups.deviation_of(
        producer, names["number"]
    ),
    "instruments": lambda producer, names: lookups.instrument_of(
        producer, names["code"]
    ),
    "lots": lambda producer, names: lookups.lot_of(producer, names["code"]),
    "laboratory": lambda producer, names: report_of(producer, names["pk"]),
    "recalls": lambda producer, names: recall_of(producer, names["number"]),
    "buyers": lambda producer, names: lookups.buyer_of(producer, names["pk"]),
    "markets": lambda producer, names: lookups.market_day_of(producer, names["pk"]),
    "letters": lambda producer, names: producer.letters.filter(sha256=names["sha256"])[
        :1
    ].get(),
    "links": lambda producer, names: lookups.link_of(producer, names["pk"]),
    "people": lambda producer, names: lookups.person_of(producer, names["pk"]),
    "photos": lambda producer, names: lookups.photo_of(producer, names["pk"]),
    "products": lambda producer, names: lookups.product_of(producer, names["pk"]),
    "records": lambda producer, names: (
        lookups.entry_of(producer, names.get("kind", "documents"), names["pk"])
        if "pk" in names
        else None
    ),
    "review": lambda producer, names: None,
    "workbench": lambda producer, names: None,
}


class MemberMiddleware:
    """Sets ``request.member``, ``request.producer`` and ``request.link``, or refuses.

    Member and producer are None for a stranger; the link for all but those by a link.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.member = lookups.member_of(request.user)
        request.producer = request.member.producer if request.member else None
        request.link = None
        response = self.get_response(request)
        if request.user.is_authenticated:
            _roll(request)
            carrying.remember_person(request, response)
        return response

    def process_view(
        self, request: HttpRequest, view: Any, args: Any, kwargs: dict[str, Any]
    ) -> HttpResponse | None:
        """Let through whom `batches.roles` lets see the page, and send its form."""
        name = request.resolver_match.url_name
        page = roles.page(name)
        if page.see == roles.LINK:
            _open_by_link(request, name, kwargs)
            return None
        if page.see == roles.ANYBODY:
            return None
        if not request.user.is_authenticated:
            is_sent = request.method not in SAFE
            return carrying.lost(request) if is_sent else None
        if request.member is None:
            return None  # the page itself says what to do
        return _refuse(request, page, name, kwargs)


def _refuse(
    request: HttpRequest, page: roles.Page, name: str | None, kwargs: dict[str, Any]
) -> HttpResponse | None:
    member = request.member
    if member.must_change_password and name not in BEFORE_A_NEW_PASSWORD:
        return redirect("me-password")
    if name not in BEFORE_A_SECOND_STEP and _wants_second_step(request):
        return redirect("second-step")
    is_sent = request.method not in SAFE
    act = page.see if not is_sent else page.do
    if act is None:
        _check_there(request, kwargs)
        return HttpResponseNotAllowed(["GET", "HEAD"])
    if not member.may(act):
        _check_there(request, kwargs)
        raise PermissionDenied(roles.ACTS[act].refusal)
    return None


def _wants_second_step(request: HttpRequest) -> bool:
    """Say whether this person must set up the second step before anything else."""
    member = request.member
    asked_at = member.second_step_asked_at
    if asked_at is None or member.second_step_at is not None:
        return False
    was_here = request.session.get(SIGNED_IN, 0) < asked_at.timestamp()
    if was_here and timezone.now() < asked_at + GRACE:
        return False
    return not second_step.is_on(member.user)  # on by a membership elsewhere


def _check_there(request: HttpRequest, kwargs: dict[str, Any]) -> None:
    """Answer that it does not exist, where the address names nothing of the producer."""
    if not kwargs:
        return
    finder = FINDERS.get(request.path_info.strip("/").split("/")[0])
    try:
        if finder is None:
            raise Http404(NOT_OPEN)
        finder(request.producer, kwargs)
    except ObjectDoesNotExist:
        raise Http404(NOT_OPEN) from None


def _open_by_link(
    request: HttpRequest, name: str | None, kwargs: dict[str, Any]
) -> None:
    at = timezone.now()
    link = lookups.open_link(token_sha256=request.session.get(LINK, ""), now=at)
    shown = None if link is None else _in_words(link, kwargs)
    if link is None or shown is None or request.method not in SAFE:
        raise Http404(NOT_OPEN)
    request.member, request.producer, request.link = None, link.producer, link
    form = ", PDF" if str(name).endswith("-pdf") else ""
    recording.record_view(link, page=f"{shown}{form}", at=at)


def _in_words(link: InspectorLink, kwargs: dict[str, Any]) -> str | None:
    """Return what the address names, where the link shows it; else None."""
    if not kwargs:
        return "the list"
    if set(kwargs) == {"code"}:
        batch = lookups.batches_in(link).filter(code=kwargs["code"]).first()
        return None if batch is None else f"batch record {batch.code}"
    if set(kwargs) == {"pk", "number"}:
        plan = (
            lookups
            .plans_in(link)
            .filter(product=kwargs["pk"], number=kwargs["number"])
            .first()
        )
        return None if plan is None else f"plan v{plan.number} of {plan.product.name}"
    return None


def _roll(request: HttpRequest) -> None:
    """Give a session its full time again, once a day."""
    now_s = time.time()
    if now_s - request.session.get(ROLLED, 0) > ROLL_AFTER_S:
        request.session[ROLLED] = now_s


def _begin_session(sender: Any, request: HttpRequest, user: Any, **_: Any) -> None:
    request.session[ROLLED] = request.session[SIGNED_IN] = time.time()


user_logged_in.connect(_begin_session, dispatch_uid="batches.session")
