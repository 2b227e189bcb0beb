"""From which address somebody signs in, as the lock of sign-in counts it."""

from django.http import HttpRequest


def client_address(request: HttpRequest) -> str:
    """Return the address that the connection came from.

    What a header says of it is not believed: anybody can write one. Behind a proxy all
    people share its address, and the lock counts names only.
    """
    return str(request.META.get("REMOTE_ADDR", ""))
