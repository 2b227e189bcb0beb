"""Reads: the records beside the batches, what of them is due, and how long they are kept."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import CharField, Count, Max, QuerySet, Value

from batches.lookups.conditions import conditions_asked
from batches.lookups.now import RunningBatch
from batches.models import (
    Complaint,
    ConditionTiming,
    FollowUp,
    GaugeCheck,
    HiddenCondition,
    LotHandling,
    LotOrigin,
    MaintenanceRecord,
    Premises,
    Producer,
    Recall,
    ReceivingCheck,
    SampleTest,
    SanitationRound,
    SupplierDocument,
    TrainingRecord,
    Visit,
    WorkChange,
)
from batches.models.logbook import LogEntry
from safety.limits import figure

DOCUMENT_NEAR = timedelta(days=30)  # own figure: how long before a day it is shown
KEEP_REFRIGERATED = "us-cfr.21-123.keep-refrigerated"
NOT_PRESERVED = {"hot-smoked", "cold-smoked", "raw"}
KEEP_STUDIES = "us-cfr.21-123.keep-studies"
KEEP_OTHER = "us-cfr.21-123.keep-frozen"

MODELS: dict[str, type[LogEntry]] = {
    "sanitation": SanitationRound,
    "receiving": ReceivingCheck,
    "origins": LotOrigin,
    "raw-fish": LotHandling,
    "training": TrainingRecord,
    "complaints": Complaint,
    "visits": Visit,
    "documents": SupplierDocument,
    "maintenance": MaintenanceRecord,
    "follow-ups": FollowUp,
    "tests": SampleTest,
    "gauges": GaugeCheck,
    "changes": WorkChange,
    "recalls": Recall,
    "conditions": HiddenCondition,
    "timings": ConditionTiming,
}
# The column with the day on which something is due again, and what it is due for.
DUE: dict[str, tuple[str, tuple[str, ...]]] = {
    "training": ("again_by", ("person", "course")),
    "documents": ("valid_until", ("supplier", "what")),
    "maintenance": ("again_by", ("equipment",)),
    "gauges": ("again_by", ("gauge",)),
}
DEED = {
    "training": "train again",
    "documents": "runs out",
    "maintenance": "due again",
    "gauges": "check again",
}


@dataclass(frozen=True, slots=True)
class DueEntry:
    """Something of the logbook that needs somebody, since or by a day."""

    kind: str
    row: Any
    what: str
    due_on: date | None


@dataclass(frozen=True, slots=True)
class SanitationToday:
    """The rounds of one place on one day of work: which were made, which are open."""

    premises: Premises
    made: tuple[SanitationRound, ...]
    open: tuple[str, ...]

    @property
    def open_words(self) -> str:
        """Return the open rounds by their names."""
        labels = dict(SanitationRound.Moment.choices)
        return ", ".join(str(labels[each]).lower() for each in self.open)


def entries_of(producer: Producer, kind: str) -> QuerySet[Any]:
    """Return every entry of a kind, corrected ones too, newest first."""
    related = {
        "receiving": ("lot",),
        "origins": ("lot",),
        "raw-fish": ("lot",),
        "complaints": ("batch",),
        "follow-ups": ("complaint", "visit"),
        "changes": ("product",),
        "recalls": ("batch",),
    }
    found = (
        MODELS[kind]
        .objects.filter(producer=producer)
        .select_related("premises", "by", *related.get(kind, ()))
        .order_by("-occurred_at", "-pk")
    )
    return found.prefetch_related("answers") if kind == "sanitation" else found


def entry_of(producer: Producer, kind: str, pk: int) -> Any:
    """Return one entry; one of another producer does not exist."""
    return entries_of(producer, kind).get(pk=pk)


def entry_called(producer: Producer, kind: str, entry_id: Any) -> Any:
    """Return the entry that a form made when it was sent before; None if it is new."""
    return entries_of(producer, kind).filter(entry_id=entry_id).first()


def followups_of(producer: Producer) -> dict[tuple[str, int], list[FollowUp]]:
    """Return what was done since, by the kind and key of what it follows."""
    found: dict[tuple[str, int], list[FollowUp]] = {}
    for row in FollowUp.objects.current().filter(producer=producer).order_by("pk"):
        key = (
            ("complaints", row.complaint_id)
            if row.complaint_id
            else ("visits", row.visit_id)
        )
        found.setdefault(key, []).append(row)
    return found


def versions(row: LogEntry) -> list[int]:
    """Return the keys of an entry and of every version that it corrects."""
    keys = [row.pk]
    while row.corrects_id:
        keys.append(row.corrects_id)
        row = row.corrects
    return keys


def is_open(
    kind: str, row: Any, followups: dict[tuple[str, int], list[FollowUp]]
) -> bool:
    """Say whether a complaint or a visit waits for somebody.

    A complaint does until it is closed; a visit only where something was promised or an
    answer is due.
    """
    done = sorted(
        (each for key in versions(row) for each in followups.get((kind, key), [])),
        key=lambda each: each.pk,
    )
    if done:
        return done[-1].state == FollowUp.State.OPEN
    return kind == "complaints" or bool(row.promised or row.answer_by)


def last_made(producer: Producer) -> dict[str, datetime | None]:
    """Return when each kind was last written about."""
    return {
        kind: model.objects
        .current()
        .filter(producer=producer)
        .aggregate(last=Max("occurred_at"))["last"]
        for kind, model in MODELS.items()
    }


def next_due(producer: Producer, kind: str) -> DueEntry | None:
    """Return what of a kind is due first, however far ahead."""
    dated = [each for each in _dated(producer, kind) if each.due_on]
    return min(dated, key=lambda each: each.due_on or date.max, default=None)


def due_entries(producer: Producer, *, today: date) -> list[DueEntry]:
    """Return what needs somebody: run out or nearly, and what is still open."""
    near = today + DOCUMENT_NEAR
    kinds = _written(producer)
    found = [
        each
        for kind in DUE
        if kind in kinds
        for each in _dated(producer, kind)
        if each.due_on and each.due_on <= near
    ]
    if kinds & {"complaints", "visits"}:
        found += open_entries(producer)
    return sorted(found, key=lambda each: (each.due_on or date.min, each.kind))


def _written(producer: Producer) -> set[str]:
    """Return the kinds that may be due and of which anything was written, in one query."""
    first, *others = (
        MODELS[kind]
        ._default_manager.filter(producer=producer)
        .order_by()
        .values_list(Value(kind, output_field=CharField()))
        .distinct()
        for kind in (*DUE, "complaints", "visits")
    )
    return {kind for (kind,) in first.union(*others, all=True)}


def open_entries(producer: Producer) -> list[DueEntry]:
    """Return complaints and visits that wait for somebody."""
    rows = [
        (kind, row)
        for kind in ("complaints", "visits")
        for row in MODELS[kind]
        .objects.current()
        .filter(producer=producer)
        .select_related("corrects", "premises")
    ]
    followups = followups_of(producer) if rows else {}
    found = []
    for kind, row in rows:
        if is_open(kind, row, followups):
            what = "complaint open" if kind == "complaints" else "answer the visit"
            found.append(DueEntry(kind, row, what, getattr(row, "answer_by", None)))
    return found


def _dated(producer: Producer, kind: str) -> list[DueEntry]:
    """Return the last entry for each thing that is dated; an older one is done with."""
    if kind not in DUE:
        return [each for each in open_entries(producer) if each.kind == kind]
    column, same = DUE[kind]
    last: dict[tuple[str, ...], Any] = {}
    rows = MODELS[kind].objects.current().filter(producer=producer)
    for row in rows.order_by("occurred_at", "pk"):
        last[tuple(getattr(row, name).casefold() for name in same)] = row
    return [
        DueEntry(kind, row, DEED[kind], getattr(row, column)) for row in last.values()
    ]


def hidden_conditions(premises: Premises) -> dict[str, HiddenCondition]:
    """Return the conditions that do not exist at these premises, by their name."""
    rows = HiddenCondition.objects.current().filter(premises=premises)
    return {row.condition: row for row in rows}


def rounds_on(premises: Premises, day: date) -> list[SanitationRound]:
    """Return the rounds of one day at the premises, first made first."""
    start = datetime(day.year, day.month, day.day, tzinfo=premises.zone)
    after = day + timedelta(days=1)
    end = datetime(after.year, after.month, after.day, tzinfo=premises.zone)
    return list(
        SanitationRound.objects
        .current()
        .filter(premises=premises, occurred_at__gte=start, occurred_at__lt=end)
        .annotate(answered=Count("answers"))
        .order_by("occurred_at", "pk")
    )


def sanitation_today(
    running: tuple[RunningBatch, ...], *, now: datetime
) -> list[SanitationToday]:
    """Return, for each place where a batch runs, which rounds of today are open."""
    places = {each.batch.premises_id: each.batch.premises for each in running}
    found = []
    for premises in places.values():
        today = now.astimezone(premises.zone).date()
        made = tuple(rounds_on(premises, today))
        done = {each.moment for each in made}
        asked = conditions_asked(premises).rounds(today)
        left = tuple(each for each in asked if each not in done)
        if left:
            found.append(SanitationToday(premises, made, left))
    return found


def years_kept(producer: Producer) -> tuple[int, str]:
    """Return for how many years these records are kept at least, and where it says so.

    Refrigerated food alone asks for less. A dried or pickled product may count as
    preserved, and one of which nobody said how it is stored may be frozen: both ask for
    more here.
    """
    made = set(producer.products.values_list("storage", "process"))
    is_short = bool(made) and all(
        storage == "refrigerated" and process in NOT_PRESERVED
        for storage, process in made
    )
    name = KEEP_REFRIGERATED if is_short else KEEP_OTHER
    return _kept(name)


def studies_kept() -> tuple[int, str]:
    """Return for how many years a study is kept after it last applied, and the source."""
    return _kept(KEEP_STUDIES)


def _kept(name: str) -> tuple[int, str]:
    kept = figure(name)
    source = kept.source
    cited = f"{source.publisher}, {source.title}, {source.section}; {source.edition}"
    return int(kept.value), cited


def keep_until(made_at: datetime, years: int) -> date:
    """Return the last day on which a record of that day is still to be kept."""
    made_on = made_at.date()
    try:
        return made_on.replace(year=made_on.year + years)
    except ValueError:  # the 29th of February: a day longer rather than shorter
        return (made_on + timedelta(days=1)).replace(year=made_on.year + years)
