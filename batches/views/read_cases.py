"""Deviations as their reviewer reads them: what was missed beside what was done about it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from batches.models import Deviation
from batches.timeline import (
    Line,
    amount_words,
    answer_line,
    decision_line,
    hold_line,
    taken_back_line,
)
from batches.views.clerk import Clerk, Written, in_order

KnownRows = Mapping[str, tuple[Any, ...]]


@dataclass(frozen=True, slots=True)
class CaseRead:
    """One deviation, and everything that was written about it."""

    deviation: Deviation
    rows: tuple[Written, ...]


def cases_of(rows: KnownRows, clerk: Clerk, prefix: str = "") -> tuple[CaseRead, ...]:
    """Return the deviations that are read, and those that other rows belong to.

    ``prefix`` stands before the names of the kinds in ``rows``.
    """
    told = list(_told(rows, clerk, prefix))
    found = {deviation.pk: deviation for deviation, _ in told}
    return tuple(
        CaseRead(deviation, in_order(words for owner, words in told if owner.pk == key))
        for key, deviation in sorted(found.items())
    )


def rest_of(rows: KnownRows, clerk: Clerk) -> tuple[Written, ...]:
    """Return the signed releases of a batch in words."""
    return in_order(
        clerk.told(
            "release",
            row,
            " ".join([
                f"Released by {row.title}.",
                *(f"Known then: {caution}" for caution in row.cautions),
            ]),
            row.signed_at,
        )
        for row in rows["release"]
    )


def _told(
    rows: KnownRows, clerk: Clerk, prefix: str
) -> Iterator[tuple[Deviation, Written]]:
    for name in KINDS:
        kind = f"{prefix}{name}"
        for row in rows.get(kind, ()):
            deviation, line = KINDS[name](row)
            yield deviation, clerk.told(kind, row, _words(row, line), line.at)


def _words(row: Any, line: Line) -> str:
    amount = f" ({line.amount})" if line.amount else ""
    text = f": {line.text}" if line.text else ""
    who = "" if line.who == row.by_name else f" By {line.who}."
    return f"{line.title}{amount}{text}{who}"


def _opened(row: Any) -> tuple[Deviation, Line]:
    words = f"{row.observed_words} Found: {row.detected_how}."
    return row, Line(row.detected_at, row.recorded_at, "Opened", words, row.by_name)


def _photo(row: Any) -> tuple[Deviation, Line]:
    line = Line(row.recorded_at, row.recorded_at, "Photo", row.name, row.by_name)
    return row.response.deviation, line


def _lifted(row: Any) -> tuple[Deviation, Line]:
    line = Line(row.recorded_at, row.recorded_at, "Hold lifted", "", row.by_name)
    return row.hold.deviation, line


def _worked_again(row: Any) -> tuple[Deviation, Line]:
    line = Line(
        row.to_batch.started_at,
        row.recorded_at,
        "Worked again",
        f"As batch {row.to_batch.code}.",
        row.by_name,
        amount_words(row),
    )
    return row.disposition.deviation, line


KINDS = {
    "deviation": _opened,
    "hold": lambda row: (row.deviation, hold_line(row)),
    "response": lambda row: (row.deviation, answer_line(row)),
    "photo": _photo,
    "disposition": lambda row: (row.deviation, decision_line(row)),
    "taking-back": lambda row: (row.disposition.deviation, taken_back_line(row)),
    "lifting": _lifted,
    "rework": _worked_again,
}
