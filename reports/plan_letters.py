"""What a process authority's letter lets be looser: its words on every document."""

from collections.abc import Iterable, Mapping
from typing import Any

Plain = Mapping[str, Any]


def letter_words(letter: Plain) -> str:
    """Return whose letter it is, of which day, and what it allows."""
    return (
        f"Looser than published, by the letter of {letter['author']}, "
        f"{letter['organisation']}, {letter['date']}: {letter['summary']}"
    )


def published_words(each: Plain) -> str:
    """Return what is published where the plan says something else."""
    published = each["published"]
    return "" if published is None else f"Published: {published['words']}"


def looser_lines(limits: Iterable[Plain]) -> tuple[str, ...]:
    """Return each limit of a plan that is looser than published, with its letter."""
    return tuple(
        f"{each['words']} {letter_words(each['letter'])} {published_words(each)}"
        for each in limits
        if each["letter"]
    )
