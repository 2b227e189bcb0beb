"""The trail walked from its first event, and every row compared with it; writes nothing.

What cannot be seen from inside: an older copy of everything, trail and rows together. It
lacks the head that was printed on a document meanwhile; that is what ``head`` is for.
"""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from django.db import models

from batches.acts import acts, rows_of, trailed_models
from batches.canonical import START_OF_TRAIL, link, sha256_of, told_by
from batches.comparing_rows import check_rows
from batches.models import Producer, TrailEvent

Progress = Callable[[int, int], None]
CLOCK_STEP = timedelta(minutes=2)  # own figure: clocks of phones and server differ
CHUNK = 2000
SHORTEST_HEAD = 16  # own figure: digits of a printed hash that still name one event


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that does not fit: which kind, where it is, what is wrong."""

    kind: str
    where: str
    what: str

    def __str__(self) -> str:
        return f"{self.where}: {self.what} {REMEDIES[self.kind]}"


REMEDIES = {
    "event": (
        "Everything from here on is in doubt: restore the last backup that verifies, "
        "and compare it with this record."
    ),
    "row": (
        "Compare it with the last backup that verifies; what is right now is recorded "
        "as a correction, by somebody who knows."
    ),
    "head": (
        "This is an older or another copy of the record. Keep it, and look for the "
        "copy that holds that event."
    ),
    "clock": "Find out who set the clock, and why; write it down as a remark.",
}


@dataclass(slots=True)
class Report:
    """What the walk through one producer's trail came to."""

    producer: Producer
    events: int = 0
    rows: int = 0
    head_number: int = 0
    head_sha256: str = START_OF_TRAIL
    faults: list[Fault] = field(default_factory=list)

    @property
    def is_intact(self) -> bool:
        """Say whether nothing was found; a clock set back is something found."""
        return not self.faults


@dataclass(slots=True)
class Walk:
    """What is remembered on the way: where the trail stands, what each row said last."""

    report: Report
    expected_heads: dict[int, list[tuple[str, str]]]
    latest_at: datetime | None = None
    last: dict[tuple[str, str], tuple[int, str]] = field(default_factory=dict)

    def fault(self, kind: str, where: str, what: str) -> None:
        self.report.faults.append(Fault(kind, where, what))


def verify(producer: Producer, *, progress: Progress | None = None) -> Report:
    """Walk a producer's trail, then compare every row with its last event."""
    report = Report(producer)
    walk = Walk(report, expected_heads=_heads_in_signatures(producer))
    total = producer.trail.count()
    known = frozenset(acts())
    for event in _events(producer):
        _check_event(walk, event, known)
        if progress is not None:
            progress(report.events, total)
    for number, signatures in sorted(walk.expected_heads.items()):
        for signature, _ in signatures:
            walk.fault(
                "head",
                signature,
                f"it was signed over event {number}, but the trail ends at event "
                f"{report.head_number}: its end was cut off.",
            )
    check_rows(walk, producer, progress)
    return report


def lost_producers() -> list[Fault]:
    """Name the trails whose producer is gone."""
    there = Producer.objects.values("pk")
    gone = TrailEvent.objects.exclude(producer_id__in=there).order_by()
    return [
        Fault("row", f"Producer {key}", "its trail is there, but it is gone itself.")
        for key in gone.values_list("producer_id", flat=True).distinct()
    ]


def find_head(written: str) -> TrailEvent | Fault:
    """Return the event whose hash a document prints, or say that no trail has it."""
    digits = re.sub(r"[\s-]", "", written).lower()
    if not re.fullmatch(rf"[0-9a-f]{{{SHORTEST_HEAD},64}}", digits):
        raise ValueError(
            f"--head {written!r} is not a hash as documents print it. Type at least "
            f"its first {SHORTEST_HEAD} digits, 0-9 and a-f."
        )
    event = TrailEvent.objects.filter(sha256__startswith=digits).first()
    if event is None:
        return Fault("head", f"Event {digits[:SHORTEST_HEAD]}…", "no trail has it.")
    return event


def _events(producer: Producer) -> Iterator[TrailEvent]:
    """Yield the events as they are chained, including any with a number of two."""
    return producer.trail.order_by("number", "pk").iterator(chunk_size=CHUNK)


def _check_event(walk: Walk, event: TrailEvent, known: frozenset[str]) -> None:
    report = walk.report
    where = f"Event {event.number} ({event.act} {event.words!r})"
    _check_link(walk, event, where)
    if event.act not in known:
        walk.fault("event", where, "there is no such act.")
    if walk.latest_at is not None and event.at < walk.latest_at - CLOCK_STEP:
        walk.fault(
            "clock",
            where,
            f"it was entered at {event.at:%Y-%m-%d %H:%M} UTC, after one of "
            f"{walk.latest_at:%Y-%m-%d %H:%M} UTC: the clock was set back.",
        )
    walk.latest_at = event.at  # a clock that was set back is told once
    _check_row_of(walk, event, where)
    report.events += 1
    report.head_number, report.head_sha256 = event.number, event.sha256
    for signature, sha256 in walk.expected_heads.pop(event.number, ()):
        if sha256 != event.sha256:
            walk.fault(
                "head",
                signature,
                f"it was signed over another event {event.number} than this trail has.",
            )


def _check_link(walk: Walk, event: TrailEvent, where: str) -> None:
    report = walk.report
    if event.number != report.head_number + 1:
        walk.fault(
            "event",
            where,
            f"it follows event {report.head_number}: events are missing or out of "
            "order.",
        )
    if event.previous_sha256 != report.head_sha256:
        walk.fault(
            "event",
            where,
            f"it does not follow event {report.head_number} as that is now: one of the "
            "two was changed, or events were removed, inserted or reordered.",
        )
    if event.sha256 != link(event.previous_sha256, told_by(event)):
        walk.fault("event", where, "it does not say what it said when it was written.")


def _check_row_of(walk: Walk, event: TrailEvent, where: str) -> None:
    """Check that an event goes on from what the trail knew of its row."""
    if not event.before and not event.after:
        return
    subject = (event.subject, event.subject_key)
    _, before = walk.last.get(subject, (0, ""))
    if before != (sha256_of(event.before) if event.before else ""):
        walk.fault(
            "event", where, "what it says was there before is not what was there."
        )
    walk.last[subject] = (event.number, sha256_of(event.after))


def _heads_in_signatures(producer: Producer) -> dict[int, list[tuple[str, str]]]:
    """Return the heads that signatures keep: by number, who signed, and the hash."""
    heads: dict[int, list[tuple[str, str]]] = {}
    for model in trailed_models():
        if not _keeps_head(model):
            continue
        signed = rows_of(model, producer).exclude(trail_head_sha256="")
        for row in signed:
            name = f"{model._meta.verbose_name.capitalize()} {row}"
            heads.setdefault(row.trail_head_number, []).append((
                name,
                row.trail_head_sha256,
            ))
    return heads


def _keeps_head(model: type[models.Model]) -> bool:
    return any(field.name == "trail_head_sha256" for field in model._meta.fields)
