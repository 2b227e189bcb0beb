"""The batch file is read whole, or refused at the place that is wrong."""

import json
from datetime import datetime, timedelta
from decimal import Decimal

import pytest

from safety.errors import Refused
from safety.judge import judge_batch, read_batch
from safety.limits.parse import DEEPEST
from tests.safety.judge.documents import (
    NOW,
    at,
    document,
    good,
    put,
    read,
    reading,
    sample,
    trace,
    window,
)
from tests.safety.judge.refusals import FINITE, INSTANT, MEASURABLE, REFUSED


def refusal_of(text):
    with pytest.raises(Refused) as caught:
        read(text)
    refused = caught.value
    return refused.pointer, refused.found, refused.allowed


@pytest.mark.parametrize(
    ("changed", "value", "pointer", "found", "allowed"),
    REFUSED,
    ids=[f"{number} {row[0]}" for number, row in enumerate(REFUSED)],
)
def test_one_wrong_thing_is_refused_where_it_stands(
    changed, value, pointer, found, allowed
):
    text = json.dumps(put(good(), changed, value))
    assert refusal_of(text) == (pointer or changed, found, allowed)


def test_the_good_document_is_read_as_it_is_written():
    batch = read(good())
    assert batch.judged_at.isoformat() == at(2880)
    assert batch.code == "T-1"
    assert batch.product.name == "Invented fish, smoked"
    assert batch.product.facts["nitrite-added"] == "no"
    assert batch.instruments[0].checks[1].adjusted
    assert batch.instruments[1].tolerance is None
    assert [each.step for each in batch.windows] == ["heating", "cooling", "packing"]
    assert batch.windows[2].end is None
    assert batch.readings[1].value == Decimal("63.9")
    assert batch.readings[3].place is None
    assert batch.readings[3].entered_at is None
    assert batch.traces[0].values.tolist() == [1400, 685, 400]
    assert batch.traces[0].decimals == 1
    assert (batch.traces[0].at_us[1] - batch.traces[0].at_us[0]) == 3600 * 10**6
    assert batch.limits[4].bands[1].up_to is None
    assert batch.limits[6].limits[1].limits[0].what == "frozen"


def test_parts_left_out_are_empty_and_the_judgement_is_now():
    batch = read({"format": "brinewright.batch/1"})
    assert batch.judged_at == NOW
    assert batch.limits is None
    assert batch.readings == batch.traces == batch.windows == batch.instruments == ()
    assert batch.product.facts == {}


def test_place_and_instrument_may_be_null():
    batch = read(document(readings=[reading(60, 147) | {"place": None}]))
    assert batch.readings[0].place is None
    nameless = reading(60, 147) | {"instrument": None}
    assert read(document(readings=[nameless])).readings[0].instrument is None


@pytest.mark.parametrize(
    ("bare", "found"),
    [
        ("2026-05-02T11:00:00", "'2026-05-02T11:00:00' (the offset is missing)"),
        ("2026-05-02T11:00", "'2026-05-02T11:00' (the offset is missing)"),
        ("2026-05-02T11:00:00.5", "'2026-05-02T11:00:00.5' (the offset is missing)"),
    ],
)
def test_missing_offset_is_named(bare, found):
    whole = put(good(), "/readings/0/at", bare)
    assert refusal_of(json.dumps(whole)) == ("/readings/0/at", found, INSTANT)


@pytest.mark.parametrize(
    "wrong",
    [
        "2026-05-02", "2026-05-02 11:00:00-07:00", "2026-05-02t11:00:00z",
        "20260502T110000Z", "2026-W18-6T11:00Z", "2026-05-02T11Z",
        "2026-05-02T11:00:00,5Z", "2026-05-02T11:00:60Z", "2026-05-02T24:00:01Z",
        "2026-02-29T11:00:00Z", "2026-05-02T11:00:00+99:00", "2026-05-02T11:00:0000Z",
        "2026-05-02T11:00:00Z\n", "\uff12026-05-02T11:00:00Z", "0000-05-02T11:00:00Z",
        "2026-05-02T11:00:00.0000001Z", "", "now",
    ],
)  # fmt: skip
def test_what_is_no_instant_is_refused(wrong):
    pointer, _, allowed = refusal_of(json.dumps(put(good(), "/readings/0/at", wrong)))
    assert (pointer, allowed) == ("/readings/0/at", INSTANT)


@pytest.mark.parametrize(
    "year", ["0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-12:00"]
)
@pytest.mark.parametrize(
    "pointer", ["/judged_at", "/windows/0/start", "/readings/0/at", "/dates/0/at"]
)
def test_years_that_not_every_offset_can_write_are_refused(pointer, year):
    text = json.dumps(put(good(), pointer, year))
    assert refusal_of(text) == (
        pointer,
        repr(year),
        "a year after 1 and before 9999",
    )


@pytest.mark.parametrize(
    ("written", "same"),
    [
        ("2026-05-02T18:00:00Z", "2026-05-02T11:00:00-07:00"),
        ("2026-05-02T18:00Z", "2026-05-02T11:00:00-07:00"),
        ("2026-05-02T11:00:00-0700", "2026-05-02T11:00:00-07:00"),
        ("2026-05-02T11:00:00.500000000-07:00", "2026-05-02T11:00:00.5-07:00"),
        ("2026-05-02T23:45:00+05:45", "2026-05-02T11:00:00-07:00"),
    ],
)
def test_instants_may_be_written_in_several_ways(written, same):
    batch = read(put(good(), "/readings/0/at", written))
    assert batch.readings[0].at == datetime.fromisoformat(same)


@pytest.mark.parametrize(
    ("data", "found", "allowed"),
    [
        (b"", "Expecting value at line 1, column 1", "a JSON document"),
        (b"\xff\xfe{\x00", "a byte at 0 that is no UTF-8", "UTF-8"),
        (b'{"format": "\xe9"}', "a byte at 12 that is no UTF-8", "UTF-8"),
        ("{}".encode("utf-16"), "a byte at 0 that is no UTF-8", "UTF-8"),
        (
            b'{"format":\n}',
            "Expecting value at line 2, column 1",
            "a JSON document",
        ),
        (b"{} {}", "Extra data at line 1, column 4", "a JSON document"),
        (
            b"[" * 100_000,
            "lists or objects nested too deep",
            "a JSON document",
        ),
        (b"[]", "a list of 0", "an object"),
        (b"NaN", "NaN", "an object"),
        (b'"batch"', "'batch'", "an object"),
    ],
)
def test_what_is_no_document_is_refused_as_a_whole(data, found, allowed):
    with pytest.raises(Refused) as caught:
        read_batch(data, now=NOW)
    refused = caught.value
    assert (refused.pointer, refused.found, refused.allowed) == ("", found, allowed)
    assert str(refused) == f"the file: found {found}; allowed is {allowed}."


def test_utf8_with_a_byte_order_mark_is_read():
    text = json.dumps(good() | {"batch": {"code": "Lachs-ß"}}, ensure_ascii=False)
    assert read_batch(b"\xef\xbb\xbf" + text.encode(), now=NOW).code == "Lachs-ß"


@pytest.mark.parametrize(
    ("once", "pointer"),
    [
        ('"format"', "/format"),
        ('"method"', "/instruments/0/checks/1/method"),
        ('"nitrite-added"', "/product/facts/nitrite-added"),
        ('"up_to"', "/limits/4/bands/1/up_to"),
        ('"what": "frozen"', "/limits/6/limits/1/limits/0/what"),
    ],
)
def test_key_twice_is_refused_at_any_depth(once, pointer):
    text = json.dumps(good())
    head, tail = text.rsplit(once, 1)
    key = once.split(":")[0]
    assert refusal_of(f"{head}{key}: 1, {once}{tail}") == (
        pointer,
        "the key twice",
        "each key once",
    )


def test_many_keys_of_which_one_stands_twice_are_refused_at_once():
    many = ",".join(f'"{i}":0' for i in range(100_000))
    assert refusal_of(f'{{{many},"99999":0}}')[:2] == ("/99999", "the key twice")


@pytest.mark.parametrize(
    ("key", "pointer"),
    [("a/b~c", "/a~1b~0c"), ("\ud800", r"/\ud800"), ("a\nmet", r"/a\nmet")],
)
def test_pointer_of_any_key_can_be_printed(key, pointer):
    refused_at, found, _ = refusal_of(json.dumps(good() | {key: 1}))
    assert refused_at == pointer
    assert found == f"unknown key {key!r}"


@pytest.mark.parametrize(
    "digits", ["1e99999999999999999999", "1e-99999999999999999999"]
)
def test_number_beyond_all_reach_is_refused_where_it_stands(digits):
    text = json.dumps(good()).replace("147.25", digits)
    assert refusal_of(text) == ("/readings/2/value", "Infinity", FINITE)


@pytest.mark.parametrize("digits", ["9" * 5000, "1e101", "1e-101", "0e-101", "0e101"])
def test_number_that_nothing_measures_is_refused(digits):
    text = json.dumps(good()).replace("147.25", digits)
    assert refusal_of(text)[::2] == ("/readings/2/value", MEASURABLE)


def nested(depth):
    inner = {"id": "leaf", "kind": "stated", "what": "x"}
    for i in range(depth):
        inner = {"id": f"n{i}", "kind": ("any_of", "all_of")[i % 2], "limits": [inner]}
    return [inner | {"control_point": "heating"}]


def test_combinations_may_be_nested_but_not_without_end():
    assert judge_batch(read(document(limits=nested(DEEPEST)))).outcome.value == (
        "not shown"
    )
    text = json.dumps(document(limits=nested(DEEPEST + 1)))
    pointer, found, allowed = refusal_of(text)
    assert pointer == "/limits/0" + "/limits/0" * (DEEPEST + 1)
    assert found == "a combination too deep"
    assert allowed == f"at most {DEEPEST} inside one another"


def test_reading_in_the_very_instant_of_the_judgement_is_read():
    whole = document(readings=[reading(2880, 147)], windows=[window(0, 2880)])
    assert len(read(whole).readings) == 1


def test_end_in_the_very_instant_of_the_start_is_read():
    assert read(document(windows=[window(0, 0)])).windows[0].end is not None


def test_empty_sample_is_refused_wherever_its_values_stand():
    salt, moisture = sample(400, "salt", 0), sample(400, "moisture", 0)
    logged = {
        key: part for key, part in moisture.items() if key not in {"at", "value"}
    } | {"start": at(399), "every_s": 60, "values": [5, 0]}
    said = ("salt and moisture that add up to 0", "a sample with salt or water in it")
    both = document(readings=[salt, moisture])
    assert refusal_of(json.dumps(both)) == ("/readings/1/value", *said)
    one_logged = document(readings=[salt], traces=[logged])
    assert refusal_of(json.dumps(one_logged)) == ("/traces/0/values/1", *said)


@pytest.mark.parametrize("name", ["salt", "moisture"])
def test_sample_of_less_than_nothing_is_refused_typed_or_logged(name):
    typed = sample(400, name, -0.5)
    said = ("-0.5", "a number of at least 0")
    assert refusal_of(json.dumps(document(readings=[typed]))) == (
        "/readings/0/value",
        *said,
    )
    logged = {
        key: part for key, part in typed.items() if key not in {"at", "value"}
    } | {"start": at(399), "every_s": 60, "values": [5, -0.5]}
    assert refusal_of(json.dumps(document(traces=[logged]))) == (
        "/traces/0/values/1",
        *said,
    )


def test_trace_of_no_values_is_no_reading():
    empty = trace([]) | {"start": at(0), "every_s": 60}
    batch = read(document(traces=[empty], readings=[]))
    assert len(batch.traces[0].at_us) == 0
    assert judge_batch(batch).findings[0].why.startswith("No reading")


def test_every_s_may_be_of_microseconds_but_not_finer():
    fine = trace([60, 61]) | {"start": at(0), "every_s": 0.000001}
    assert read(document(traces=[fine])).traces[0].at_us[1] % 10 == 1


def test_one_value_may_have_any_interval():
    one = trace([60]) | {"start": at(0), "every_s": 10**99}
    assert len(read(document(traces=[one])).traces[0].at_us) == 1


def test_date_may_lie_after_the_judgement():
    later = NOW + timedelta(days=900)
    whole = put(good(), "/dates/0/at", later.isoformat())
    assert read(whole).dates[0].at == later
