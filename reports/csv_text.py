"""Rows as CSV that no spreadsheet takes for a formula, and that can be read back exactly.

A cell that begins with ``=``, ``+``, ``-``, ``@``, a tab or a line end could be run as a
formula, so an apostrophe is put before it; and before one that begins with an apostrophe,
so that taking one apostrophe away always gives the text back. A cell that is nothing but a
number stays as it is: -18.0 is a temperature, and a number runs nothing.
"""

import csv
import io
import json
import re
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Any

NUMBER = re.compile(r"[+-]?[0-9]+(?:\.[0-9]+)?", re.ASCII)
# The full-width signs count too: some spreadsheets read them as the narrow ones.
DANGEROUS = (
    "=",
    "+",
    "-",
    "@",
    "\t",
    "\r",
    "\n",
    "\uff1d",
    "\uff0b",
    "\uff0d",
    "\uff20",
)
GUARD = "'"
BYTE_ORDER_MARK = "\ufeff"  # by which spreadsheets know the text for UTF-8


def safe(text: str) -> str:
    """Return a cell as it may stand in a CSV file.

    >>> safe("=1+1"), safe("-18.0"), safe("-18.0 or so"), safe("'tis")
    ("'=1+1", '-18.0', "'-18.0 or so", "''tis")
    """
    if NUMBER.fullmatch(text):
        return text
    if text.startswith(GUARD) or text.lstrip(" \u00a0").startswith(DANGEROUS):
        return GUARD + text
    return text


def cell(value: Any) -> str:
    """Return a value as the text of a cell."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, Decimal):
        return format(value, "f")
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, dict | list):
        return safe(json.dumps(value, ensure_ascii=False))
    return safe(str(value))


def lines(titles: Sequence[str], rows: Iterable[Sequence[Any]]) -> Iterator[bytes]:
    """Yield a CSV file line by line: UTF-8, commas, every row with the titles' cells."""
    yield BYTE_ORDER_MARK.encode() + _line([safe(title) for title in titles])
    for row in rows:
        yield _line([cell(value) for value in row])


def _line(cells: Sequence[str]) -> bytes:
    out = io.StringIO()
    csv.writer(out).writerow(cells)
    return out.getvalue().encode("utf-8", "replace")
