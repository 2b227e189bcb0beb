"""Plain readings as intervals: instruments, windows, merged moments."""

from dataclasses import dataclass, field
from fractions import Fraction

from tests.reference.units import (
    Instant,
    convert,
    convert_difference,
    exact,
    instant,
    later,
)

# Default tolerances and the age of a check, as the rules of judging state them.
DEFAULT_TOLERANCES = {
    "temperature": (Fraction(2), "degF"),
    "ph": (Fraction("0.05"), "1"),
    "water-activity": (Fraction("0.01"), "1"),
}
DEFAULT_CHECK_EVERY_DAYS = 30

TEMPERATURES = {
    "core-temperature",
    "surface-temperature",
    "air-temperature",
    "water-temperature",
    "product-temperature",
}


def measured_as(quantity):
    """Name the kind of instrument that reads the quantity; None for quantities that are points."""
    if quantity in TEMPERATURES:
        return "temperature"
    if quantity in DEFAULT_TOLERANCES:
        return quantity
    return None


@dataclass
class Check:
    """All that was found on one instrument at one instant."""

    at: Instant
    errors: list
    accepted: bool


@dataclass
class Instrument:
    """An instrument with every check of it, one by one, as the file lists them."""

    id: str
    unit: str
    tolerance: Fraction
    check_every_days: Fraction
    singles: list = field(default_factory=list)

    def checks_for(self, at):
        """List the checks that exist for a reading at ``at``, in time order, one per instant.

        An adjusted check does not exist for readings after it.
        """
        together = {}
        for check_at, error, adjusted in self.singles:
            if adjusted and check_at.minute < at.minute:
                continue
            together.setdefault(check_at.minute, []).append((check_at, error))
        checks = []
        for minute in sorted(together):
            errors = [error for _, error in together[minute]]
            oldest = min(
                (when for when, _ in together[minute]), key=lambda when: when.day
            )
            accepted = all(abs(error) <= self.tolerance for error in errors)
            checks.append(Check(oldest, errors, accepted))
        return checks

    def last_check(self, at):
        """Return the last check at or before the reading, or None."""
        before = [
            check for check in self.checks_for(at) if check.at.minute <= at.minute
        ]
        return before[-1] if before else None

    def next_check(self, at):
        """Return the first check after the reading, or None."""
        after = [check for check in self.checks_for(at) if check.at.minute > at.minute]
        return after[0] if after else None

    def is_too_old(self, check, at):
        """Say whether the check is more calendar days old than allowed when the reading is made."""
        return (at.day - check.at.day).days > self.check_every_days


def read_instrument(entry):
    """Make an instrument of its entry in the file."""
    tolerance, unit = DEFAULT_TOLERANCES[entry["measures"]]
    if "tolerance" in entry:
        own = entry["tolerance"]
        tolerance = convert_difference(exact(own["value"]), own["unit"], unit)
    instrument = Instrument(
        entry["id"],
        unit,
        tolerance,
        exact(entry.get("check_every_days", DEFAULT_CHECK_EVERY_DAYS)),
    )
    for check in entry.get("checks", []):
        shown = convert(exact(check["shown"]["value"]), check["shown"]["unit"], unit)
        true = convert(exact(check["true"]["value"]), check["true"]["unit"], unit)
        instrument.singles.append((
            instant(check["at"]),
            shown - true,
            bool(check.get("adjusted", False)),
        ))
    return instrument


@dataclass
class Reading:
    """What was read, and the interval in which the true value lies, in the unit as read."""

    step: str
    quantity: str
    place: str | None
    at: Instant
    unit: str
    value: Fraction
    instrument: str | None = None
    lo: Fraction = None
    hi: Fraction = None


def give_interval(reading, instruments):
    """Find the interval of one reading."""
    reading.lo = reading.hi = reading.value
    kind = measured_as(reading.quantity)
    # Laboratory results, thickness, mass, humidity: points.
    if kind is None:
        return
    # No instrument named: the default tolerance on both sides.
    if reading.instrument is None:
        tolerance, unit = DEFAULT_TOLERANCES[kind]
        width = convert_difference(tolerance, unit, reading.unit)
        reading.lo -= width
        reading.hi += width
        return
    instrument = instruments[reading.instrument]
    last = instrument.last_check(reading.at)
    following = instrument.next_check(reading.at)
    # A known error, before or after, casts doubt on one side; it never improves the reading.
    errors = [Fraction(0)]
    for check in (last, following):
        if check is not None:
            errors += check.errors
    reading.lo -= convert_difference(max(errors), instrument.unit, reading.unit)
    reading.hi -= convert_difference(min(errors), instrument.unit, reading.unit)
    # The last check missing, too old or not accepted: the tolerance on both sides besides.
    if last is None or instrument.is_too_old(last, reading.at) or not last.accepted:
        width = convert_difference(instrument.tolerance, instrument.unit, reading.unit)
        reading.lo -= width
        reading.hi += width


@dataclass
class Moment:
    """The readings of one quantity at one place and instant, taken as one."""

    at: Fraction
    parts: list

    def is_of(self, step):
        """Say whether one of the parts belongs to the step."""
        return any(part.step == step for part in self.parts)

    def is_of_other_than(self, step):
        """Say whether one of the parts belongs to another step."""
        return any(part.step != step for part in self.parts)


def merge(readings):
    """Put readings in time order and make those of one instant one."""
    moments = {}
    for reading in readings:
        moments.setdefault(reading.at.minute, []).append(reading)
    return [Moment(minute, moments[minute]) for minute in sorted(moments)]


@dataclass
class Window:
    """When a step ran; ``end`` None while it goes on, ``reach`` the last instant inside."""

    start: Instant
    end: Instant | None
    reach: Fraction

    def contains(self, reading):
        """Say whether the reading lies inside, both edges included."""
        return self.start.minute <= reading.at.minute <= self.reach


@dataclass
class Batch:
    """Everything a file says about one batch, made plain."""

    judged_at: Instant
    instruments: dict
    windows: dict
    readings: list
    statements: dict
    dates: dict

    def of(self, steps, quantity):
        """List the readings of the quantity in any of the steps."""
        return [r for r in self.readings if r.step in steps and r.quantity == quantity]

    def is_inside(self, reading):
        """Say whether a reading lies in the window of its step; without a window it does."""
        window = self.windows.get(reading.step)
        return window is None or window.contains(reading)


def plain_readings(doc):
    """List every typed reading and every value of a trace, which means the same."""
    readings = [
        _reading(entry, entry["value"], instant(entry["at"]))
        for entry in doc.get("readings", [])
    ]
    for trace in doc.get("traces", []):
        for number, value in enumerate(trace["values"]):
            if "at" in trace:
                at = instant(trace["at"][number])
            else:
                at = later(trace["start"], number * exact(trace["every_s"]))
            readings.append(_reading(trace, value, at))
    return readings


def _reading(entry, value, at):
    return Reading(
        entry["step"],
        entry["quantity"],
        entry.get("place"),
        at,
        entry["unit"],
        exact(value),
        entry.get("instrument"),
    )


def water_phase_salt(readings):
    """Make one value of all pairs of salt and moisture of one step, place and instant."""
    salts, moistures = {}, {}
    for reading in readings:
        key = (reading.step, reading.place, reading.at.minute)
        if reading.quantity == "salt":
            salts.setdefault(key, []).append(reading)
        if reading.quantity == "moisture":
            moistures.setdefault(key, []).append(reading)
    made = []
    for key, some in salts.items():
        values = [
            100 * salt.value / (salt.value + moisture.value)
            for salt in some
            for moisture in moistures.get(key, [])
        ]
        if values:
            first = some[0]
            whole = Reading(
                first.step,
                "water-phase-salt",
                first.place,
                first.at,
                "percent",
                values[0],
            )
            whole.lo, whole.hi = min(values), max(values)
            made.append(whole)
    return made


def read_batch(doc):
    """Make a plain batch of a batch-file document."""
    judged_at = instant(doc["judged_at"])
    instruments = {}
    for entry in doc.get("instruments", []):
        instruments[entry["id"]] = read_instrument(entry)
    windows = {}
    for entry in doc.get("windows", []):
        end = None if entry.get("end") is None else instant(entry["end"])
        reach = judged_at.minute if end is None else end.minute
        windows[entry["step"]] = Window(instant(entry["start"]), end, reach)
    readings = plain_readings(doc)
    for reading in readings:
        give_interval(reading, instruments)
    readings += water_phase_salt(readings)
    return Batch(
        judged_at,
        instruments,
        windows,
        readings,
        {entry["what"]: entry["complies"] for entry in doc.get("statements", [])},
        {entry["what"]: instant(entry["at"]) for entry in doc.get("dates", [])},
    )
