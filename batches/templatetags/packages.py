"""Writes the codes of packages, and names the kinds of entry about them."""

from typing import Any

from django import template

from batches.lookups.lists import KINDS
from batches.lotcode import shown

register = template.Library()
_WORDS = {model: word for word, model in KINDS.items()}


@register.filter
def lotcode(code: str) -> str:
    """Return a code as labels print it."""
    return shown(code)


@register.filter
def entry_kind(row: Any) -> str:
    """Return the word by which an entry is addressed when it is corrected."""
    return _WORDS[type(row)]
