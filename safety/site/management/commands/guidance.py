"""``guidance``: lists what is published, or what of it applies to a product."""

import sys
from argparse import ArgumentParser
from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime
from itertools import groupby
from typing import Any

from django.core.management.base import BaseCommand

from safety.errors import Refused
from safety.facts import FACTS
from safety.judge import read_product
from safety.judge.export import exact_json
from safety.judge.listed_json import FORMAT, considered_values, entry_values
from safety.judge.listing import (
    LIMIT,
    Considered,
    Entry,
    cell_words,
    for_product,
    listing,
)
from safety.limits.printed import Table
from safety.site.console import (
    UNREADABLE_CODE,
    bytes_of,
    refused,
    suit_any_terminal,
    wrapped,
)

WHO_DECIDES = (
    "This is published guidance as it was read. The publication itself holds; whether "
    "the food may be sold is decided by the inspector, the process authority and the "
    "local code."
)
NOT_CHOSEN = (
    "Figures, tables, intervals and defaults are chosen by no fact of a product: without "
    "--product they are listed."
)


class Command(BaseCommand):
    help = (
        "List every published limit, figure and table with its source. With --product "
        "FACTS.json (the product object of a batch file): which limits apply to it, and "
        "why or why not. Exit code: 0 listed, 3 unreadable."
    )
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--product", metavar="FACTS.json", help="a product")
        parser.add_argument(
            "--json", action="store_true", dest="as_json", help="JSON instead of words"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        suit_any_terminal()
        name, as_json = options["product"], options["as_json"]
        facts = None
        if name is not None:
            try:
                facts = read_product(bytes_of(name)).facts
            except Refused as refusal:
                self.stdout.write(refused(name, refusal, as_json=as_json))
                sys.exit(UNREADABLE_CODE)
        today = datetime.now().astimezone().date()
        if as_json:
            self.stdout.write(exact_json(_document(facts, today)))
        else:
            self.stdout.write("\n".join(_in_words(facts, today)))


def _document(facts: Mapping[str, str] | None, on: date) -> dict[str, Any]:
    head = {"format": FORMAT, "on": on.isoformat(), "who_decides": WHO_DECIDES}
    if facts is None:
        return head | {"entries": [entry_values(entry) for entry in listing()]}
    others = (entry for entry in listing() if entry.kind != LIMIT)
    return head | {
        "facts": dict(facts),
        "entries": [
            *map(considered_values, for_product(facts, on=on)),
            *map(entry_values, others),
        ],
    }


def _in_words(facts: Mapping[str, str] | None, on: date) -> Iterator[str]:
    yield from _all() if facts is None else _for_product(facts, on)
    yield from (*wrapped(WHO_DECIDES, ""), "")


def _all() -> Iterator[str]:
    for _, group in groupby(listing(), key=lambda entry: entry.source.id):
        entries = list(group)
        source = entries[0].source
        head = (
            f"{source.publisher}, {source.title}, {source.edition} "
            f"({source.standing}, {source.jurisdiction})"
        )
        yield from wrapped(head, "")
        for entry in entries:
            yield from _entry(entry)
        yield ""


def _for_product(facts: Mapping[str, str], on: date) -> Iterator[str]:
    found = for_product(facts, on=on)
    parts: tuple[tuple[str, Iterable[Considered]], ...] = (
        ("Applies and governs", found.applies),
        ("May apply: facts are missing", found.may_apply),
        ("For comparison: does not govern here", found.comparison),
        ("Does not apply", found.does_not_apply),
    )
    for title, several in parts:
        lines = [line for one in several for line in _considered(one)]
        yield from (title, *(lines or ["  none"]), "")
    yield from (*wrapped(NOT_CHOSEN, ""), "")


def _considered(one: Considered) -> Iterator[str]:
    yield from _entry(one.entry)
    yield from wrapped(one.why, "    ")
    for name in one.missing:
        yield from wrapped(f"missing: {name}: {FACTS[name].question}", "    ")


def _entry(entry: Entry) -> Iterator[str]:
    yield from wrapped(f"{entry.words} [{entry.kind} {entry.id}]", "  ")
    for words in _figures(entry):
        deeper = " " * (len(words) - len(words.lstrip()))
        yield from wrapped(words.lstrip(), f"    {deeper}")
    yield from wrapped(
        f"{entry.source.cite()} ({entry.basis}, checked {entry.checked})", "    "
    )


def _figures(entry: Entry) -> Iterator[str]:
    if entry.compared is not None:
        yield from entry.compared.lines()
    if entry.figures:
        yield " = ".join(entry.figures)
    if isinstance(entry.held, Table):
        yield from _rows(entry.held)


def _rows(table: Table) -> Iterator[str]:
    for row in table.rows:
        told = (
            f"{column.title} {words}"
            for column in table.columns
            if (words := cell_words(row[column.name]))
        )
        yield "; ".join(told)
