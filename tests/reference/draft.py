"""The records of a random batch file while they are being drawn."""

import datetime
import itertools
from decimal import Decimal

from tests.reference.draft_instruments import random_instrument

TEMPERATURES = (
    "core-temperature",
    "surface-temperature",
    "air-temperature",
    "water-temperature",
    "product-temperature",
)
STEPS = (
    "receiving",
    "freezing",
    "thawing",
    "curing",
    "drying",
    "heating",
    "cooling",
    "packing",
    "cold-holding",
)
# A figure in two units as it might be printed: close to each other, seldom equal.
PAIRS = {
    "temperature": (
        (("degF", "145"), ("degC", "62.8")),
        (("degF", "135"), ("degC", "57.2")),
        (("degF", "41"), ("degC", "5")),
        (("degF", "40"), ("degC", "4.4")),
        (("degC", "-20"), ("degF", "-4")),
        (("degC", "21.1"), ("degF", "70")),
        (("degC", "62.7"), ("degF", "145")),
    ),
    "ph": ((("1", "4.6"),), (("1", "5"),)),
    "water-activity": ((("1", "0.85"),), (("1", "0.97"),)),
    "water-phase-salt": ((("percent", "3.5"),), (("percent", "20"),)),
    "relative-humidity": ((("percent", "80"),),),
    "nitrite": ((("ppm", "100"),), (("ppm", "200"),)),
    "thickness": ((("mm", "25"), ("in", "1")), (("in", "1"), ("mm", "25.4"))),
    "mass": (
        (("lb", "1"), ("g", "454")),
        (("g", "453.59237"), ("oz", "16")),
        (("kg", "1"), ("lb", "2.2")),
    ),
}
GRIDS = {"degF": "0.5", "degC": "0.5", "mm": "0.2", "in": "0.1", "percent": "0.5"}
FINE = {"ph": "0.01", "water-activity": "0.005"}
# Pairs of salt and moisture that make a round, or nearly round, water phase salt.
SALTS = (("3.5", "96.5"), ("20", "80"), ("2.1", "57.9"), ("2.8", "60"), ("3", "12"))
BASE = datetime.datetime(2026, 5, 2, 8, tzinfo=datetime.UTC)
OFFSETS_MIN = (-420, -420, -420, -420, -420, -360, 0, 330)
SLOT_MIN = 5
GAPS_MIN = (5, 10, 15, 20, 30, 60)


def number(text):
    """Return the decimal as JSON would carry it: a whole number where it is one."""
    value = Decimal(text)
    return int(value) if value == value.to_integral_value() else float(value)


class Draft:
    """A batch file in the making; every draw comes from one generator of random numbers."""

    def __init__(self, rng):
        self.rng = rng
        self.horizon_min = rng.choice((60, 120, 180, 300))
        self.now_min = self.horizon_min + rng.choice((0, 0, 5, 60, 1500, 43200))
        # A careful batch: closed windows, read from start to end at regular times.
        self.is_careful = rng.random() < 0.4
        self.every_min = rng.choice((5, 10, 15, 30))
        self.steps = sorted({*rng.sample(STEPS, 3), "heating", "cooling", "packing"})
        self.places = rng.sample((None, "A", "B"), rng.choice((1, 1, 2, 3)))
        self.instruments = {}
        self.windows = {}
        self.readings = []
        self.traces = []
        self.statements = {}
        self.dates = {}
        self.drawn = set()
        self.count = 0

    def new_id(self):
        """Return an id that no other limit of the file has."""
        self.count += 1
        return f"limit-{self.count}"

    def stamp(self, minute):
        """Write an instant, now and then in another offset than the usual one."""
        offset = datetime.timedelta(minutes=self.rng.choice(OFFSETS_MIN))
        moment = BASE + datetime.timedelta(minutes=minute)
        return moment.astimezone(datetime.timezone(offset)).isoformat()

    def slots(self, low, high):
        """Return the instants of the grid from low to high."""
        return range(low, high + 1, SLOT_MIN)

    def figures(self, quantity):
        """Draw a figure for a quantity, in one unit or in two."""
        kind = "temperature" if quantity in TEMPERATURES else quantity
        return self.rng.choice(PAIRS[kind])

    def gap(self):
        """Draw the longest gap allowed; a careful batch mostly keeps to it."""
        if self.is_careful:
            return self.rng.choice((self.every_min, self.every_min, 60))
        return self.rng.choice(GAPS_MIN)

    def add_date(self, what, minute):
        """Put a date on record, unless it already is."""
        if what not in self.dates:
            self.dates[what] = self.stamp(minute)

    def add_window(self, step):
        """Draw the window of a step once: none, open, or closed."""
        if ("window", step) in self.drawn:
            return
        self.drawn.add(("window", step))
        rng = self.rng
        if self.is_careful and rng.random() < 0.9:
            long = min(self.horizon_min // self.every_min, rng.randint(2, 7))
            self.windows[step] = (0, long * self.every_min)
            return
        drawn = rng.random()
        if drawn < 0.15:
            return
        start = rng.choice(self.slots(0, self.horizon_min // 4))
        if drawn < 0.35:
            self.windows[step] = (start, None)
            return
        end = rng.choice(
            self.slots(max(start, self.horizon_min // 2), self.horizon_min)
        )
        if rng.random() < 0.05:
            end = start
        self.windows[step] = (start, end)

    def instrument_for(self, quantity):
        """Return the id of an instrument for the quantity, None for none at all."""
        kind = "temperature" if quantity in TEMPERATURES else quantity
        if kind not in {"temperature", "ph", "water-activity"}:
            return None
        name = self.rng.choice((
            f"{kind}-1",
            f"{kind}-1",
            f"{kind}-1",
            f"{kind}-2",
            None,
        ))
        if name is not None and name not in self.instruments:
            self.instruments[name] = random_instrument(self, name, kind)
        return name

    def value_near(self, quantity, pair, direction, mood):
        """Draw (value, unit) near a figure: complying with the likelihood ``mood``."""
        rng = self.rng
        unit, figure = pair[0] if rng.random() < 0.75 else rng.choice(pair)
        grid = Decimal(FINE.get(quantity) or GRIDS.get(unit, "1"))
        away = grid * rng.choice((0, 0, 0, 1, 1, 2, 3, 4, 5, 8, 20))
        if rng.random() >= mood:
            away = -away
        value = Decimal(figure) + away * direction
        if value <= 0 and quantity not in TEMPERATURES:
            value = Decimal(figure)
        return number(value), unit

    def times(self, step, most=8):
        """Draw the instants of a series: regular, or anywhere, some equal or outside."""
        rng = self.rng
        start, end = self.windows.get(step, (0, self.horizon_min))
        end = self.horizon_min if end is None else end
        count = rng.choice((0, 1, 1, 2, 3, 3, 4, 4, 5, 6, 7, 8))
        count = min(count, most)
        if self.is_careful and rng.random() < 0.8:
            count = min((end - start) // self.every_min + 1, 8)
            minutes = [start + self.every_min * position for position in range(count)]
        elif rng.random() < 0.5:
            every = rng.choice((5, 10, 15, 30))
            first = start + rng.choice((0, 0, 0, 5, 15))
            minutes = [first + every * position for position in range(count)]
        else:
            slots = self.slots(start, end)
            minutes = sorted(rng.choice(slots) for _ in range(count))
        if minutes and rng.random() < 0.15:
            minutes.append(rng.choice(minutes))
        if minutes and rng.random() < 0.15:
            minutes[rng.randrange(len(minutes))] = rng.choice((
                start - 10,
                end,
                end + 10,
            ))
        return sorted(minute for minute in minutes if minute <= self.now_min)

    def add_readings(self, step, quantity, pair, direction=1):
        """Draw, once, the readings of a quantity in a step at every place."""
        self.add_window(step)
        if (step, quantity) in self.drawn:
            return
        self.drawn.add((step, quantity))
        rng = self.rng
        pair = pair or self.figures(quantity)
        by_parts = quantity == "water-phase-salt" and rng.random() < 0.6
        for place in self.places:
            mood = rng.choice((0.2, 0.5, 0.8, 0.95, 1))
            minutes = self.times(step)
            if by_parts:
                self._add_salt_and_moisture(step, place, minutes)
                continue
            values = [self.value_near(quantity, pair, direction, mood) for _ in minutes]
            self.add_series(step, quantity, place, minutes, values)

    def _add_salt_and_moisture(self, step, place, minutes):
        rng = self.rng
        for minute in minutes:
            salt, moisture = rng.choice(SALTS)
            pieces = [("salt", salt), ("moisture", moisture)]
            if rng.random() < 0.2:
                pieces.append(rng.choice((("salt", "3.6"), ("moisture", "95"))))
            if rng.random() < 0.1:
                pieces.pop(0)
            if rng.random() < 0.1:
                pieces.append(("water-phase-salt", "3.5"))
            for quantity, value in pieces:
                values = [(number(value), "percent")]
                self.add_series(step, quantity, place, [minute], values)

    def add_cooling(self, steps, quantity, hot, cold):
        """Draw a series that mostly falls from above one figure to below another."""
        rng = self.rng
        for step in steps:
            self.add_window(step)
        if "heating" not in steps and rng.random() < 0.5:
            self.add_window("heating")
        if rng.random() < 0.1:
            self._add_cold_arrivals(steps, quantity, cold)
            return
        if rng.random() < 0.5:
            self._make_windows_follow(steps)
        for place in self.places:
            for step in steps:
                if rng.random() < 0.15:
                    continue
                self._add_cooling_step(step, quantity, place, hot, cold)

    def _add_cold_arrivals(self, steps, quantity, cold):
        """Draw a batch that was never heated and, mostly, never warm."""
        self.windows.pop("heating", None)
        if self.rng.random() < 0.3:
            heated = self.rng.choice((quantity, "air-temperature"))
            value = self.value_near(heated, cold, 1, 0.5)
            place = self.rng.choice(self.places)
            self.add_series("heating", heated, place, [0], [value])
        step = next((step for step in steps if step != "heating"), "cooling")
        for place in self.places:
            minutes = self.times(step, most=3)
            mood = self.rng.choice((0, 0, 0.3))
            values = [self.value_near(quantity, cold, 1, mood) for _ in minutes]
            self.add_series(step, quantity, place, minutes, values)

    def _make_windows_follow(self, steps):
        """Let one step begin where the one before it ends, as in a real day."""
        part = self.horizon_min // (SLOT_MIN * len(steps)) * SLOT_MIN
        for position, step in enumerate(steps):
            self.windows[step] = (part * position, part * (position + 1))

    def _add_cooling_step(self, step, quantity, place, hot, cold):
        rng = self.rng
        minutes = self.times(step, most=5)
        values = []
        for position in range(len(minutes)):
            fallen = position >= rng.randint(1, 4) or rng.random() < 0.1
            if step == "heating":
                pair, mood = hot, 0.8
            elif fallen:
                pair, mood = cold, 0.3
            else:
                pair, mood = hot, 0.3
            values.append(self.value_near(quantity, pair, 1, mood))
        self.add_series(step, quantity, place, minutes, values)

    def add_series(self, step, quantity, place, minutes, values):
        """Record a series as typed readings or, where its shape allows, as a trace."""
        rng = self.rng
        units = {unit for _, unit in values}
        is_rising = all(a < b for a, b in itertools.pairwise(minutes))
        named = self.instrument_for(quantity)
        if len(units) == 1 and is_rising and rng.random() < 0.15:
            self._add_trace(step, quantity, place, minutes, values, named)
            return
        for minute, (value, unit) in zip(minutes, values, strict=True):
            reading = {"step": step, "quantity": quantity}
            if place is not None or rng.random() < 0.3:
                reading["place"] = place
            reading |= {"at": self.stamp(minute), "value": value, "unit": unit}
            if rng.random() < 0.05:
                named = self.instrument_for(quantity)
            if named is not None:
                reading["instrument"] = named
            if rng.random() < 0.05:
                reading["entered_at"] = self.stamp(min(minute + 40, self.now_min))
            self.readings.append(reading)

    def _add_trace(self, step, quantity, place, minutes, values, named):
        trace = {"step": step, "quantity": quantity, "unit": values[0][1]}
        if place is not None:
            trace["place"] = place
        if named is not None:
            trace["instrument"] = named
        steps = {b - a for a, b in itertools.pairwise(minutes)}
        if len(steps) == 1:
            trace["start"] = self.stamp(minutes[0])
            trace["every_s"] = steps.pop() * 60
        else:
            trace["at"] = [self.stamp(minute) for minute in minutes]
        trace["values"] = [value for value, _ in values]
        self.traces.append(trace)

    def document(self, limits):
        """Return the finished batch file."""
        rng = self.rng
        if rng.random() < 0.3:
            rng.shuffle(self.readings)
        doc = {
            "format": "brinewright.batch/1",
            "judged_at": self.stamp(self.now_min),
            "product": {"name": "Invented trial lot"},
            "batch": {"code": "T-1"},
            "instruments": list(self.instruments.values()),
            "windows": [
                {
                    "step": step,
                    "start": self.stamp(start),
                    "end": None if end is None else self.stamp(end),
                }
                for step, (start, end) in self.windows.items()
            ],
            "readings": self.readings,
            "traces": self.traces,
            "statements": [
                {"what": what, "complies": complies}
                for what, complies in self.statements.items()
            ],
            "dates": [{"what": what, "at": at} for what, at in self.dates.items()],
            "limits": limits,
        }
        optional = (
            "instruments",
            "windows",
            "readings",
            "traces",
            "statements",
            "dates",
        )
        for part in optional:
            if not doc[part] and rng.random() < 0.7:
                del doc[part]
        return doc
