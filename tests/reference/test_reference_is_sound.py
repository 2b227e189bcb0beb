"""What the plain judge calls met holds on every course the readings allow; missed, on none.

The courses are tried one by one, and are measured without the rules of judging.
"""

import itertools
import random

import pytest

from tests.reference.bounds import MET, MISSED, NOT_SHOWN, Bound, split_places
from tests.reference.cooling import HEATING, cooling_steps, find_edge
from tests.reference.courses import (
    FAR,
    Span,
    cooling_verdict,
    count_courses,
    dwell_verdict,
    stay_verdict,
)
from tests.reference.evidence import merge, read_batch
from tests.reference.generate import random_doc
from tests.reference.plain import judge
from tests.reference.units import convert, exact

DRAWS = 1200
MOST_COURSES = 300


def drawn_findings(kind, draws=DRAWS):
    """Yield (batch, limit, its finding, the place's moments) of many drawn batches."""
    for seed in range(draws):
        doc = random_doc(random.Random(seed), kind)
        limit = doc["limits"][0]
        batch = read_batch(doc)
        steps = [limit.get("step", limit["control_point"])]
        if kind == "cool_through":
            steps = cooling_steps(limit)
        readings = batch.of(steps, limit["quantity"])
        if not compares_in_one_unit(limit, readings):
            continue
        places = split_places(batch, readings)
        for finding in judge(doc)["findings"]:
            if finding["limit"] == limit["id"] and finding["observed"]:
                yield batch, limit, finding, merge(places[finding["place"]])


def compares_in_one_unit(limit, readings):
    """Say whether all readings can be put on one scale without moving the figure."""
    if "printed_also" not in limit:
        return True
    return all(reading.unit == limit["unit"] for reading in readings)


def spans_of(moments, unit, sign=1):
    """Put moments on the limit's scale; turned over where the limit is a ceiling."""
    spans = []
    for moment in moments:
        lows = [convert(part.lo, part.unit, unit) * sign for part in moment.parts]
        highs = [convert(part.hi, part.unit, unit) * sign for part in moment.parts]
        spans.append(Span(moment.at, min(*lows, *highs), max(*lows, *highs)))
    return spans


def assert_agrees(status, verdict, seen):
    """Hold a status against all courses, and note which statuses were held."""
    if status == MET:
        assert verdict == "all"
    if status == MISSED:
        assert verdict == "none"
    seen.append(status)


def window_edges(batch, limit, *, open_end):
    """Return the edges of the limit's window; the end of an open one as given."""
    window = batch.windows.get(limit.get("step", limit["control_point"]))
    if window is None:
        return None, None
    end = open_end if window.end is None else window.end.minute
    return window.start.minute, end


@pytest.mark.parametrize("kind", ["dwell_at_least", "dwell_at_most"])
def test_dwell_agrees_with_every_course(kind):
    sign = 1 if kind == "dwell_at_least" else -1
    seen = []
    for batch, limit, finding, moments in drawn_findings(kind):
        spans = spans_of(moments, limit["unit"], sign)
        figure = exact(limit["value"]) * sign
        minutes = exact(limit["minutes"])
        if minutes == 0 or count_courses(spans, [figure]) > MOST_COURSES:
            continue
        start, end = window_edges(batch, limit, open_end=None)
        strict = limit.get("strict", False)
        verdict = dwell_verdict(spans, start, end, figure, minutes, strict=strict)
        assert_agrees(finding["status"], verdict, seen)
        longest_gap = max(
            (b.at - a.at for a, b in itertools.pairwise(spans)), default=0
        )
        if finding["status"] == NOT_SHOWN and longest_gap <= limit["check_every_min"]:
            assert verdict == "some"
    assert min(seen.count(MET), seen.count(MISSED), seen.count(NOT_SHOWN)) > 50


@pytest.mark.parametrize("kind", ["stay_at_most", "stay_at_least"])
def test_stay_agrees_with_every_course(kind):
    sign = 1 if kind == "stay_at_most" else -1
    seen = []
    for batch, limit, finding, moments in drawn_findings(kind):
        spans = spans_of(moments, limit["unit"], sign)
        figure = exact(limit["value"]) * sign
        if limit.get("strict") or count_courses(spans, [figure]) > MOST_COURSES:
            continue
        start, end = window_edges(batch, limit, open_end=batch.judged_at.minute)
        allowed = exact(limit.get("excursion_min", 0))
        verdict = stay_verdict(spans, start, end, figure, allowed)
        assert_agrees(finding["status"], verdict, seen)
    assert min(seen.count(MET), seen.count(MISSED), seen.count(NOT_SHOWN)) > 50


def hot_origins(batch, limit, moments, status):
    """Return (origin, moments that follow it) for each way the product may have been hot."""
    steps = cooling_steps(limit)
    hot = Bound(limit, "from", "at least")
    heating = [m for m in moments if HEATING in steps and m.is_of(HEATING)]
    certain = [m for m in heating if hot.certainly(m)]
    if certain:
        return [(certain[-1].at, moments)]
    edge = find_edge(batch, steps)
    if edge is not None:
        origins = [(edge, moments)]
    else:
        others = [m for m in moments if m.is_of_other_than(HEATING)]
        long_before = exact(limit["minutes"]) + FAR
        origins = [(others[0].at - long_before, others)] if others else []
    possible = [m for m in heating if hot.possibly(m)]
    if possible and status == MET:
        origins.append((possible[0].at, moments))
    is_first_hot = edge is None and not possible and hot.certainly(moments[0])
    if is_first_hot and status == MET:
        origins = [(moments[0].at, moments)]
    return origins


def test_cooling_agrees_with_every_course():
    seen = []
    for batch, limit, finding, moments in drawn_findings("cool_through", 3 * DRAWS):
        figures = (exact(limit["from"]), exact(limit["to"]))
        status = finding["status"]
        if limit.get("strict") or status == NOT_SHOWN:
            continue
        for origin, follow in hot_origins(batch, limit, moments, status):
            spans = spans_of(follow, limit["unit"])
            if count_courses(spans, figures) > 5 * MOST_COURSES:
                continue
            verdict = cooling_verdict(spans, origin, *figures, exact(limit["minutes"]))
            # A reading at the origin may say that it was not hot there after all.
            if verdict is not None:
                assert_agrees(status, verdict, seen)
    assert min(seen.count(MET), seen.count(MISSED)) > 50


def test_courses_themselves_are_measured_right():
    rising_then_falling = [Span(0, 10, 10), Span(30, 20, 20), Span(60, 10, 10)]
    at = {"start": 0, "end": 60, "figure": 15}
    spans = rising_then_falling
    assert dwell_verdict(spans, minutes=60, **at) == "none"
    assert dwell_verdict(spans, minutes=30, **at) == "some"
    held = [Span(0, 15, 15), Span(30, 15, 16)]
    assert dwell_verdict(held, 0, 30, 15, 30) == "all"
    assert dwell_verdict(held, 0, 30, 15, 30, strict=True) == "none"
    wide = [Span(0, 15, 16), Span(30, 16, 16)]
    assert dwell_verdict(wide, 0, 30, 15, 30, strict=True) == "some"
    assert stay_verdict(held, 0, 30, 15, 0) == "some"
    assert stay_verdict(held, 0, 30, 14, 29) == "none"
    falling = [
        Span(0, 60, 60),
        Span(10, 59, 59),
        Span(50, 21, 21),
        Span(60, 20, 20),
    ]
    assert cooling_verdict(falling, 0, 60, 20, 60) == "all"
    assert cooling_verdict(falling, 0, 60, 20, 40) == "none"
    assert cooling_verdict(falling, 0, 60, 20, 41) == "some"
