"""The kinds of limit that need no durations: values, dates, statements.

As in its neighbours, each kind is one function; it returns (place, status, observed) per finding.
"""

from tests.reference.bounds import MET, MISSED, NOT_SHOWN, Bound, per_place
from tests.reference.units import convert, exact


def judge_value(batch, limit, step):
    """Kind 1: a value, each reading by itself."""
    bound = Bound(
        limit, "value", "at least" if limit["kind"] == "at_least" else "at most"
    )

    def judge_place(readings):
        observed = {
            "lowest": min(convert(r.lo, r.unit, limit["unit"]) for r in readings),
            "highest": max(convert(r.hi, r.unit, limit["unit"]) for r in readings),
        }
        if all(bound.certainly_one(r) for r in readings):
            return MET, observed
        if any(not bound.possibly_one(r) for r in readings):
            return MISSED, observed
        return NOT_SHOWN, observed

    return per_place(batch, [step], limit["quantity"], judge_place)


def judge_within(batch, limit):
    """Kind 6: calendar days from one date to another."""
    late = batch.dates.get(limit["what"])
    early = _date_or_edge(batch, limit["of"])
    if late is None or early is None:
        return [(None, NOT_SHOWN, {})]
    days = (late.day - early.day).days
    if days < 0:
        return [(None, NOT_SHOWN, {})]
    return [(None, MET if days <= exact(limit["days"]) else MISSED, {})]


def _date_or_edge(batch, name):
    if name in batch.dates:
        return batch.dates[name]
    step, _, edge = name.rpartition(".")
    window = batch.windows.get(step)
    if window is None:
        return None
    return window.start if edge == "start" else window.end


def judge_stated(batch, limit):
    """Kind 8: a thing that must be on record."""
    if limit["what"] not in batch.statements:
        return [(None, NOT_SHOWN, {})]
    return [(None, MET if batch.statements[limit["what"]] else MISSED, {})]
