"""Pages for members, with the thing that the address names; never another producer's.

Which role may see or send what stands in `batches.roles`; `batches.middleware` asks it.
"""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.contrib.auth.decorators import login_required
from django.core.exceptions import ObjectDoesNotExist, PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse

from batches.lookups import batch_of, instrument_of

LINK = "link"  # in the session: the SHA-256 of the link that this browser opened
NOT_OPEN = "There is nothing at this address."

View = Callable[..., HttpResponse]


def for_members(view: View) -> View:
    """Let in whoever is signed in and belongs to a producer."""

    @login_required
    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if request.member is None:
            raise PermissionDenied(
                "You are signed in, but belong to no producer. "
                "Ask the owner to add you."
            )
        return view(request, *args, **kwargs)

    return guarded


def with_batch(view: View) -> View:
    """As `for_members`, with the producer's own batch in place of its code."""

    @for_members
    @wraps(view)
    def found(
        request: HttpRequest, code: str, *args: Any, **kwargs: Any
    ) -> HttpResponse:
        try:
            batch = batch_of(request.producer, code)
        except ObjectDoesNotExist:
            raise Http404(f"There is no batch {code}.") from None
        return view(request, batch, *args, **kwargs)

    return found


def with_instrument(view: View) -> View:
    """As `for_members`, with the producer's own instrument in place of its code."""

    @for_members
    @wraps(view)
    def found(
        request: HttpRequest, code: str, *args: Any, **kwargs: Any
    ) -> HttpResponse:
        try:
            instrument = instrument_of(request.producer, code)
        except ObjectDoesNotExist:
            raise Http404(f"There is no instrument {code}.") from None
        return view(request, instrument, *args, **kwargs)

    return found
