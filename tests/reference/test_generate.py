"""The random batch files are valid, varied and worth judging."""

import collections
import json
import random

import pytest
from hypothesis import given, settings

from tests.reference.bounds import DOES_NOT_APPLY, MET, MISSED, NOT_SHOWN
from tests.reference.evidence import plain_readings
from tests.reference.generate import KINDS, batch_docs, random_doc
from tests.reference.plain import judge
from tests.reference.units import instant

DRAWS = 300


def drawn(kind):
    """Draw many batch files of a kind."""
    return [random_doc(random.Random(seed), kind) for seed in range(DRAWS)]


def stamps(doc):
    """Yield every instant that may not be later than the judgement."""
    for reading in plain_readings(doc):
        yield reading.at
    for window in doc.get("windows", []):
        for edge in ("start", "end"):
            if window[edge] is not None:
                yield instant(window[edge])
    for instrument in doc.get("instruments", []):
        for check in instrument.get("checks", []):
            yield instant(check["at"])


@pytest.mark.parametrize("kind", KINDS)
def test_drawn_files_have_nothing_after_the_judgement(kind):
    for doc in drawn(kind):
        now = instant(doc["judged_at"]).minute
        assert all(at.minute <= now for at in stamps(doc))


@pytest.mark.parametrize("kind", KINDS)
def test_drawn_windows_end_after_their_start(kind):
    for doc in drawn(kind):
        windows = doc.get("windows", [])
        assert len({window["step"] for window in windows}) == len(windows)
        for window in windows:
            if window["end"] is not None:
                start, end = instant(window["start"]), instant(window["end"])
                assert start.minute <= end.minute


@pytest.mark.parametrize("kind", KINDS)
def test_drawn_files_name_only_listed_instruments(kind):
    for doc in drawn(kind):
        listed = [entry["id"] for entry in doc.get("instruments", [])]
        assert len(set(listed)) == len(listed)
        used = {
            entry["instrument"]
            for entry in [*doc.get("readings", []), *doc.get("traces", [])]
            if "instrument" in entry
        }
        assert used <= set(listed)


@pytest.mark.parametrize("kind", KINDS)
def test_every_status_is_drawn(kind):
    counts = collections.Counter()
    for doc in drawn(kind):
        for finding in judge(doc)["findings"]:
            if finding["limit"] == doc["limits"][0]["id"]:
                counts[finding["status"]] += 1
    expected = [MET, MISSED, NOT_SHOWN]
    if kind == "cool_through":
        expected.append(DOES_NOT_APPLY)
    assert all(counts[status] >= 3 for status in expected), counts


@settings(max_examples=50)
@given(batch_docs())
def test_a_drawn_file_is_the_same_after_json(doc):
    assert judge(json.loads(json.dumps(doc))) == judge(doc)
