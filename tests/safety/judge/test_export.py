"""A batch written as a document is read back as the same batch, digit for digit."""

import json
from dataclasses import replace
from decimal import Decimal

import pytest

from safety.judge import batch_file, judge_batch, write_batch
from safety.judge.export import limit_entry
from safety.limits import all_published
from safety.limits.model import Limit
from safety.limits.parse import parse_limit
from tests.safety.judge.documents import at, document, good, limit, read, trace


def test_written_batch_is_read_back_as_the_same_document():
    batch = read(good())
    again = read(write_batch(batch))
    assert write_batch(again, indent=1) == write_batch(batch, indent=1)
    assert judge_batch(again) == judge_batch(batch)


def test_written_batch_leaves_out_what_is_not_known():
    written = json.loads(write_batch(read({"format": "brinewright.batch/1"})))
    assert written["product"] == {}
    assert "batch" not in written
    assert "limits" not in written


def test_digits_are_kept():
    text = write_batch(read(json.dumps(good()).replace("147.25", "147.2500")))
    assert '"value": 147.2500' in text
    assert '"value": 63.9' in text


@pytest.mark.parametrize("code", ["number 7", r"\u0000number 7", '"number 7"'])
def test_text_that_looks_like_the_mark_of_a_number_stays_text(code):
    named = replace(read(good()), code=code)
    assert json.loads(write_batch(named))["batch"] == {"code": code}
    assert read(write_batch(named)).code == code


def test_what_is_no_part_of_a_document_is_no_number_either():
    with pytest.raises(TypeError):
        write_batch(replace(read(good()), code=object()))


def test_file_holds_decimals_for_whoever_writes_it_otherwise():
    first = batch_file(read(good()))["readings"][0]
    assert first["value"] == Decimal(147)


def test_trace_of_several_offsets_keeps_each():
    instants = [at(0), "2026-05-02T20:00:00+02:00", "2026-05-02T18:30:00Z"]
    logged = trace([140.5, 141, 142], step="heating") | {"at": instants}
    batch = read(document(readings=[], traces=[logged], limits=[limit("at_least")]))
    again = read(write_batch(batch))
    assert again.traces[0].offset_s.tolist() == batch.traces[0].offset_s.tolist()
    assert again.traces[0].offset_s.tolist() == [-7 * 3600, 2 * 3600, 0]
    assert judge_batch(again) == judge_batch(batch)


@pytest.mark.parametrize(
    ("instants", "written"),
    [
        ({"start": at(0), "every_s": 300}, {"start", "every_s"}),
        ({"start": at(0), "every_s": 0.000001}, {"start", "every_s"}),
        ({"start": at(0), "every_s": 1.5}, {"start", "every_s"}),
        ({"at": [at(0), at(5), at(10)]}, {"at"}),
        ({"at": [at(0), at(5), at(11)]}, {"at"}),
        ({"at": [at(5), at(5), at(5)]}, {"at"}),
        ({"at": [at(10), at(5), at(0)]}, {"at"}),
    ],
)
def test_trace_is_written_by_its_interval_where_that_says_it_all(instants, written):
    logged = trace([140.5, 141, 142], step="heating") | instants
    batch = read(document(readings=[], traces=[logged], limits=[limit("at_least")]))
    one = json.loads(write_batch(batch))["traces"][0]
    assert {"start", "every_s", "at"} & one.keys() == written
    again = read(write_batch(batch))
    assert again.traces[0].at_us.tolist() == batch.traces[0].at_us.tolist()
    assert judge_batch(again) == judge_batch(batch)


@pytest.mark.parametrize("count", [0, 1])
def test_trace_of_hardly_anything_is_written_and_read_back(count):
    logged = trace([140] * count) | {"start": at(200), "every_s": 60}
    batch = read(document(traces=[logged]))
    assert len(read(write_batch(batch)).traces[0].at_us) == count


@pytest.mark.parametrize("published", all_published(), ids=lambda one: one.limit.id)
def test_published_limit_is_written_and_read_back(published):
    assert parse_limit(limit_entry(published.limit)) == published.limit


def test_every_key_of_a_limit_is_written_and_read_back():
    strict = limit(
        "stay_at_least", step="cooling", strict=True, excursion_min=Decimal("0.5")
    )
    cooling = {
        "id": "cool",
        "control_point": "record-review",
        "kind": "cool_through",
        "step": "cooling",
        "quantity": "core-temperature",
        "from": 135,
        "to": 70,
        "unit": "degF",
        "minutes": 120,
        "steps": ["cooling"],
        "strict": True,
        "printed_also": {
            "from": Decimal("57.2"),
            "to": Decimal("21.1"),
            "unit": "degC",
        },
    }
    for entry in (strict, cooling):
        parsed = parse_limit(entry)
        assert limit_entry(parsed) == entry
        assert parse_limit(limit_entry(parsed)) == parsed


def test_limit_of_no_known_kind_is_not_written():
    with pytest.raises(TypeError):
        limit_entry(Limit(id="x", kind="x"))


@pytest.mark.parametrize("minutes", [(0, 5, 11), (5, 5, 5), (10, 5, 0)])
def test_irregular_trace_of_one_offset_is_written_instant_by_instant(minutes):
    logged = trace([140, 141, 142]) | {"at": [at(minute) for minute in minutes]}
    batch = read(document(traces=[logged]))
    one_offset = replace(batch.traces[0], offset_s=-7 * 3600)
    written = json.loads(write_batch(replace(batch, traces=(one_offset,))))["traces"][0]
    assert written["at"] == logged["at"]
