"""The entries of the logbook in words: a row of cells each, for lists and for paper."""

from collections.abc import Callable, Iterable
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

from batches.logbook import CONDITION_BY_ID, CONDITIONS
from batches.models import SanitationAnswer, SanitationRound
from batches.models.logbook import LogEntry
from batches.templatetags.measures import moment, written
from safety.science.balance import accounted_pct

SATISFACTORY, BAD, NOT_LOOKED_AT, NOT_ASKED = "S", "U", "–", ""
Cell = Callable[[Any], str]


def in_words(moments: Iterable[str]) -> str:
    """Return rounds of a day by their names, as "before work, once a month"."""
    labels = dict(SanitationRound.Moment.choices)
    return ", ".join(str(labels[each]).lower() for each in moments)


def _day(value: date | None) -> str:
    return "" if value is None else f"{value.day} {value:%b %Y}"


def _joined(*parts: str) -> str:
    return "; ".join(part for part in parts if part)


def _found(condition: str) -> Cell:
    def cell(row: SanitationRound) -> str:
        for answer in row.answers.all():
            if answer.condition == condition:
                good = answer.found == SanitationAnswer.Found.SATISFACTORY
                return SATISFACTORY if good else BAD
        return NOT_LOOKED_AT if condition in _asked(row) else NOT_ASKED

    return cell


def _asked(row: SanitationRound) -> Iterable[str]:
    """Return what was to be looked at; of an old row what is asked where nobody said."""
    if row.asked is not None:
        return row.asked
    return [each.id for each in CONDITIONS if row.moment in each.moments]


def _put_right(row: SanitationRound) -> str:
    return _joined(
        *(
            f"{CONDITION_BY_ID[answer.condition].title}: {answer.put_right}"
            for answer in row.answers.all()
            if answer.put_right
        )
    )


def _sanitizer(row: SanitationRound) -> str:
    strength = "" if row.sanitizer_ppm is None else written(row.sanitizer_ppm, "ppm")
    return f"{row.sanitizer} {strength}".strip()


def _temperature(row: Any) -> str:
    if row.temperature is None:
        return "not measured"
    return written(row.temperature, row.unit)


def _lot_code(row: Any) -> str:
    given = "given here" if row.is_own_code else row.code_source
    return _joined(row.code or "none", given)


def _harvest(row: Any) -> str:
    days = list(dict.fromkeys(map(_day, (row.first_caught_on, row.last_caught_on))))
    caught = " to ".join(day for day in days if day)
    landed = row.landed_on and f"landed {_day(row.landed_on)}"
    return _joined(caught, row.caught_where, row.vessel, landed or "")


def _file(row: Any) -> str:
    return f"{row.name} ({row.sha256[:12]}…)" if row.sha256 else "on paper"


def _plan(row: Any) -> str:
    return row.get_about_plan_display() if row.about_plan else ""


def _matters(row: Any) -> str:
    return _joined(row.get_matters_display(), row.why)


def _found_again(row: Any) -> str:
    """Return how many packages were found again, and the share where all are known."""
    counts = (
        (row.in_stock, "in stock"),
        (row.delivered, "delivered"),
        (row.used_up, "used up"),
    )
    known = [f"{count} {where}" for count, where in counts if count is not None]
    if row.made is None or not known:
        return "not counted"
    said = f"{' + '.join(known)} of {row.made} made"
    if len(known) < len(counts) or not row.made:
        return said
    share = accounted_pct(
        made=row.made,
        on_hand=row.in_stock,
        shipped_to_named=row.delivered,
        waste=row.used_up,
    )
    return f"{said}: {share:.0f} %"


COLUMNS: dict[str, tuple[tuple[str, Cell], ...]] = {
    "sanitation": (
        ("Round", str),
        *(
            (f"{number} {each.title}", _found(each.id))
            for number, each in enumerate(CONDITIONS, start=1)
        ),
        ("Sanitizer", _sanitizer),
        ("Not right, and what was done", _put_right),
    ),
    "receiving": (
        ("Lot", lambda row: f"{row.lot.code}, {row.lot.food.replace('-', ' ')}"),
        ("Supplier", lambda row: row.lot.supplier),
        ("Condition", lambda row: row.get_condition_display()),
        ("Temperature", _temperature),
        ("Papers", lambda row: row.papers),
        ("Decision", lambda row: row.get_decision_display()),
    ),
    "origins": (
        ("Lot", lambda row: f"{row.lot.code}, {row.lot.supplier}"),
        ("Came", lambda row: row.get_way_display()),
        ("Traceability lot code", _lot_code),
        ("Fish", lambda row: _joined(row.market_name, row.latin_name, row.description)),
        ("Source", lambda row: _joined(row.source_place, row.source_phone)),
        ("Harvest", _harvest),
        ("Farm", lambda row: _joined(row.farm_place, row.farm_phone, row.pond)),
        ("Document", lambda row: f"{row.document} {row.document_number}".strip()),
        ("Brought by", lambda row: row.carrier),
    ),
    "raw-fish": (
        ("Lot", lambda row: f"{row.lot.code}, {row.lot.food.replace('-', ' ')}"),
        ("What", lambda row: row.get_kind_display()),
        ("Weight", lambda row: "" if row.mass_kg is None else f"{row.mass_kg:f} kg"),
        ("Where", lambda row: row.place),
        (
            "Temperature inside",
            lambda row: "" if row.temperature is None else _temperature(row),
        ),
    ),
    "training": (
        ("Who", lambda row: row.person),
        ("What", lambda row: row.course),
        ("Certificate", lambda row: row.certificate),
        ("May do", lambda row: row.may_do),
        ("Again by", lambda row: _day(row.again_by)),
    ),
    "complaints": (
        ("Food", lambda row: row.what_it_was),
        ("Batch", lambda row: row.batch.code if row.batch else "not known"),
        ("Said", lambda row: row.said),
        ("By whom", lambda row: _joined(row.said_by, row.contact)),
        ("Anybody ill", lambda row: _joined(row.get_ill_display(), row.illness)),
    ),
    "visits": (
        ("Office", lambda row: row.agency),
        ("Who came", lambda row: row.people),
        ("What for", lambda row: row.purpose),
        ("Copied", lambda row: row.copied),
        ("Observed", lambda row: row.observed),
        ("Promised", lambda row: row.promised),
        ("Answer by", lambda row: _day(row.answer_by)),
    ),
    "documents": (
        ("Supplier", lambda row: row.supplier),
        ("Paper", lambda row: row.what),
        ("Number", lambda row: row.number),
        ("Valid until", lambda row: _day(row.valid_until) or "no day given"),
        ("File", _file),
    ),
    "maintenance": (
        ("Equipment", lambda row: row.equipment),
        ("Done", lambda row: row.did),
        ("Done by", lambda row: row.done_by),
        ("Again by", lambda row: _day(row.again_by)),
    ),
    "tests": (
        ("Sample", lambda row: row.get_of_display()),
        ("Where", lambda row: _joined(row.place, row.zone and f"zone {row.zone}")),
        ("Looked for", lambda row: row.sought),
        ("Samples", lambda row: str(row.samples)),
        ("Result", lambda row: row.get_result_display()),
        ("What was done", lambda row: row.put_right),
        ("Laboratory", lambda row: _joined(row.laboratory, row.number)),
    ),
    "gauges": (
        ("What", lambda row: f"{row.get_kind_display()}, {row.gauge}"),
        ("Held against", lambda row: row.standard),
        ("It should show", lambda row: f"{row.true:f} {row.unit}"),
        ("It showed", lambda row: f"{row.shown:f} {row.unit}"),
        ("Near enough", lambda row: "yes" if row.is_right else "NO"),
        ("What was done", lambda row: row.put_right),
        ("Again by", lambda row: _day(row.again_by)),
    ),
    "changes": (
        ("About", lambda row: row.get_subject_display()),
        ("What changed", lambda row: row.what),
        ("Product", lambda row: row.product.name if row.product else "all"),
        ("Could matter", _matters),
    ),
    "recalls": (
        ("What", lambda row: row.get_kind_display()),
        ("Food", lambda row: _joined(row.batch.code if row.batch else "", row.codes)),
        ("Why", lambda row: row.why),
        ("Ended", lambda row: moment(row.ended_at, row.premises.zone)),
        ("Found", _found_again),
        ("Told", lambda row: row.told),
        ("Missing or wrong", lambda row: row.shortfalls),
        ("Changed since", lambda row: row.put_right),
    ),
    "follow-ups": (
        ("Done", lambda row: row.did),
        ("About the plan", _plan),
        ("State", lambda row: row.get_state_display()),
    ),
    "conditions": (
        ("Condition", lambda row: CONDITION_BY_ID[row.condition].title),
        ("Not here because", lambda row: row.why),
    ),
    "timings": (
        ("Condition", lambda row: CONDITION_BY_ID[row.condition].title),
        ("Looked at", lambda row: in_words(row.moments)),
        ("Why", lambda row: row.why),
    ),
}


def titles(kind: str) -> tuple[str, ...]:
    """Return the columns of a kind: when, what, by whom."""
    return ("When", *(title for title, _ in COLUMNS[kind]), "Note", "Signed")


def cells(kind: str, row: LogEntry, replaced: Iterable[int]) -> tuple[str, ...]:
    """Return one entry as texts; ``replaced`` are the keys of corrected entries."""
    zone = row.premises.zone
    return (
        moment(row.occurred_at, zone),
        *(cell(row) for _, cell in COLUMNS[kind]),
        _joined(row.note, *fate(row, replaced)),
        _signed(row, zone),
    )


def fate(row: LogEntry, replaced: Iterable[int]) -> list[str]:
    """Return in words what became of an entry, and what it did to another."""
    said = []
    if row.withdrawn:
        said.append(f"taken back: {row.reason}")
    elif row.corrects_id:
        said.append(f"correction: {row.reason}")
    if row.pk in set(replaced):
        said.append("no longer holds: corrected later")
    return said


def summary(row: SanitationRound) -> list[tuple[str, str]]:
    """Return a round in few words, for a phone."""
    answers = {each.condition: each for each in row.answers.all()}
    good = [
        each
        for each in answers.values()
        if each.found == SanitationAnswer.Found.SATISFACTORY
    ]
    left = [
        each.title
        for each in CONDITIONS
        if each.id in _asked(row) and each.id not in answers
    ]
    return [
        ("Satisfactory", str(len(good))),
        ("Not right, and what was done", _put_right(row)),
        ("Not looked at", ", ".join(left)),
        ("Sanitizer", _sanitizer(row)),
    ]


def _signed(row: LogEntry, zone: ZoneInfo) -> str:
    late = f", written down {moment(row.recorded_at, zone)}" if row.is_late else ""
    return f"{row.by_name} ({row.by.initials}){late}"
