"""Kind 3, plainly: from one value down to another within a time."""

from tests.reference.bounds import (
    DOES_NOT_APPLY,
    MET,
    MISSED,
    NOT_SHOWN,
    ZERO,
    Bound,
    split_places,
)
from tests.reference.evidence import merge
from tests.reference.units import exact

HEATING = "heating"
DEFAULT_STEPS = ["heating", "cooling"]


def cooling_steps(limit):
    """Name the steps a cooling limit looks at."""
    return limit.get("steps", DEFAULT_STEPS)


def judge_cooling(batch, limit):
    """Judge each place that was read after the heating."""
    steps = cooling_steps(limit)
    readings = batch.of(steps, limit["quantity"])
    if not readings:
        return [(None, NOT_SHOWN, {})]
    # The places are those read in a step other than heating; all of them where there is none.
    places = {r.place for r in readings if r.step != HEATING}
    if not places:
        places = {r.place for r in readings}
    findings = []
    for place, inside in split_places(batch, readings).items():
        if place not in places:
            continue
        if not inside:
            findings.append((place, NOT_SHOWN, {}))
        else:
            status, observed = _judge_place(batch, limit, merge(inside))
            findings.append((place, status, observed))
    return findings


def find_edge(batch, steps):
    """Return the minute at which cooling begins by the windows, None for unbounded."""
    # The end of the heating window, named by the limit or not, where it has one.
    heating = batch.windows.get(HEATING)
    if heating is not None and heating.end is not None:
        return heating.end.minute
    # Else the start of the window of the first step that is not heating.
    for step in steps:
        if step != HEATING:
            window = batch.windows.get(step)
            return None if window is None else window.start.minute
    return None


def _judge_place(batch, limit, moments):
    steps = cooling_steps(limit)
    hot = Bound(limit, "from", "at least")
    cold = Bound(limit, "to", "at most")
    heating_named = HEATING in steps
    # Nothing to cool from: all of it cold, and the batch was not heated as far as it says.
    was_heated = HEATING in batch.windows or (
        heating_named and any(r.step == HEATING for r in batch.readings)
    )
    if not was_heated and all(cold.certainly(m) for m in moments):
        return DOES_NOT_APPLY, {}
    edge = find_edge(batch, steps)
    heating = [m for m in moments if heating_named and m.is_of(HEATING)]
    earliest_start = _earliest_start(moments, heating, edge, hot)
    seen = moments
    if not any(hot.certainly(m) for m in heating):
        if edge is not None:
            seen = [m for m in moments if m.at >= edge]
        else:
            seen = [m for m in moments if m.is_of_other_than(HEATING)]
    latest_start = _latest_start(seen or moments, earliest_start, hot)
    earliest_end = _earliest_end(seen, latest_start, hot, cold)
    latest_end = _latest_end(seen, hot, cold)
    shortest = max(ZERO, earliest_end - latest_start)
    longest = None
    if latest_end is not None and earliest_start is not None:
        longest = latest_end - earliest_start
    observed = {"shortest_min": shortest, "longest_min": longest}
    wanted = exact(limit["minutes"])
    if longest is not None and longest <= wanted:
        return MET, observed
    if shortest >= wanted and shortest > 0:
        return MISSED, observed
    return NOT_SHOWN, observed


def _end_of_hot_run(moments, first, hot):
    """Return the instant of the last reading of the unbroken hot run that begins with ``first``."""
    last = None
    for moment in moments:
        if moment.at < first.at:
            continue
        if not hot.certainly(moment):
            break
        last = moment.at
    return last


def _earliest_start(moments, heating, edge, hot):
    """Return the earliest instant at which the value may have left A; None without bound."""
    # A certainly hot reading of the heating step: the end of the hot run from the last such.
    certain = [m for m in heating if hot.certainly(m)]
    if certain:
        return _end_of_hot_run(moments, certain[-1], hot)
    # A possibly hot one: the earlier of the edge and the first such.
    possible = [m for m in heating if hot.possibly(m)]
    if possible:
        return None if edge is None else min(edge, possible[0].at)
    # The first reading at or after the edge certainly hot: the end of the run from it.
    after = [m for m in moments if edge is None or m.at >= edge]
    if after and hot.certainly(after[0]):
        return _end_of_hot_run(moments, after[0], hot)
    return edge


def _latest_start(seen, earliest_start, hot):
    """Return the first reading from the earliest start on that is certainly below A."""
    for moment in seen:
        if earliest_start is not None and moment.at < earliest_start:
            continue
        if not hot.possibly(moment):
            return moment.at
    return seen[-1].at


def _earliest_end(seen, latest_start, hot, cold):
    """Return the last reading certainly above B before B may have been reached for good."""
    last_hot = None
    for moment in seen:
        if hot.certainly(moment):
            last_hot = moment.at
    reached = None
    for moment in seen:
        if (last_hot is None or moment.at > last_hot) and cold.possibly(moment):
            reached = moment.at
            break
    earliest = None
    for moment in seen:
        if (reached is None or moment.at < reached) and not cold.possibly(moment):
            earliest = moment.at
    if earliest is None or earliest < latest_start:
        return latest_start
    return earliest


def _latest_end(seen, hot, cold):
    """Return the first reading certainly at or below B after the last possibly hot one."""
    last_hot = None
    for moment in seen:
        if hot.possibly(moment):
            last_hot = moment.at
    for moment in seen:
        if (last_hot is None or moment.at > last_hot) and cold.certainly(moment):
            return moment.at
    return None
