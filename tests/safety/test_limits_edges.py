"""Every published figure just inside, exactly on and just outside its edge.

The cases are made from the data, so a new figure is tested without anyone writing a
test. One step is a tenth of the last printed digit.
"""

import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from safety.controls import STEPS
from safety.judge import evidence, judge_batch
from safety.judge.finding import Status
from safety.limits import all_published
from safety.limits.model import (
    Combination,
    CoolLimit,
    DwellLimit,
    ExposureLimit,
    StatedLimit,
    StayLimit,
    ValueLimit,
    WithinLimit,
)
from safety.quantities import QUANTITIES

START = datetime(2026, 5, 4, 8, tzinfo=UTC)
LATE = START + timedelta(days=20)
MET, MISSED, NOT_SHOWN = Status.MET, Status.MISSED, Status.NOT_SHOWN


def members(limit, control_point, step=None):
    """Yield every plain limit of a published one, standing by itself."""
    step = limit.step or step or (control_point if control_point in STEPS else None)
    if isinstance(limit, Combination):
        for member in limit.limits:
            yield from members(member, control_point, step)
    else:
        yield replace(limit, control_point=control_point, step=step)


PLAIN = [
    pytest.param(limit, id=f"{published.limit.id}/{limit.id}")
    for published in all_published()
    for limit in members(published.limit, published.limit.control_point)
]


def of_kind(*kinds):
    return [param for param in PLAIN if type(param.values[0]) in kinds]


def step_of(value):
    """Return a tenth of the last printed digit."""
    return Decimal(1).scaleb(value.as_tuple().exponent - 1)


def minutes_after(minutes):
    return START + timedelta(microseconds=math.ceil(Decimal(minutes) * 60_000_000))


def instrument_of(quantity):
    """Return an instrument without error, checked before and after every reading."""
    kind = QUANTITIES[quantity].instrument
    if kind is None:
        return None
    unit = {"temperature": "degF", "ph": "1", "water-activity": "1"}[kind]
    true = evidence.Amount(Decimal(0), unit)
    checks = tuple(
        evidence.Check(at=at, method="reference", shown=true, true=true)
        for at in (START - timedelta(days=1), LATE)
    )
    return evidence.Instrument(id="exact", measures=kind, checks=checks)


def status_of(limit, readings=(), *, window=None, windows=(), statements=(), dates=()):
    """Judge one limit alone; ``readings`` are (minute, value, unit[, step])."""
    quantity = getattr(limit, "quantity", None)
    instrument = instrument_of(quantity) if quantity else None
    if window is not None:
        windows = ((limit.step, *window),)
    batch = evidence.Batch(
        judged_at=LATE,
        instruments=() if instrument is None else (instrument,),
        windows=tuple(
            evidence.Window(
                step=step, start=minutes_after(start), end=minutes_after(end)
            )
            for step, start, end in windows
        ),
        readings=tuple(
            evidence.Reading(
                step=step[0] if step else limit.step,
                quantity=quantity,
                at=minutes_after(minute),
                value=value,
                unit=unit,
                place="A",
                instrument=instrument.id if instrument else None,
            )
            for minute, value, unit, *step in readings
        ),
        statements=tuple(statements),
        dates=tuple(dates),
        limits=(limit,),
    )
    findings = [f for f in judge_batch(batch).findings if f.limit_id == limit.id]
    assert len(findings) == 1
    return findings[0].status


def printed(limit):
    """Return each figure of the page with its unit."""
    return [(limit.value, limit.unit), *((v, u) for u, v in limit.also.items())]


def inside_and_outside(limit, value):
    """Return a value one step on the right side, and one on the wrong side."""
    step = step_of(value) if limit.kind.endswith("at_least") else -step_of(value)
    return value + step, value - step


def test_there_are_limits_of_every_kind_that_the_data_use():
    kinds = {type(param.values[0]) for param in PLAIN}
    assert kinds == {
        ValueLimit, DwellLimit, StayLimit, CoolLimit, ExposureLimit, WithinLimit,
        StatedLimit,
    }  # fmt: skip


@pytest.mark.parametrize("limit", PLAIN)
def test_nothing_on_record_is_not_shown(limit):
    assert status_of(limit) is NOT_SHOWN


@pytest.mark.parametrize("limit", of_kind(ValueLimit))
def test_edges_of_a_value(limit):
    for value, unit in printed(limit):
        inside, outside = inside_and_outside(limit, value)
        assert status_of(limit, [(0, inside, unit)]) is MET
        assert status_of(limit, [(0, outside, unit)]) is MISSED
        on_the_edge = MISSED if limit.strict else MET
        assert status_of(limit, [(0, value, unit)]) is on_the_edge


def spaced(until, apart):
    """Return minutes from 0 to ``until``, no further apart than that."""
    count = math.ceil(until / apart)
    return [min(apart * place, until) for place in range(count + 1)]


@pytest.mark.parametrize("limit", of_kind(DwellLimit))
def test_edges_of_a_hold(limit):
    for value, unit in printed(limit):
        inside, outside = inside_and_outside(limit, value)
        held = spaced(limit.minutes, limit.check_every_min)
        window = (0, limit.minutes)
        for enough in (inside, value):
            readings = [(minute, enough, unit) for minute in held]
            assert status_of(limit, readings, window=window) is MET
        too_cold = [(minute, outside, unit) for minute in held]
        assert status_of(limit, too_cold, window=window) is MISSED


HELD = [param for param in of_kind(DwellLimit) if param.values[0].minutes]
INSTANT = [param for param in of_kind(DwellLimit) if not param.values[0].minutes]


def test_there_are_holds_and_instants():
    assert HELD
    assert INSTANT


@pytest.mark.parametrize("limit", INSTANT)
def test_an_instant_is_met_by_one_reading_and_missed_by_none(limit):
    for value, unit in printed(limit):
        inside, outside = inside_and_outside(limit, value)
        around = [(0, outside, unit), (10, inside, unit), (20, outside, unit)]
        assert status_of(limit, around, window=(0, 20)) is MET
        never = [(0, outside, unit), (20, outside, unit)]
        assert status_of(limit, never, window=(0, 20)) is MISSED


@pytest.mark.parametrize("limit", HELD)
def test_a_hold_that_is_too_short_is_missed_and_a_gap_is_not_shown(limit):
    inside, outside = inside_and_outside(limit, limit.value)
    tenth = limit.minutes / 10
    short = [
        (0, outside, limit.unit),
        *(
            (tenth + at, inside, limit.unit)
            for at in spaced(7 * tenth, limit.check_every_min)
        ),
        (9 * tenth, outside, limit.unit),
    ]
    assert status_of(limit, short, window=(0, limit.minutes)) is MISSED
    gap = limit.check_every_min + 1 + limit.minutes
    apart = [(0, inside, limit.unit), (gap, inside, limit.unit)]
    assert status_of(limit, apart, window=(0, gap)) is NOT_SHOWN


@pytest.mark.parametrize("limit", of_kind(StayLimit))
def test_edges_of_a_cold_place(limit):
    apart = limit.check_every_min
    for value, unit in printed(limit):
        inside, outside = inside_and_outside(limit, value)
        for last, expected in (
            (inside, MET), (value, MISSED if limit.strict else MET), (outside, MISSED),
        ):  # fmt: skip
            readings = [(0, inside, unit), (apart, last, unit)]
            assert status_of(limit, readings, window=(0, apart)) is expected
        gap = [(0, inside, unit), (apart + 1, inside, unit)]
        assert status_of(limit, gap, window=(0, apart + 1)) is NOT_SHOWN


@pytest.mark.parametrize("limit", of_kind(CoolLimit))
def test_edges_of_a_cooling(limit):
    pairs = [(limit.from_value, limit.to_value, limit.unit)]
    pairs += [(*pair, unit) for unit, pair in limit.also.items()]
    late, second = limit.minutes + 1, Decimal(1) / 60
    windows = [("heating", -60, 0), ("cooling", 0, late + 60)]
    for start, end, unit in pairs:
        step = step_of(end)
        hot = (0, start, unit, "heating")

        def judged(*readings, hot=hot):
            return status_of(limit, [hot, *readings], windows=windows)

        assert judged((limit.minutes, end, unit, "cooling")) is MET
        assert judged((limit.minutes, end + step, unit, "cooling")) is NOT_SHOWN
        assert judged((late, end, unit, "cooling")) is NOT_SHOWN
        slow = [
            (second, start - step, unit, "cooling"),
            (late, end + step, unit, "cooling"),
            (late + 1, end, unit, "cooling"),
        ]
        assert judged(*slow) is MISSED


@pytest.mark.parametrize("limit", of_kind(ExposureLimit))
def test_edges_of_an_exposure(limit):
    step = limit.steps[0]
    for band in limit.bands:
        warm = band.above + step_of(band.above)
        touched = [other for other in limit.bands if other.above < warm]
        allowed = min(other.minutes for other in touched)

        def judged(value, minutes, warm_step=step):
            times = spaced(minutes, limit.check_every_min)
            readings = [(at, value, limit.unit, warm_step) for at in times]
            return status_of(limit, readings, windows=[(warm_step, 0, minutes)])

        assert judged(warm, allowed) is MET
        assert judged(warm, allowed + 1) is MISSED
        lower = [other.minutes for other in limit.bands if other.above < band.above]
        still = min([*lower, allowed * 2])
        assert judged(band.above, still) is MET


@pytest.mark.parametrize("limit", of_kind(WithinLimit))
def test_edges_of_a_date(limit):
    step, _, edge = limit.of.partition(".")
    assert edge == "end"
    day = timedelta(days=1)

    def judged(at):
        named = evidence.NamedDate(limit.what, at)
        return status_of(limit, windows=[(step, -60, 0)], dates=[named])

    assert judged(START) is MET
    assert judged(START + int(limit.days) * day) is MET
    assert judged(START + (int(limit.days) + 1) * day) is MISSED
    assert judged(START - day) is NOT_SHOWN


@pytest.mark.parametrize("limit", of_kind(StatedLimit))
def test_edges_of_a_statement(limit):
    for complies, expected in ((True, MET), (False, MISSED)):
        stated = evidence.Statement(limit.what, complies)
        assert status_of(limit, statements=[stated]) is expected
