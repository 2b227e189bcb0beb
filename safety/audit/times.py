"""Checks of when things were seen and when they were written down."""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

from safety.audit import words
from safety.audit.chances import at_least_chance
from safety.audit.found import CannotSay, Found
from safety.audit.load import Check
from safety.audit.record import Entry, Record, RecordedReading
from safety.judge.evidence import Window

_QUARTERS = Decimal(60) / 4  # minutes


def minutes(count: Decimal) -> timedelta:
    """Return a figure of minutes as a length of time."""
    return timedelta(seconds=float(count * 60))


def _delay(entry: Entry) -> timedelta | None:
    """Return how long after its instant an entry was written.

    None for one that claims no instant, and for a correction: it is written when the
    mistake is found, and says why.
    """
    if entry.observed_at is None or entry.corrects is not None:
        return None
    return entry.entered_at - entry.observed_at


def _later(record: Record, over: timedelta, upto: timedelta | None) -> list[Entry]:
    late = []
    for entry in record.written:
        delay = _delay(entry)
        if delay is not None and over < delay and (upto is None or delay <= upto):
            late.append(entry)
    return sorted(late, key=lambda each: each.entered_at)


def _said_late(entry: Entry) -> str:
    delay = entry.entered_at - (entry.observed_at or entry.entered_at)
    return (
        f"{words.entry(entry)}, written {words.instant(entry.entered_at)}, "
        f"{words.length(delay)} later"
    )


def _lateness(check: Check, late: Sequence[Entry], sentence: str) -> list[Found]:
    if not late:
        return []
    return [
        check.found(
            sentence, entries=tuple(map(_said_late, late)), at=late[0].observed_at
        )
    ]


def late_entry(record: Record, check: Check) -> list[Found]:
    """Find what was written so long after its instant that it counts as late."""
    over, upto = minutes(check["late_min"]), check["day_h"] * 60
    late = _later(record, over, minutes(upto))
    return _lateness(
        check,
        late,
        f"{_count(late)} written more than {check['late_min']} min after the instant "
        "claimed.",
    )


def late_by_a_day(record: Record, check: Check) -> list[Found]:
    """Find what was written a day or more after its instant."""
    late = _later(record, minutes(check["day_h"] * 60), None)
    return _lateness(
        check,
        late,
        f"{_count(late)} written more than {check['day_h']} h after the instant "
        "claimed.",
    )


def late_unexplained(record: Record, check: Check) -> list[Found]:
    """Find late entries that neither give a reason nor have a remark beside them."""
    near = minutes(check["beside_min"])
    late = [
        entry
        for entry in _later(record, minutes(check["late_h"] * 60), None)
        if not entry.reason and not _explained(entry, record, near)
    ]
    return _lateness(
        check,
        late,
        f"{_count(late)} written more than {check['late_h']} h late, with no word why.",
    )


def _explained(entry: Entry, record: Record, near: timedelta) -> bool:
    return any(
        each.kind == "remark"
        and each.by == entry.by
        and each.step in {"", entry.step}
        and abs(each.entered_at - entry.entered_at) <= near
        for each in record.entries
    )


def _count(entries: Sequence[Entry]) -> str:
    return words.counted(len(entries), "entry was", "entries were")


def typed_in_bulk(record: Record, check: Check) -> list[Found]:
    """Find entries of one person that lie far apart and were written in one go.

    Remarks are left out: one is written beside late entries to explain them.
    """
    found: list[Found] = []
    for person in sorted({entry.by for entry in record.written}):
        rows = sorted(
            (
                entry
                for entry in record.written
                if entry.by == person
                and entry.kind != "remark"
                and _delay(entry) is not None
            ),
            key=lambda each: each.entered_at,
        )
        found += [
            check.found(
                f"{person or 'Somebody'} wrote {len(group)} entries that claim instants "
                f"{words.length(_spread(group))} apart, all between "
                f"{words.instant(group[0].entered_at)} and "
                f"{words.instant(group[-1].entered_at)}.",
                entries=words.entries(group),
                at=group[0].entered_at,
            )
            for group in _bulks(rows, check)
        ]
    return found


def _bulks(rows: Sequence[Entry], check: Check) -> list[Sequence[Entry]]:
    """Return the longest groups written in one go, none inside another."""
    together = timedelta(seconds=float(check["together_s"]))
    apart, fewest = minutes(check["apart_min"]), int(check["entries"])
    groups: list[Sequence[Entry]] = []
    first = 0
    while first < len(rows):
        last = first
        while (
            last + 1 < len(rows)
            and rows[last + 1].entered_at - rows[first].entered_at <= together
        ):
            last += 1
        group = rows[first : last + 1]
        if len(_distinct(group)) >= fewest and _spread(group) >= apart:
            groups.append(group)
            first = last
        first += 1
    return groups


def _distinct(group: Iterable[Entry]) -> set[datetime]:
    return {entry.observed_at for entry in group if entry.observed_at is not None}


def _spread(group: Iterable[Entry]) -> timedelta:
    instants = _distinct(group)
    return max(instants) - min(instants) if instants else timedelta()


def no_instant(record: Record, check: Check) -> list[Found]:
    """Find typed readings that say no instant."""
    without = [
        each
        for each in record.readings
        if each.observed_at is None and not each.is_laboratory
    ]
    if not without:
        return []
    return [
        check.found(
            f"{_count(without)} made without the instant of the reading.",
            entries=words.entries(without),
        )
    ]


def in_the_future(record: Record, check: Check) -> list[Found]:
    """Find entries that claim an instant after they were written."""
    slack = minutes(check["slack_min"])
    ahead = [
        entry
        for entry in record.written
        if (delay := _delay(entry)) is not None and -delay > slack
    ]
    if not ahead:
        return []
    return [
        check.found(
            f"{_count(ahead)} written before the instant claimed: one of the clocks is "
            "wrong, or the reading was not made yet.",
            entries=words.entries(ahead),
            at=ahead[0].observed_at,
        )
    ]


def outside_step(record: Record, check: Check) -> list[Found]:
    """Find readings that lie outside the step that they say they belong to."""
    slack = minutes(check["slack_min"])
    found: list[Found] = []
    by_step: dict[str, list[RecordedReading]] = {}
    for reading in record.typed:
        by_step.setdefault(reading.step, []).append(reading)
    for step, readings in by_step.items():
        window = record.window(step)
        outside = [each for each in readings if _is_outside(each, window, slack)]
        if outside and window is not None:
            end = words.instant(window.end) if window.end else "now"
            found.append(
                check.found(
                    f"{words.step_title(step)} went on from "
                    f"{words.instant(window.start)} to {end}; "
                    f"{words.counted(len(outside), 'reading lies', 'readings lie')} "
                    "outside.",
                    entries=words.entries(outside),
                    at=outside[0].observed_at,
                )
            )
    return found


def _is_outside(
    reading: RecordedReading, window: Window | None, slack: timedelta
) -> bool:
    at = reading.observed_at
    if at is None or window is None:
        return False
    return at < window.start - slack or (
        window.end is not None and at > window.end + slack
    )


def one_instant_for_all(record: Record, check: Check) -> list[Found]:
    """Find a batch whose readings of several steps all claim one instant."""
    typed = record.typed
    if len(typed) < check["readings"]:
        return []
    instants = {each.observed_at for each in typed}
    steps = {each.step for each in typed}
    if len(instants) > 1 or len(steps) == 1:
        return []
    return [
        check.found(
            f"All {len(typed)} typed readings of {len(steps)} steps claim "
            f"{words.instant(typed[0].observed_at or record.now)}.",
            entries=words.entries(typed),
            at=typed[0].observed_at,
        )
    ]


def round_minutes(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find instants that stand on the quarters of the hour more than chance would.

    A reading that follows the one before by the same quarters as that one did its own
    is no trial: whoever looks every half hour has chosen an instant and a gap, no more.
    """
    typed = record.typed
    fewest = int(check["readings"])
    if len(typed) < fewest:
        return CannotSay(f"it needs {fewest} typed readings")
    share = Fraction(sum(map(_is_round, typed)), len(typed))
    trials = _trials(typed)
    hits = sum(map(_is_round, trials))
    chance = at_least_chance(hits, len(trials), float(1 / _QUARTERS))
    if share <= Fraction(check["share"]) or chance >= check["chance"]:
        return []
    return [
        check.found(
            f"{float(share):.0%} of {len(typed)} typed readings claim a full quarter of the "
            f"hour. By chance so many of {len(trials)} independent instants would be "
            f"there once in {1 / chance:.0f} records.",
            entries=words.entries(typed),
            at=typed[0].observed_at,
        )
    ]


def _is_round(reading: RecordedReading) -> bool:
    at = reading.observed_at
    return at is not None and at.second == 0 and at.minute % int(_QUARTERS) == 0


def _trials(typed: Sequence[RecordedReading]) -> list[RecordedReading]:
    """Return the readings whose instants somebody chose, cadences counted once."""
    quarter = minutes(_QUARTERS)
    trials = list(typed[:1])
    gap_before: timedelta | None = None
    for before, each in pairwise(typed):
        if before.observed_at is None or each.observed_at is None:
            continue
        gap = each.observed_at - before.observed_at
        if gap % quarter or (gap and gap != gap_before):
            trials.append(each)
        gap_before = gap
    return trials
