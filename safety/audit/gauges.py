"""Checks of the instruments: named, checked in time, drifting, or checked too neatly."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from itertools import groupby, pairwise

from safety.audit import words
from safety.audit.found import CannotSay, Found
from safety.audit.load import Check
from safety.audit.logged import instant
from safety.audit.record import Record
from safety.judge.evidence import Instrument, decimals_of, offset_s_of, us_of
from safety.judge.instruments import History
from safety.quantities import QUANTITIES
from safety.units import convert

_NONE_USED = "no instrument is named in the record"


@dataclass(frozen=True, slots=True)
class _Use:
    """An instrument with the first and the last instant at which it was read."""

    instrument: Instrument
    first: datetime
    last: datetime


def _uses(record: Record) -> list[_Use]:
    spans: dict[str, list[datetime]] = {}
    for each in record.typed:
        if each.instrument and each.observed_at is not None:
            spans.setdefault(each.instrument, []).append(each.observed_at)
    for trace in record.traces:
        if trace.instrument and len(trace.at_us):
            ends = (int(trace.at_us.min()), int(trace.at_us.max()))
            spans.setdefault(trace.instrument, []).extend(
                instant(end, record.now.tzinfo) for end in ends
            )
    known = {each.id: each for each in record.instruments}
    return [
        _Use(known[name], min(ats), max(ats))
        for name, ats in sorted(spans.items())
        if name in known
    ]


def _day(at: datetime) -> str:
    return f"{at:%Y-%m-%d}"


def instrument_unnamed(record: Record, check: Check) -> list[Found]:
    """Find typed figures of which nobody knows what measured them."""
    bare = [
        each
        for each in record.typed
        if not each.instrument
        and each.quantity in QUANTITIES
        and QUANTITIES[each.quantity].instrument is not None
    ]
    if not bare:
        return []
    return [
        check.found(
            f"{words.counted(len(bare), 'reading does', 'readings do')} not say which "
            "instrument it was.",
            entries=words.entries(bare),
            at=bare[0].observed_at,
        )
    ]


def instrument_out_of_date(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find instruments that were read without a good check that still served."""
    uses = _uses(record)
    if not uses:
        return CannotSay(_NONE_USED)
    found: list[Found] = []
    for use in uses:
        history = History(use.instrument)
        why = _out_of_date(history, use)
        if why:
            found.append(
                check.found(
                    f"{use.instrument.id} was read from {words.instant(use.first)}: {why}.",
                    at=use.first,
                )
            )
    return found


def _out_of_date(history: History, use: _Use) -> str:
    """Return what is wrong with the check that served a use; empty if nothing is."""
    for at in (use.first, use.last):
        trust = history.trust(us_of(at), offset_s_of(at), history.unit)
        if trust.last_accepted is None:
            return "no check of it is on record before that"
        if trust.last_too_old:
            return (
                f"its last check was older than {history.every_days} days on {_day(at)}"
            )
        if not trust.last_accepted:
            return f"its last check before {words.instant(at)} had failed"
    return ""


def instrument_failed_later(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find instruments whose next check after these readings failed."""
    uses = _uses(record)
    if not uses:
        return CannotSay(_NONE_USED)
    found: list[Found] = []
    for use in uses:
        history = History(use.instrument)
        trust = history.trust(us_of(use.last), offset_s_of(use.last), history.unit)
        if trust.next_accepted is False:
            found.append(
                check.found(
                    f"{use.instrument.id} was read until {words.instant(use.last)}; its "
                    "next check failed, so every reading since the last good check is "
                    "in doubt.",
                    at=use.first,
                )
            )
    return found


# ------------------------------------------------------------ drift


def _errors(use: _Use) -> tuple[History, list[tuple[datetime, Fraction]]]:
    """Return the errors before the last use, one a day, since the last adjustment."""
    history = History(use.instrument)
    checks = sorted(use.instrument.checks, key=lambda each: us_of(each.at))
    before = [each for each in checks if each.at <= use.last]
    adjusted = [place for place, each in enumerate(before) if each.adjusted]
    if adjusted:
        before = before[adjusted[-1] + 1 :]
    errors = []
    for _, day in groupby(before, key=lambda each: each.at.date()):
        group = list(day)
        off = [
            convert(each.shown.value, each.shown.unit, history.unit)
            - convert(each.true.value, each.true.unit, history.unit)
            for each in group
        ]
        errors.append((group[-1].at, max(off, key=abs)))
    return history, errors


def _drifts(
    record: Record,
) -> Iterator[tuple[_Use, History, Sequence[tuple[datetime, Fraction]]]]:
    for use in _uses(record):
        history, errors = _errors(use)
        if errors and abs(errors[-1][1]) <= history.tolerance:
            yield use, history, errors


def _said(errors: Sequence[tuple[datetime, Fraction]]) -> tuple[str, ...]:
    return tuple(f"{words.instant(at)} off by {float(off):+.2f}" for at, off in errors)


def drift_past_half(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find instruments that are off by more than half of what they may be."""
    if not _uses(record):
        return CannotSay(_NONE_USED)
    found: list[Found] = []
    for use, history, errors in _drifts(record):
        at, off = errors[-1]
        if abs(off) > history.tolerance * Fraction(check["share"]):
            found.append(
                check.found(
                    f"{use.instrument.id} was off by {float(off):+.2f} on {_day(at)}, "
                    f"more than half of the {float(history.tolerance):g} it may be.",
                    entries=_said(errors[-1:]),
                    at=at,
                )
            )
    return found


def drift_in_a_row(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find instruments whose error grew the same way several checks in a row."""
    if not _uses(record):
        return CannotSay(_NONE_USED)
    more = int(check["in_a_row"])
    found: list[Found] = []
    for use, _, errors in _drifts(record):
        last = errors[-more - 1 :]
        moves = [after[1] - before[1] for before, after in pairwise(last)]
        is_one_way = all(m > 0 for m in moves) or all(m < 0 for m in moves)
        if len(moves) == more and is_one_way:
            found.append(
                check.found(
                    f"{use.instrument.id}: its error moved the same way at {more} checks "
                    f"in a row, up to {_day(last[-1][0])}.",
                    entries=_said(last),
                    at=last[-1][0],
                )
            )
    return found


def drift_on_average(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find instruments whose weighted average error passed half of the tolerance."""
    if not _uses(record):
        return CannotSay(_NONE_USED)
    weight = Fraction(check["weight"])
    found: list[Found] = []
    for use, history, errors in _drifts(record):
        average = Fraction(0)
        for _, off in errors:
            average = weight * off + (1 - weight) * average
        if abs(average) > history.tolerance * Fraction(check["share"]):
            found.append(
                check.found(
                    f"{use.instrument.id}: the average of its errors, the newest "
                    f"weighing most, is {float(average):+.2f} on {_day(errors[-1][0])}.",
                    entries=_said(errors),
                    at=errors[-1][0],
                )
            )
    return found


def too_perfect(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find instruments that show the ice point exactly, time after time."""
    if not _uses(record):
        return CannotSay(_NONE_USED)
    many = int(check["in_a_row"])
    found: list[Found] = []
    for use in _uses(record):
        ice = [
            each
            for each in sorted(use.instrument.checks, key=lambda each: us_of(each.at))
            if each.method == "ice-point" and each.at <= record.now
        ]
        last = ice[-many:]
        is_exact = all(
            each.shown.value == each.true.value and decimals_of(each.shown.value) > 0
            for each in last
        )
        if len(last) == many and is_exact:
            found.append(
                check.found(
                    f"{use.instrument.id} showed exactly {last[-1].shown.value} at "
                    f"{many} ice-point checks in a row.",
                    entries=tuple(words.instant(each.at) for each in last),
                    at=last[0].at,
                )
            )
    return found
