"""Every course of events, of a finite choice, that some readings allow: the last word.

A course is a line of (minute, value) corners. Between two readings it moves one way only,
and as far as it matters here either at once or at the last moment. Whether a limit is kept
is then measured on the line itself, with nothing of the rules of judging in it.
"""

import itertools
from dataclasses import dataclass
from fractions import Fraction

# Less than any difference of times that the drawn batches can have.
INSTANT_MIN = Fraction(1, 1000)
FAR = 100


@dataclass(frozen=True)
class Span:
    """What one moment allows: any value from lo to hi."""

    at: Fraction
    lo: Fraction
    hi: Fraction

    def picks(self, figures):
        """Return both ends, and every figure that lies between them."""
        between = [figure for figure in figures if self.lo < figure < self.hi]
        return sorted({self.lo, self.hi, *between})


def possible_courses(spans, figures):
    """Yield courses through the spans: all picks of values, both shapes of every gap."""
    for values in itertools.product(*(span.picks(figures) for span in spans)):
        corners = [(span.at, value) for span, value in zip(spans, values, strict=True)]
        gaps = []
        for one, other in itertools.pairwise(corners):
            early = (one[0] + INSTANT_MIN, other[1])
            late = (other[0] - INSTANT_MIN, one[1])
            gaps.append((early,) if one[1] == other[1] else (early, late))
        for middles in itertools.product(*gaps):
            line = [corners[0]]
            for middle, corner in zip(middles, corners[1:], strict=True):
                line += [middle, corner]
            yield line


def count_courses(spans, figures):
    """Return at most how many courses there are."""
    count = 2 ** max(0, len(spans) - 1)
    for span in spans:
        count *= len(span.picks(figures))
    return count


@dataclass
class Stretch:
    """A stretch of a course beyond a figure; an open end is not part of it."""

    since: Fraction
    until: Fraction
    is_closed: bool

    @property
    def length(self):
        """Return how long it is."""
        return self.until - self.since


def stretches_above(line, figure, *, strict):
    """List the stretches on which the line is at or above (strict: above) the figure."""
    found = []
    for (since, first), (until, last) in itertools.pairwise(line):
        above_first = first > figure if strict else first >= figure
        above_last = last > figure if strict else last >= figure
        if not above_first and not above_last:
            continue
        start, end, is_closed = since, until, True
        if above_first != above_last:
            share = (figure - first) / (last - first)
            crossing = since + share * (until - since)
            start, end = (since, crossing) if above_first else (crossing, until)
            is_closed = not strict
        if found and found[-1].until == start and above_first:
            found[-1].until = end
            found[-1].is_closed = found[-1].is_closed and is_closed
        else:
            found.append(Stretch(start, end, is_closed))
    return found


def dwells(line, figure, minutes, *, strict):
    """Say whether the line stays at or above the figure for the minutes on end."""
    return any(
        stretch.length >= minutes if stretch.is_closed else stretch.length > minutes
        for stretch in stretches_above(line, figure, strict=strict)
    )


def keeps_below(line, figure, minutes):
    """Say whether no excursion above the figure lasts longer than the minutes."""
    excursions = stretches_above(line, figure, strict=True)
    if minutes == 0:
        return not excursions
    return all(excursion.length <= minutes for excursion in excursions)


def cools(line, origin, hot, cold, minutes):
    """Say whether the line falls from hot to cold in the minutes.

    It starts where the line first leaves ``hot`` after the origin, and ends where it first
    is at ``cold`` after it has last been ``hot``.
    """
    above = [s for s in stretches_above(line, hot, strict=False) if s.until >= origin]
    start = above[0].until
    last_hot = above[-1].until
    end = _first_at_or_below(line, cold, last_hot)
    return end is not None and end - start <= minutes


def _first_at_or_below(line, figure, since):
    for (start, first), (end, last) in itertools.pairwise(line):
        if end < since or last > figure:
            continue
        if first <= figure:
            return max(start, since)
        return start + (figure - first) / (last - first) * (end - start)
    return None


def verdict(answers):
    """Put the answers of all courses in a word: all, none or some keep the limit.

    Where the records allow no course at all there is nothing to say: None.
    """
    seen = set(answers)
    if not seen:
        return None
    if seen == {True}:
        return "all"
    return "none" if seen == {False} else "some"


def with_edge(spans, at, *, is_after, picks):
    """Yield the spans with an unobserved value at an edge; unchanged where it is observed."""
    nearest = spans[-1] if is_after else spans[0]
    if nearest.at == at:
        yield spans
        return
    for value in picks:
        edge = Span(at, value, value)
        yield [*spans, edge] if is_after else [edge, *spans]


def dwell_verdict(spans, start, end, figure, minutes, *, strict=False):
    """Try all courses of a dwell; an edge that is None lies far away."""
    first = spans[0].at - minutes - FAR if start is None else start
    last = spans[-1].at + minutes + FAR if end is None else end
    sides = (figure - FAR, figure + FAR)
    answers = []
    for headed in with_edge(spans, first, is_after=False, picks=sides):
        for whole in with_edge(headed, last, is_after=True, picks=sides):
            lines = possible_courses(whole, [figure])
            answers += [_dwells(line, figure, minutes, strict) for line in lines]
    return verdict(answers)


def _dwells(line, figure, minutes, strict):
    # A line of one corner stays nowhere; it can only be there for an instant.
    if len(line) == 1:
        value = line[0][1]
        return minutes == 0 and (value > figure if strict else value >= figure)
    return dwells(line, figure, minutes, strict=strict)


def stay_verdict(spans, start, end, figure, minutes):
    """Try all courses of a stay; at the window's edges the nearest reading holds."""
    answers = []
    for line in possible_courses(spans, [figure]):
        whole = list(line)
        if start is not None and start < whole[0][0]:
            whole.insert(0, (start, whole[0][1]))
        if end is not None and end > whole[-1][0]:
            whole.append((end, whole[-1][1]))
        if len(whole) == 1:
            whole.append((whole[0][0] + INSTANT_MIN / FAR, whole[0][1]))
        answers.append(keeps_below(whole, figure, minutes))
    return verdict(answers)


def cooling_verdict(spans, origin, hot, cold, minutes):
    """Try all courses of a cooling that are hot at the origin, an instant.

    Where no reading was made at the origin the course is hot there all the same.
    """
    seen = [span for span in spans if span.at >= origin]
    if not seen or seen[0].at > origin:
        seen = [Span(origin, hot + FAR, hot + FAR), *seen]
    answers = []
    for line in possible_courses(seen, [hot, cold]):
        if line[0][1] < hot:
            continue
        for future in (cold - FAR, max(line[-1][1], cold + 1)):
            end = line[-1][0]
            whole = [*line, (end + INSTANT_MIN, future), (end + minutes + FAR, future)]
            answers.append(cools(whole, origin, hot, cold, minutes))
    return verdict(answers)
