"""The statuses, comparisons with a printed figure, and what holds for every series."""

from fractions import Fraction

from tests.reference.units import convert, exact

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
