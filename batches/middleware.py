"""Tells every page who is signed in, and for which producer."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from batches.lookups import member_of


class MemberMiddleware:
    """Sets ``request.member`` and ``request.producer``; None for a stranger."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.member = member_of(request.user)
        request.producer = request.member.producer if request.member else None
        return self.get_response(request)
