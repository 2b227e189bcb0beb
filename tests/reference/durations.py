"""Kinds 2 and 4, plainly: dwelling beyond a value, and staying within one."""

import itertools

from tests.reference.bounds import MET, MISSED, NOT_SHOWN, ZERO, Bound, per_place, runs
from tests.reference.evidence import merge
from tests.reference.units import exact


def judge_dwell(batch, limit, step):
    """Kind 2: long enough at or above (at or below) a value without a break."""
    is_floor = limit["kind"] == "dwell_at_least"
    bound = Bound(limit, "value", "at least" if is_floor else "at most")
    wanted = exact(limit["minutes"])
    gap = exact(limit["check_every_min"])
    window = batch.windows.get(step)
    # Where a rule asks for an edge that is open or unknown: None, without bound.
    start = None if window is None else window.start.minute
    end = None if window is None or window.end is None else window.end.minute

    def judge_place(readings):
        moments = merge(readings)
        certain = [bound.certainly(m) for m in moments]
        possible = [bound.possibly(m) for m in moments]
        shortest = _certain_stay(moments, certain, gap)
        stretches = _possible_stretches(moments, possible, start, end)
        unbounded = any(length is None for length, _ in stretches)
        longest = None if unbounded else max(length for length, _ in stretches)
        observed = {"shortest_min": shortest, "longest_min": longest}
        # D = 0 has its own sentence.
        if wanted == 0:
            status = _instant_dwell_status(certain, possible, has_ended=end is not None)
        else:
            status = _dwell_status(shortest, longest, stretches, wanted)
        return status, observed

    return per_place(batch, [step], limit["quantity"], judge_place)


def _instant_dwell_status(certain, possible, *, has_ended):
    if any(certain):
        return MET
    if not any(possible) and has_ended:
        return MISSED
    return NOT_SHOWN


def _dwell_status(shortest, longest, stretches, wanted):
    if shortest >= wanted:
        return MET
    if longest is None or longest > wanted:
        return NOT_SHOWN
    if longest < wanted:
        return MISSED
    # Just as long as asked: missed where each such stretch has its crossing inside.
    beside_a_reading = [beside for length, beside in stretches if length == wanted]
    return MISSED if all(beside_a_reading) else NOT_SHOWN


def _certain_stay(moments, certain, gap):
    """Longest first-to-last over neighbours all certain with no gap longer than G."""
    best = ZERO
    for first in range(len(moments)):
        if not certain[first]:
            continue
        last = first
        while last + 1 < len(moments) and certain[last + 1]:
            if moments[last + 1].at - moments[last].at > gap:
                break
            last += 1
        best = max(best, moments[last].at - moments[first].at)
    return best


def _possible_stretches(moments, possible, start, end):
    """List (length or None, whether a neighbour ends it) of all that may be a stay."""
    stretches = []
    for first, last in runs(possible):
        since, until = _around(moments, first, last, start, end)
        length = None if since is None or until is None else until - since
        has_neighbour = first > 0 or last + 1 < len(moments)
        stretches.append((length, has_neighbour))
    # The unobserved stretches at both ends of the window count as such runs too;
    # a reading ends each of them.
    stretches.append((None if start is None else moments[0].at - start, True))
    stretches.append((None if end is None else end - moments[-1].at, True))
    return stretches


def _around(moments, first, last, start, end):
    """Return the neighbouring readings' instants around a run, else the edges."""
    since = moments[first - 1].at if first > 0 else start
    until = moments[last + 1].at if last + 1 < len(moments) else end
    return since, until


def judge_stay(batch, limit, step):
    """Kind 4: staying at or below (at or above) a value, short excursions allowed."""
    is_ceiling = limit["kind"] == "stay_at_most"
    bound = Bound(limit, "value", "at most" if is_ceiling else "at least")
    allowed = exact(limit.get("excursion_min", 0))
    gap = exact(limit["check_every_min"])
    window = batch.windows.get(step)
    start = None if window is None else window.start.minute
    # The open window's edge is the instant of the judgement.
    end = None if window is None else window.reach

    def judge_place(readings):
        moments = merge(readings)
        inside = [bound.certainly(m) for m in moments]
        outside = [not bound.possibly(m) for m in moments]
        certain = _certain_excursions(moments, outside, inside)
        possible = _possible_excursions(moments, inside, start, end)
        observed = {
            "shortest_min": max((length for length, _ in certain), default=ZERO),
            "longest_min": None if None in possible else max(possible, default=ZERO),
        }
        if _is_broken(certain, allowed):
            return MISSED, observed
        if _is_kept(possible, allowed) and _is_monitored(moments, start, end, gap):
            return MET, observed
        return NOT_SHOWN, observed

    return per_place(batch, [step], limit["quantity"], judge_place)


def _certain_excursions(moments, outside, inside):
    """List (shortest length, whether certainly inside on both sides) of the certain ones."""
    found = []
    for first, last in runs(outside):
        inside_before = first > 0 and inside[first - 1]
        inside_after = last + 1 < len(moments) and inside[last + 1]
        length = moments[last].at - moments[first].at
        found.append((length, inside_before and inside_after))
    return found


def _possible_excursions(moments, inside, start, end):
    """List the longest length of every possible excursion, None without bound."""
    found = []
    for first, last in runs([not within for within in inside]):
        since, until = _around(moments, first, last, start, end)
        found.append(None if since is None or until is None else until - since)
    return found


def _is_broken(certain, allowed):
    if allowed == 0:
        return bool(certain)
    return any(
        length > allowed or (length == allowed and enclosed)
        for length, enclosed in certain
    )


def _is_kept(possible, allowed):
    if allowed == 0:
        return not possible
    return all(length is not None and length <= allowed for length in possible)


def _is_monitored(moments, start, end, gap):
    """Say whether no gap, at the edges of the window too, is longer than G."""
    if start is None or end is None:
        return False
    instants = [start] + [m.at for m in moments] + [end]
    return all(after - before <= gap for before, after in itertools.pairwise(instants))
