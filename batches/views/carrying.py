"""Forms that arrive after the session ended: kept until their writer has signed in.

The sign-in page carries what was typed in a signed field, so that nothing of it lies on
the server. Only whoever was signed in on this browser before gets it back, and sends it
once more with one press.
"""

from datetime import datetime, timedelta
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.core import signing
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from batches.forms.entering import SignInForm
from batches.forms.instants import MINUTE, wall
from batches.views.access import for_members
from batches.views.places import zone_of

FIELD = "carried"  # of the sign-in form, and of the session once signed in
PERSON = "person"  # the cookie that says who was signed in on this browser last
LASTS = timedelta(days=1)  # own figure: as long as what was typed waits
REMEMBERED = timedelta(days=90)  # own figure
LARGEST_CHARACTERS = 200_000  # own figure: more than anybody types
NEVER = {"csrfmiddlewaretoken", "password", "new", "code", "ticket", FIELD}
UNSEEN = {"entry_id", "next", "send", "version", "seen", "action"}  # of the form itself
NAMES = {"occurred_at": "when"}
_SALT = "brinewright.carried"
WHEN, PREFILLED = "occurred_at", "occurred_at_prefilled"


def remember_person(request: HttpRequest, response: HttpResponse) -> None:
    """Note in a signed cookie who is signed in on this browser."""
    told = request.get_signed_cookie(PERSON, default="", salt=_SALT)
    if told != str(request.user.pk):
        response.set_signed_cookie(
            PERSON,
            str(request.user.pk),
            salt=_SALT,
            max_age=int(REMEMBERED.total_seconds()),
            httponly=True,
            samesite="Lax",
            secure=settings.SESSION_COOKIE_SECURE,
        )


def lost(request: HttpRequest) -> HttpResponse:
    """Answer a form that came without a session: sign in, and go on."""
    fields = [
        (name, values)
        for name, values in request.POST.lists()
        if name not in NEVER and not name.endswith("password")
    ]
    told = {
        "path": request.get_full_path(),
        "fields": fields,
        "files": sorted(request.FILES),
        "person": request.get_signed_cookie(PERSON, default="", salt=_SALT),
        "at": timezone.now().isoformat(),
    }
    carried = signing.dumps(told, salt=_SALT, compress=True)
    is_kept = len(carried) <= LARGEST_CHARACTERS
    context = {
        "form": SignInForm(request, carried=carried if is_kept else ""),
        "lost": "kept" if is_kept else "too large",
        "files": told["files"],
    }
    return render(request, "registration/sign_in.html", context, status=401)


def opened(carried: str) -> dict[str, Any] | None:
    """Return what the sign-in page carried; None where it is not ours or too old."""
    try:
        told = signing.loads(carried, salt=_SALT, max_age=LASTS)
    except signing.BadSignature:
        return None
    return told if isinstance(told, dict) else None


def go_on(request: HttpRequest, carried: str) -> HttpResponse | None:
    """Lead whoever typed it to what was typed; None where there is nothing for them."""
    told = opened(carried) if carried else None
    if told is None:
        return None
    if told["person"] != str(request.user.pk):
        messages.info(
            request,
            "What was typed on this device before belongs to somebody else: it was not "
            "recorded, and only they see it, by signing in on their own page.",
        )
        return None
    request.session[FIELD] = told
    return redirect("continue")


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Refuse a form without its token; what we carried ourselves is taken up again.

    Whoever signed in meanwhile in another window sends an old token; what is carried is
    signed by us for one person, and shown to that person only.
    """
    carried = request.POST.get(FIELD, "")
    again = go_on(request, carried) if request.user.is_authenticated else None
    return again or render(request, "403_csrf.html", status=403)


@for_members
def keep_on(request: HttpRequest) -> HttpResponse:
    """Show what was typed before the session ended, to be sent with one press."""
    if request.method == "POST":
        request.session.pop(FIELD, None)
        messages.success(request, "It is dropped. Nothing was recorded.")
        return redirect("now")
    told = request.session.get(FIELD)
    if told is None:
        messages.info(request, "Nothing that was typed is waiting here.")
        return redirect("now")
    zone = zone_of(request.producer)
    at = parse_datetime(told["at"]) or timezone.now()
    fields = _with_their_instant(told["fields"], wall(at, zone))
    context = {
        "path": told["path"],
        "fields": [(name, value) for name, values in fields for value in values],
        "shown": [
            (NAMES.get(name, name.replace("_", " ").replace("-", " ")), value)
            for name, values in fields
            for value in values
            if value and name not in UNSEEN
        ],
        "files": told["files"],
        "at": at,
        "zone": zone,
    }
    return render(request, "registration/keep_on.html", context)


def _with_their_instant(
    fields: list[list[Any]], then: datetime
) -> list[tuple[str, list[str]]]:
    """Return the fields with *now* made the minute in which they were sent first."""
    known = {each[0]: each[1] for each in fields}
    is_now = WHEN in known and known[WHEN] == known.get(PREFILLED)
    kept = []
    for name, values in fields:
        if name == PREFILLED:
            continue
        kept.append((
            name,
            [then.strftime(MINUTE)] if name == WHEN and is_now else values,
        ))
    return kept
