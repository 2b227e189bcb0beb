"""No value is rounded, no instant moved: an equality is an equality, however written."""

import json
from datetime import datetime, timedelta, timezone
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safety.judge import judge_batch, read_batch, write_batch
from tests.reference.generate import batch_docs
from tests.safety.judge.documents import (
    NOW,
    OUT,
    START,
    at,
    check,
    document,
    finding,
    instruments,
    limit,
    read,
    reading,
    sample,
    temperature,
    trace,
    window,
)

LONG = "145.0000000000000000000000001"  # 25 decimals
NEARLY = "144.9999999999999999999999999"


def with_digits(whole, **digits):
    """Write a document in which each named text stands as a number of these digits."""
    text = json.dumps(whole)
    for name, number in digits.items():
        text = text.replace(f'"{name}"', number)
    return text


def status_of(text, place="A"):
    found = judge_batch(read(text)).findings
    return next(
        f.status.value for f in found if (f.limit_id, f.place) == ("core", place)
    )


@pytest.mark.parametrize(
    ("digits", "asked"),
    [
        ("145", {}),
        ("145.0", {}),
        ("145.00", {}),
        ("1.45e2", {}),
        ("145.0000000000000000000000000", {}),
        (LONG, {}),
        (LONG, {"strict": True}),
        ("145.01", {"strict": True}),
        ("62.8", {"value": 62.8, "unit": "degC"}),
        ("20000000000000000000000", {}),
    ],
)
def test_at_or_above_is_met(digits, asked):
    unit = asked.get("unit", "degF")
    whole = document(
        limits=[limit("at_least", **asked)], readings=[reading(60, "x", unit=unit)]
    )
    assert status_of(with_digits(whole, x=digits)) == "met"


@pytest.mark.parametrize(
    ("digits", "asked"),
    [
        ("144.99", {}),
        (NEARLY, {}),
        ("145", {"strict": True}),
        ("145.0000000000000000000000000", {"strict": True}),
        ("-20000000000000000000000", {}),
        ("0", {}),
        ("-0.0", {}),
    ],
)
def test_below_is_missed(digits, asked):
    whole = document(limits=[limit("at_least", **asked)], readings=[reading(60, "x")])
    assert status_of(with_digits(whole, x=digits)) == "missed"


@pytest.mark.parametrize(("figure", "status"), [(LONG, "missed"), (NEARLY, "met")])
def test_figure_of_a_limit_may_be_as_long(figure, status):
    whole = document(limits=[limit("at_least", value="x")], readings=[reading(60, 145)])
    assert status_of(with_digits(whole, x=figure)) == status


@pytest.mark.parametrize(("last", "status"), [(LONG, "met"), (NEARLY, "not shown")])
def test_long_and_short_values_share_a_series(last, status):
    rows = [reading(60, 145.0), reading(75, 63, unit="degC"), reading(90, "x")]
    assert status_of(with_digits(document(readings=rows), x=last)) == status


def test_long_value_beside_a_trace():
    logged = trace([145.5, 145.25], step="heating") | {"start": at(60), "every_s": 900}
    whole = document(readings=[reading(90, "x")], traces=[logged])
    assert status_of(with_digits(whole, x=LONG)) == "met"
    assert status_of(with_digits(whole, x=NEARLY)) == "not shown"


@pytest.mark.parametrize(
    ("lowest", "status"),
    [("145.00000000000000", "met"), ("144.99999999999999", "missed")],
)
def test_trace_holds_as_many_digits_as_64_bits(lowest, status):
    logged = trace([200, "x"], step="heating") | {"start": at(60), "every_s": 60}
    whole = document(limits=[limit("at_least")], readings=[], traces=[logged])
    assert status_of(with_digits(whole, x=lowest)) == status


def test_observed_figures_are_exact():
    third = finding(
        limits=[limit("at_least", value=60, unit="degC")], readings=[reading(60, 145)]
    )
    assert third.observed == {"lowest": Fraction(565, 9), "highest": Fraction(565, 9)}
    assert third.as_json()["observed"]["lowest"] == 565 / 9


# ------------------------------------------------------------------ time


@pytest.mark.parametrize(
    ("seconds", "status"),
    [
        ("11:30:00", "met"),
        ("11:30:00.000001", "met"),
        ("11:29:59.999999", "not shown"),
        ("11:30", "met"),
    ],
)
def test_duration_is_exact_to_the_microsecond(seconds, status):
    rows = [reading(60, 147), reading(75, 147), reading(80, 147)]
    rows.append(reading(0, 147) | {"at": f"2026-05-02T{seconds}-07:00"})
    assert status_of(json.dumps(document(readings=rows))) == status


@pytest.mark.parametrize("late_us", [0, 1, -1])
def test_gap_is_exact_to_the_microsecond(late_us):
    """Of two neighbouring gaps one is too long unless both are what is allowed."""
    middle = START + timedelta(minutes=75, microseconds=late_us)
    rows = [reading(60, 147), reading(90, 147)]
    rows.append(reading(0, 147) | {"at": middle.isoformat()})
    status = "not shown" if late_us else "met"
    assert status_of(json.dumps(document(readings=rows))) == status


@pytest.mark.parametrize(
    ("minutes", "every", "status"),
    [("0.1", 6, "met"), ("0.1000000001", 6, "not shown"), ("0.3", 18, "met")],
)
def test_minutes_of_a_limit_are_no_binary_fractions(minutes, every, status):
    logged = trace([150, 150], step="heating") | {"start": at(60), "every_s": every}
    whole = document(limits=[limit(minutes="x")], readings=[], traces=[logged])
    assert status_of(with_digits(whole, x=minutes)) == status


def test_interval_of_a_trace_is_no_binary_fraction():
    logged = trace([150] * 601, step="heating") | {"start": at(60), "every_s": 0.1}
    asked = limit(minutes=1, check_every_min=1)
    whole = document(limits=[asked], readings=[], traces=[logged])
    assert status_of(json.dumps(whole)) == "met"
    logged["values"].pop()
    assert status_of(json.dumps(whole)) == "not shown"


def test_one_instant_in_two_offsets_is_one():
    elsewhere = START + timedelta(minutes=75)
    same = elsewhere.astimezone(timezone(timedelta(hours=5, minutes=45))).isoformat()
    rows = [reading(60, 147), reading(75, 147), reading(90, 147)]
    rows.append(reading(0, 144) | {"at": same})
    assert status_of(json.dumps(document(readings=rows))) == "not shown"
    assert status_of(json.dumps(document(readings=rows[:3]))) == "met"


# ----------------------------------------------------------------- units


@pytest.mark.parametrize(
    ("value", "unit", "printed", "status"),
    [
        (57.2, "degC", True, "met"),
        (57.2, "degC", False, "missed"),
        (57.19, "degC", True, "missed"),
        (134.96, "degF", True, "missed"),
        (57.23, "degC", False, "met"),
        (57.222, "degC", False, "missed"),
    ],
)
def test_reading_is_compared_with_the_figure_printed_in_its_unit(
    value, unit, printed, status
):
    also = {"printed_also": temperature(57.2, "degC")} if printed else {}
    found = finding(
        limits=[limit("at_least", value=135, **also)],
        readings=[reading(60, value, unit=unit)],
    )
    assert found.status.value == status


def test_each_reading_of_one_instant_is_compared_in_its_own_unit():
    also = {"value": 135, "printed_also": temperature(57.2, "degC")}
    pair = [reading(75, 135), reading(75, 57.2, unit="degC")]
    rows = [reading(60, 135), *pair, reading(90, 57.2, unit="degC")]
    assert finding(limits=[limit(**also)], readings=rows).status.value == "met"
    rows[1] = reading(75, 134.96)
    assert finding(limits=[limit(**also)], readings=rows).status.value == "not shown"


@pytest.mark.parametrize(
    ("quantity", "value", "unit", "asked", "asked_unit", "status"),
    [
        ("thickness", 1, "in", 25.4, "mm", "met"),
        ("thickness", 1.0001, "in", 25.4, "mm", "missed"),
        ("mass", 1, "lb", 453.59237, "g", "met"),
        ("mass", 16, "oz", 1, "lb", "met"),
        ("mass", 16.001, "oz", 1, "lb", "missed"),
        ("mass", 1, "lb", 0.453592369, "kg", "missed"),
    ],
)
def test_units_are_converted_exactly(quantity, value, unit, asked, asked_unit, status):
    one = reading(60, value, quantity=quantity, unit=unit, instrument=None)
    at_most = limit("at_most", quantity=quantity, value=asked, unit=asked_unit)
    assert finding(limits=[at_most], readings=[one]).status.value == status


@pytest.mark.parametrize(
    ("salt", "moisture", "status"),
    [(2.1, 57.9, "met"), (3.5, 96.5, "met"), (2.1, 57.91, "missed"), (0, 5, "missed")],
)
def test_water_phase_salt_is_exact(salt, moisture, status):
    asked = limit(
        "at_least",
        quantity="water-phase-salt",
        value=3.5,
        unit="percent",
        control_point="packing",
    )
    rows = [sample(9, "salt", salt), sample(9, "moisture", moisture)]
    found = finding(place=None, limits=[asked], readings=rows)
    assert found.status.value == status


def test_water_phase_salt_of_several_results_is_their_hull():
    asked = limit(
        "at_least",
        quantity="water-phase-salt",
        value=3.5,
        unit="percent",
        control_point="packing",
    )
    results = {"salt": (3, 2), "moisture": (60, 70)}
    rows = [sample(9, name, value) for name, pair in results.items() for value in pair]
    found = finding(place=None, limits=[asked], readings=rows)
    assert found.status.value == "not shown"
    assert found.observed == {"lowest": Fraction(200, 72), "highest": Fraction(300, 63)}


@pytest.mark.parametrize(
    ("value", "least", "most"),
    [(40, 0, 0), (40.001, 60, 60), (70, 60, 60), (70.001, 0, 0)],
)
def test_band_is_open_below_and_closed_above(value, least, most):
    rows = [reading(minute, value) for minute in (0, 30, 60)]
    found = finding(
        place=None, limits=[OUT], windows=[window(0, 60)], readings=rows
    ).observed["bands"][0]
    assert (found["least_min"], found["most_min"]) == (least, most)


# ----------------------------------------------------------- instruments


@pytest.mark.parametrize(
    ("shown", "status"),
    [("34", "met"), ("34.0000000000000000000001", "missed"), ("30", "met")],
)
def test_check_is_accepted_up_to_the_tolerance(shown, status):
    whole = document(instruments=instruments(check(0, "x"), check(1440)))
    found = judge_batch(read(with_digits(whole, x=shown))).findings[-1]
    assert found.status.value == status


def test_tolerance_in_another_unit_is_exact():
    """Two degF are 10/9 degC: 1.11 degC is within them and 1.12 degC is not."""
    for shown, status in ((1.11, "met"), (1.12, "missed")):
        one = check(0) | {"shown": temperature(shown, "degC")}
        one["true"] = temperature(0, "degC")
        found = finding("instrument-check", "P1", instruments=instruments(one))
        assert found.status.value == status


def test_error_of_a_check_is_taken_off_exactly():
    thermometer = instruments(check(0, 32.1), check(1440, 32.3))
    value = [limit("at_least")]
    for shown, status in ((145.3, "met"), (145.29, "not shown"), (144.99, "missed")):
        found = finding(
            limits=value, readings=[reading(60, shown)], instruments=thermometer
        )
        assert found.status.value == status
    low = instruments(check(0, 31.9), check(1440))
    for shown, status in ((145, "met"), (144.9, "not shown"), (144.89, "missed")):
        found = finding(limits=value, readings=[reading(60, shown)], instruments=low)
        assert found.status.value == status


@pytest.mark.parametrize(
    ("checked", "read_at", "days", "status"),
    [
        # Clocks go forward on 8 March: the offset changes, the calendar goes on.
        ("2026-03-01T23:59:00-08:00", "2026-03-31T00:01:00-07:00", 30, "met"),
        ("2026-03-01T23:59:00-08:00", "2026-03-31T23:59:00-07:00", 30, "met"),
        ("2026-03-01T23:59:00-08:00", "2026-04-01T00:00:00-07:00", 30, "not shown"),
        ("2026-03-01T00:00:00-08:00", "2026-04-01T00:00:00-07:00", 30, "not shown"),
        ("2026-03-02T07:00:00+00:00", "2026-03-31T23:59:00-07:00", 30, "met"),
        ("2026-03-01T12:00:00-08:00", "2026-03-02T12:00:00-08:00", 0, "not shown"),
        ("2026-03-01T00:00:00-08:00", "2026-03-01T23:59:59-08:00", 0, "met"),
        ("2026-03-01T12:00:00-08:00", "2026-03-02T23:00:00-08:00", 1.9, "met"),
        ("2026-03-01T12:00:00-08:00", "2026-03-03T00:00:00-08:00", 1.9, "not shown"),
        ("1000-03-01T12:00:00-08:00", "2026-03-03T00:00:00-08:00", 1e9, "met"),
    ],
)
@pytest.mark.parametrize("is_logged", [False, True])
def test_age_of_a_check_is_in_calendar_days_of_each_instant(
    checked, read_at, days, status, is_logged
):
    one = check(0) | {"at": checked}
    parts = {"instruments": instruments(one, check_every_days=days), "windows": []}
    if is_logged:
        logged = trace([147], step="heating") | {"at": [read_at]}
        parts |= {"readings": [], "traces": [logged]}
    else:
        parts["readings"] = [reading(0, 147) | {"at": read_at}]
    found = finding("instrument-check", "P1", **parts)
    assert found.status.value == status


@pytest.mark.parametrize("marked", [False, True])
def test_adjusted_check_serves_only_what_came_before(marked):
    failed = check(75, 36, adjusted=marked)
    whole = document(
        instruments=instruments(check(0), failed, check(1440)),
        limits=[limit("at_least")],
        readings=[reading(80, 145)],
    )
    by_limit = {f.limit_id: f for f in judge_batch(read(whole)).findings}
    assert by_limit["core"].status.value == ("met" if marked else "not shown")
    assert by_limit["instrument-check"].status.value == ("met" if marked else "missed")
    whole["readings"][0]["at"] = at(75)
    by_limit = {f.limit_id: f for f in judge_batch(read(whole)).findings}
    assert by_limit["instrument-check"].status.value == "missed"


# ------------------------------------------------- what is written differently


def statuses(whole):
    text = json.dumps(whole, default=float)
    found = judge_batch(read_batch(text, now=NOW)).findings
    return {
        (f.limit_id, f.place, f.control_point): (f.status, f.observed) for f in found
    }


def as_readings(logged):
    start = logged.get("start")
    every = timedelta(seconds=logged.get("every_s", 0))
    shared = {
        k: v for k, v in logged.items() if k not in {"start", "every_s", "at", "values"}
    }
    return [
        shared
        | {
            "value": value,
            "at": logged["at"][i]
            if start is None
            else (datetime.fromisoformat(start) + i * every).isoformat(),
        }
        for i, value in enumerate(logged["values"])
    ]  # fmt: skip


@given(batch_docs())
def test_trace_means_the_same_as_that_many_readings(whole):
    typed = dict(whole, readings=list(whole.get("readings", [])), traces=[])
    for logged in whole.get("traces", []):
        typed["readings"] += as_readings(logged)
    assert statuses(typed) == statuses(whole)


@given(batch_docs(), st.integers(1, 4))
def test_zeros_after_the_last_decimal_mean_nothing(whole, count):
    padded = json.loads(json.dumps(whole, default=float))
    for entry in padded.get("readings", []):
        entry["value"] = f"@{Decimal(str(entry['value']))}"
    text = json.dumps(padded)
    for entry in padded.get("readings", []):
        digits = entry["value"].removeprefix("@")
        zeros = ("" if "." in digits else ".") + "0" * count
        text = text.replace(f'"@{digits}"', digits + zeros)
    found = judge_batch(read_batch(text, now=NOW)).findings
    same = {
        (f.limit_id, f.place, f.control_point): (f.status, f.observed) for f in found
    }
    assert same == statuses(whole)


@given(batch_docs(), st.sampled_from((-366, -7, 1, 30)))
def test_whole_days_later_is_the_same(whole, days):
    def moved(part):
        if isinstance(part, dict):
            return {key: moved(item) for key, item in part.items()}
        if isinstance(part, list):
            return [moved(item) for item in part]
        if isinstance(part, str) and part.startswith("2026-"):
            return (datetime.fromisoformat(part) + timedelta(days=days)).isoformat()
        return part

    shifted = moved(json.loads(json.dumps(whole, default=float)))
    assert statuses(shifted) == statuses(whole)


@given(batch_docs())
def test_celsius_rewritten_as_fahrenheit_is_the_same(whole):
    plain = json.loads(json.dumps(whole, default=float))
    for one in all_limits(plain["limits"]):
        one.pop("printed_also", None)
    rewritten = json.loads(json.dumps(plain))
    for entry in (*rewritten.get("readings", []), *rewritten.get("traces", [])):
        if entry["unit"] == "degC":
            entry["unit"] = "degF"
            if "value" in entry:
                entry["value"] = fahrenheit(entry["value"])
            else:
                entry["values"] = [fahrenheit(value) for value in entry["values"]]
    assert statuses(rewritten) == statuses(plain)


def fahrenheit(value):
    return float(Decimal(str(value)) * 9 / 5 + 32)


def all_limits(limits):
    for one in limits:
        yield one
        yield from all_limits(one.get("limits", []))


def test_long_values_are_written_as_they_were_read():
    whole = with_digits(document(readings=[reading(60, "x")]), x=LONG)
    assert f'"value": {LONG}' in write_batch(read(whole))


@pytest.mark.parametrize(
    "moisture", [{"place": "B"}, {"step": "curing"}, {"at": at(8)}]
)
def test_salt_and_moisture_of_two_samples_make_no_water_phase_salt(moisture):
    asked = limit(
        "at_least",
        quantity="water-phase-salt",
        value=3.5,
        unit="percent",
        control_point="packing",
    )
    rows = [sample(9, "salt", 5), sample(9, "moisture", 60) | moisture]
    found = finding(place=None, limits=[asked], readings=rows)
    assert found.status.value == "not shown"
    assert found.observed == {}


checks_of_a_week = st.lists(
    st.builds(
        check,
        st.integers(-2, 30).map(lambda quarter: quarter * 360),
        st.sampled_from((30, 31.5, 32, 32, 32, 33, 34, 35)),
        adjusted=st.booleans(),
    ),
    max_size=5,
)


@given(checks_of_a_week, st.sampled_from((0, 1, 1.5, 3)), st.integers(0, 7))
def test_trace_of_a_week_trusts_its_instrument_like_single_readings(
    checks, days, start
):
    """The trace crosses midnights, and checks in the very instants of its values."""
    logged = trace([147, 144, 145, 146] * 7, step="heating")
    logged |= {"start": at(start * 360), "every_s": 360 * 60}
    parts = {
        "judged_at": at(60 * 24 * 60),
        "instruments": instruments(*checks, check_every_days=days),
        "windows": [],
        "limits": [limit("at_least", value=140), limit(id="hold", check_every_min=360)],
    }
    as_logged = document(readings=[], traces=[logged], **parts)
    as_typed = document(readings=as_readings(logged), **parts)
    assert statuses(as_logged) == statuses(as_typed)
