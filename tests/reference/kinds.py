"""One plain function per kind of limit; each returns (place, status, observed) per finding."""

from fractions import Fraction

from tests.reference.evidence import convert, exact, merge

MET = "met"
MISSED = "missed"
NOT_SHOWN = "not shown"
DOES_NOT_APPLY = "does not apply"

# Worst first; "does not apply" counts only where nothing else is there.
WORST_FIRST = (MISSED, NOT_SHOWN, MET, DOES_NOT_APPLY)

ZERO = Fraction(0)


def worst(statuses):
    """Return the worst of some statuses, of which there is at least one."""
    for status in WORST_FIRST:
        if status in statuses:
            return status
    raise ValueError(statuses)


class Bound:
    """A comparison with one published figure: at least it, or at most it."""

    def __init__(self, limit, key, direction):
        self.unit = limit["unit"]
        self.direction = direction
        self.strict = limit.get("strict", False)
        # The figure as printed, by the unit in which it is printed.
        self.figures = {self.unit: exact(limit[key])}
        if "printed_also" in limit:
            also = limit["printed_also"]
            self.figures[also["unit"]] = exact(also[key])

    def _holds(self, value, unit):
        # A printed figure is compared with the value as read; else the value is converted exactly.
        if unit not in self.figures:
            value, unit = convert(value, unit, self.unit), self.unit
        figure = self.figures[unit]
        if self.direction == "at least":
            return value > figure if self.strict else value >= figure
        return value < figure if self.strict else value <= figure

    def certainly_one(self, reading):
        """Say whether every value of the reading's interval complies."""
        end = reading.lo if self.direction == "at least" else reading.hi
        return self._holds(end, reading.unit)

    def possibly_one(self, reading):
        """Say whether some value of the reading's interval complies."""
        end = reading.hi if self.direction == "at least" else reading.lo
        return self._holds(end, reading.unit)

    def certainly(self, moment):
        """Say it of a moment: certain where all of its readings are."""
        return all(self.certainly_one(part) for part in moment.parts)

    def possibly(self, moment):
        """Say it of a moment: possible where any of its readings is."""
        return any(self.possibly_one(part) for part in moment.parts)


def split_places(batch, readings):
    """Give each place, in order of appearance, its readings inside the windows of their steps."""
    places = {}
    for reading in readings:
        inside = places.setdefault(reading.place, [])
        if batch.is_inside(reading):
            inside.append(reading)
    return places


def per_place(batch, steps, quantity, judge_place):
    """Judge each place by itself, with the two rules that hold for every such kind."""
    readings = batch.of(steps, quantity)
    # No reading of the quantity in the step: not shown, with no place.
    if not readings:
        return [(None, NOT_SHOWN, {})]
    findings = []
    for place, inside in split_places(batch, readings).items():
        # A place all of whose readings lie outside the window has its own finding.
        if not inside:
            findings.append((place, NOT_SHOWN, {}))
        else:
            status, observed = judge_place(inside)
            findings.append((place, status, observed))
    return findings


def runs(flags):
    """List the maximal runs of true flags as (first, last) positions."""
    found = []
    first = None
    for position, flag in enumerate(flags):
        if flag and first is None:
            first = position
        if not flag and first is not None:
            found.append((first, position - 1))
            first = None
    if first is not None:
        found.append((first, len(flags) - 1))
    return found


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


def judge_dwell(batch, limit, step):
    """Kind 2: long enough at or above (at or below) a value without a break."""
    bound = Bound(
        limit, "value", "at least" if limit["kind"] == "dwell_at_least" else "at most"
    )
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
            if any(certain):
                return MET, observed
            if not any(possible) and end is not None:
                return MISSED, observed
            return NOT_SHOWN, observed
        if shortest >= wanted:
            return MET, observed
        if longest is not None and longest < wanted:
            return MISSED, observed
        if longest is not None and longest == wanted:
            spanning = [beside for length, beside in stretches if length == wanted]
            if all(spanning):
                return MISSED, observed
        return NOT_SHOWN, observed

    return per_place(batch, [step], limit["quantity"], judge_place)


def _certain_stay(moments, certain, gap):
    """Longest first-to-last over neighbours all certain with no gap longer than G."""
    best = ZERO
    for first in range(len(moments)):
        last = first
        while (
            certain[first]
            and last + 1 < len(moments)
            and certain[last + 1]
            and moments[last + 1].at - moments[last].at <= gap
        ):
            last += 1
        if certain[first]:
            best = max(best, moments[last].at - moments[first].at)
    return best


def _possible_stretches(moments, possible, start, end):
    """List (length or None, whether a neighbouring reading ends it) of all that may be a stay."""
    stretches = []
    for first, last in runs(possible):
        has_before = first > 0
        has_after = last + 1 < len(moments)
        since = moments[first - 1].at if has_before else start
        until = moments[last + 1].at if has_after else end
        length = None if since is None or until is None else until - since
        stretches.append((length, has_before or has_after))
    # The unobserved stretches at both ends of the window count as such runs too;
    # a reading ends each of them.
    stretches.append((None if start is None else moments[0].at - start, True))
    stretches.append((None if end is None else end - moments[-1].at, True))
    return stretches


def judge_stay(batch, limit, step):
    """Kind 4: staying at or below (at or above) a value, short excursions allowed."""
    bound = Bound(
        limit, "value", "at most" if limit["kind"] == "stay_at_most" else "at least"
    )
    allowed = exact(limit.get("excursion_min", 0))
    gap = exact(limit["check_every_min"])
    window = batch.windows.get(step)
    start = None if window is None else window.start.minute
    # The open window's edge is the instant of the judgement.
    end = None if window is None else window.reach

    def judge_place(readings):
        moments = merge(readings)
        certainly_in = [bound.certainly(m) for m in moments]
        certainly_out = [not bound.possibly(m) for m in moments]
        possibly_out = [not inside for inside in certainly_in]
        shortest, is_missed = ZERO, False
        for first, last in runs(certainly_out):
            length = moments[last].at - moments[first].at
            shortest = max(shortest, length)
            enclosed = (
                first > 0
                and certainly_in[first - 1]
                and last + 1 < len(moments)
                and certainly_in[last + 1]
            )
            if allowed == 0 or length > allowed or (length == allowed and enclosed):
                is_missed = True
        longest, is_short = ZERO, True
        for first, last in runs(possibly_out):
            since = moments[first - 1].at if first > 0 else start
            until = moments[last + 1].at if last + 1 < len(moments) else end
            if since is None or until is None:
                longest, is_short = None, False
                continue
            if longest is not None:
                longest = max(longest, until - since)
            if until - since > allowed or allowed == 0:
                is_short = False
        observed = {"shortest_min": shortest, "longest_min": longest}
        if is_missed:
            return MISSED, observed
        if is_short and _is_monitored(moments, start, end, gap):
            return MET, observed
        return NOT_SHOWN, observed

    return per_place(batch, [step], limit["quantity"], judge_place)


def _is_monitored(moments, start, end, gap):
    """Say whether no gap, at the edges of the window too, is longer than G."""
    if start is None or end is None:
        return False
    instants = [start] + [m.at for m in moments] + [end]
    return all(
        after - before <= gap
        for before, after in zip(instants, instants[1:], strict=False)
    )


def judge_exposure(batch, limit):
    """Kind 5: minutes in each band, in total over the steps that count."""
    gap = exact(limit["check_every_min"])
    bands = limit["bands"]
    least_sums = [ZERO for _ in bands]
    most_sums = [ZERO for _ in bands]
    anything = False
    for step in limit["steps"]:
        readings = batch.of([step], limit["quantity"])
        window = batch.windows.get(step)
        # Neither a window nor a reading: the step counts nothing.
        if not readings and window is None:
            continue
        anything = True
        for number, band in enumerate(bands):
            least, most = _step_exposure(
                batch, readings, window, band, limit["unit"], gap
            )
            least_sums[number] += least
            if most is None or most_sums[number] is None:
                most_sums[number] = None
            else:
                most_sums[number] += most
    if not anything:
        return [(None, NOT_SHOWN, {})]
    minutes = [exact(band["minutes"]) for band in bands]
    shares = list(zip(least_sums, most_sums, minutes, strict=True))
    observed = {
        "used_share": {
            "least": sum((least / m for least, _, m in shares), ZERO),
            "most": None
            if None in most_sums
            else sum((most / m for _, most, m in shares), ZERO),
        },
        "bands": [{"least_min": least, "most_min": most} for least, most, _ in shares],
    }
    if any(least > m for least, _, m in shares):
        return [(None, MISSED, observed)]
    if all(most is not None and most <= m for _, most, m in shares):
        return [(None, MET, observed)]
    return [(None, NOT_SHOWN, observed)]


def _step_exposure(batch, readings, window, band, unit, gap):
    """Return least and most minutes of one step in one band: the largest over its places."""
    # A window but no reading: nothing certain, the whole window possible.
    if not readings:
        return ZERO, window.reach - window.start.minute
    least, most = ZERO, ZERO
    for inside in split_places(batch, readings).values():
        place_least, place_most = _place_exposure(inside, window, band, unit, gap)
        least = max(least, place_least)
        most = max(most, place_most)
    # Readings but no window: what came before and after them is unknown.
    if window is None:
        return least, None
    return least, most


def _place_exposure(inside, window, band, unit, gap):
    # All of the place's readings lie outside: nothing of the window was observed here.
    if not inside:
        return ZERO, window.reach - window.start.minute
    moments = merge(inside)
    stretches = list(zip(moments, moments[1:], strict=False))
    pieces = [(after.at - before.at, before, after) for before, after in stretches]
    if window is not None:
        # At the window's edges the nearest reading is taken to hold, unless that is too far.
        pieces.append((moments[0].at - window.start.minute, moments[0], moments[0]))
        pieces.append((window.reach - moments[-1].at, moments[-1], moments[-1]))
    least, most = ZERO, ZERO
    for length, one, other in pieces:
        lows = [
            convert(part.lo, part.unit, unit) for m in (one, other) for part in m.parts
        ]
        highs = [
            convert(part.hi, part.unit, unit) for m in (one, other) for part in m.parts
        ]
        above = exact(band["above"])
        up_to = None if band["up_to"] is None else exact(band["up_to"])
        # Too long a gap: nothing certain, all of it possible.
        if length > gap:
            most += length
            continue
        # Certainly inside: both readings wholly in above < T <= up_to.
        if min(lows) > above and (up_to is None or max(highs) <= up_to):
            least += length
        # Possibly inside: from the lowest to the highest, the band is touched.
        if max(highs) > above and (up_to is None or min(lows) <= up_to):
            most += length
    return least, most


def judge_within(batch, limit):
    """Kind 6: calendar days from one date to another."""
    late = _date(batch, limit["what"])
    early = _date(batch, limit["of"])
    if late is None or early is None:
        return [(None, NOT_SHOWN, {})]
    days = (late.day - early.day).days
    if days < 0:
        return [(None, NOT_SHOWN, {})]
    return [(None, MET if days <= exact(limit["days"]) else MISSED, {})]


def _date(batch, name):
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
