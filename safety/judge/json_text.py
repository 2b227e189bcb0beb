"""The text of a document: JSON with exact numbers, each key of an object once."""

import json
from collections.abc import Iterable
from decimal import Decimal, InvalidOperation
from typing import Any

from safety.errors import Refused
from safety.limits.fields import join


class _Twice(dict[str, Any]):
    """An object in which one key stood twice."""

    twice = ""


def load(data: bytes | str) -> object:
    """Return what a JSON text says, every number exact and every key once.

    Parameters
    ----------
    data : bytes or str
        UTF-8 JSON, with or without a byte order mark.

    Returns
    -------
    object
        Dicts, lists, strings, Decimals, bools and None.

    Raises
    ------
    Refused
        If it is no JSON, no UTF-8, nested too deep, or has a key twice.
    """
    document = _parsed(data)
    _refuse_twice(document)
    return document


def _parsed(data: bytes | str) -> object:
    try:
        source = data.decode("utf-8-sig") if isinstance(data, bytes) else data
    except UnicodeDecodeError as error:
        raise Refused(
            "", f"a byte at {error.start} that is no UTF-8", "UTF-8"
        ) from None
    try:
        return json.loads(
            source,
            parse_int=_number,
            parse_float=_number,
            parse_constant=_number,
            object_pairs_hook=_object,
        )
    except json.JSONDecodeError as error:
        where = f"line {error.lineno}, column {error.colno}"
        raise Refused("", f"{error.msg} at {where}", "a JSON document") from None
    except RecursionError:
        raise Refused(
            "", "lists or objects nested too deep", "a JSON document"
        ) from None


def _number(digits: str) -> Decimal:
    """Return a number of any length; one beyond all reach counts as infinite."""
    try:
        return Decimal(digits)
    except InvalidOperation:
        return Decimal("Infinity")


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    plain = dict(pairs)
    if len(plain) == len(pairs):
        return plain
    seen: set[str] = set()
    doubled = _Twice(plain)
    for key, _ in pairs:
        if key in seen:
            doubled.twice = key
        seen.add(key)
    return doubled


def _refuse_twice(document: object) -> None:
    waiting: list[tuple[object, str]] = [(document, "")]
    while waiting:
        value, pointer = waiting.pop()
        if isinstance(value, _Twice):
            raise Refused(join(pointer, value.twice), "the key twice", "each key once")
        children: Iterable[tuple[str | int, object]] = ()
        if isinstance(value, dict):
            children = value.items()
        elif isinstance(value, list):
            children = enumerate(value)
        waiting += [
            (item, join(pointer, key))
            for key, item in children
            if isinstance(item, dict | list)
        ]
