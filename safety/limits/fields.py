"""The fields of a document: each one read or refused, with its JSON pointer."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from safety.errors import Refused

LONGEST_SHOWN_CHARS = 60
LARGEST_EXPONENT = 100  # so that a ratio of two numbers is still a number


def join(pointer: str, key: str | int) -> str:
    """Return the JSON pointer of ``key`` below ``pointer`` (RFC 6901).

    Parameters
    ----------
    pointer : str
        The parent's pointer; empty for the whole document.
    key : str or int
        An object's key or an array's index.

    Returns
    -------
    str
        The child's pointer; what cannot be printed stands as an escape.
    """
    name = str(key)
    if not name.isprintable():
        name = name.encode("unicode_escape").decode("ascii")
    return f"{pointer}/{name.replace('~', '~0').replace('/', '~1')}"


def show(value: object) -> str:
    """Return what was found, short enough to print.

    Parameters
    ----------
    value : object
        Anything that a JSON or TOML reader returns.

    Returns
    -------
    str
        The value as the file's author would recognise it.
    """
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Mapping):
        return "an object"
    if isinstance(value, list):
        return f"a list of {len(value)}"
    text = str(value) if isinstance(value, Decimal | int) else repr(value)
    if len(text) > LONGEST_SHOWN_CHARS:
        return f"{text[:LONGEST_SHOWN_CHARS]}…"
    return text


def refuse_unknown(
    entry: Mapping[str, Any], allowed: tuple[str, ...], pointer: str
) -> None:
    """Refuse the first key of ``entry`` that is not among ``allowed``.

    Raises
    ------
    Refused
        If there is such a key.
    """
    for key in entry:
        if key not in allowed:
            raise Refused(
                join(pointer, key), f"unknown key {show(key)}", ", ".join(allowed)
            )


def required(entry: Mapping[str, Any], key: str, pointer: str, allowed: str) -> Any:
    """Return ``entry[key]``.

    Raises
    ------
    Refused
        If the key is absent.
    """
    if key not in entry:
        raise Refused(join(pointer, key), "nothing", allowed)
    return entry[key]


def text(entry: Mapping[str, Any], key: str, pointer: str) -> str:
    """Return a name that must be there and not empty.

    Raises
    ------
    Refused
        If it is absent, no string, or empty.
    """
    value = required(entry, key, pointer, "a name")
    if not isinstance(value, str) or not value.strip() or not value.isprintable():
        raise Refused(join(pointer, key), show(value), "a name (printable, not empty)")
    return value


def choice(
    entry: Mapping[str, Any], key: str, pointer: str, allowed: tuple[str, ...]
) -> str:
    """Return a word of a closed list that must be there.

    Raises
    ------
    Refused
        If it is absent or not in the list.
    """
    value = required(entry, key, pointer, ", ".join(allowed))
    if not isinstance(value, str) or value not in allowed:
        raise Refused(join(pointer, key), show(value), ", ".join(allowed))
    return value


def number(
    entry: Mapping[str, Any], key: str, pointer: str, *, least: Decimal | None = None
) -> Decimal:
    """Return a finite number that must be there, exactly as it was written.

    Raises
    ------
    Refused
        If it is absent, not a finite number, or below ``least``.
    """
    value = required(entry, key, pointer, "a finite number")
    return checked_number(value, join(pointer, key), least=least)


def checked_number(
    value: object, pointer: str, *, least: Decimal | None = None
) -> Decimal:
    """Return ``value`` as a Decimal.

    Raises
    ------
    Refused
        If it is not a finite number of a sensible size, or below ``least``.
    """
    if isinstance(value, bool) or not isinstance(value, int | Decimal):
        raise Refused(pointer, show(value), "a finite number")
    exact = Decimal(value)
    exponent = exact.as_tuple().exponent
    if not isinstance(exponent, int):
        raise Refused(pointer, show(value), "a finite number")
    if abs(exponent) > LARGEST_EXPONENT or exact.adjusted() > LARGEST_EXPONENT:
        raise Refused(pointer, show(value), "a number that something can measure")
    if least is not None and exact < least:
        raise Refused(pointer, show(value), f"a number of at least {least}")
    return exact


def listed(entry: Mapping[str, Any], key: str, pointer: str) -> list[Any]:
    """Return a list that must be there and hold something.

    Raises
    ------
    Refused
        If it is absent, no list, or empty.
    """
    value = required(entry, key, pointer, "a list")
    if not isinstance(value, list) or not value:
        raise Refused(join(pointer, key), show(value), "a list with something in it")
    return value


def mapping(value: object, pointer: str) -> Mapping[str, Any]:
    """Return ``value`` if it is an object.

    Raises
    ------
    Refused
        If it is anything else.
    """
    if not isinstance(value, Mapping):
        raise Refused(pointer, show(value), "an object")
    return value
