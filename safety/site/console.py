"""What commands that need no database share: files read, refusals and lines written."""

import json
import sys
from io import TextIOWrapper
from pathlib import Path
from textwrap import wrap

from safety.errors import Refused

UNREADABLE_CODE = 3
WIDTH = 88


def bytes_of(name: str) -> bytes:
    """Return what a file holds, or refuse it like a document that is unclear."""
    try:
        return Path(name).read_bytes()
    except OSError as error:
        raise Refused(
            "", error.strerror or "nothing readable", "a file that can be read"
        ) from None


def refused(name: str, refusal: Refused, *, as_json: bool) -> str:
    """Return a refusal as one JSON document, or in words."""
    if as_json:
        error = {
            "pointer": refusal.pointer,
            "found": refusal.found,
            "allowed": refusal.allowed,
        }
        return json.dumps({"error": error})
    return f"{name}\n  unreadable: {refusal}\n"


def suit_any_terminal() -> None:
    """Let a terminal that has no degree sign show an escape instead of failing."""
    if isinstance(sys.stdout, TextIOWrapper):
        sys.stdout.reconfigure(errors="backslashreplace")


def wrapped(text: str, indent: str) -> list[str]:
    """Return a text in lines, its second and further ones indented deeper."""
    return wrap(
        text,
        WIDTH,
        initial_indent=indent,
        subsequent_indent=indent + "  ",
        break_on_hyphens=False,
        break_long_words=False,
    )
