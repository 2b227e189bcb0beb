"""The judge agrees with the plain reference judge on random batch files.

The two share no line. Each kind of limit gets its own examples, and mixed files too:
26,000 in all, full of values that lie exactly on a limit.
"""

import json
from datetime import UTC, datetime
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from safety.judge import judge_batch, read_batch, write_batch
from tests.reference import plain
from tests.reference.generate import KINDS, batch_docs

EXAMPLES = 2000
NOW = datetime(2026, 6, 1, tzinfo=UTC)
PLACES = 6

thorough = settings(
    max_examples=EXAMPLES,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)


def as_number(value):
    return float(value) if isinstance(value, Decimal) else str(value)


def rounded(value):
    if isinstance(value, dict):
        return {key: rounded(item) for key, item in value.items()}
    return None if value is None else round(float(value), PLACES)


def by_series(findings):
    table = {}
    for finding in findings:
        series = (finding["control_point"], finding["limit"], finding["place"])
        observed = {k: v for k, v in finding["observed"].items() if k != "bands"}
        assert series not in table, "one finding per limit and series"
        table[series] = (finding["status"], rounded(observed))
    return table


def agree(text):
    expected = plain.judge(json.loads(text, parse_float=Decimal))
    judged = judge_batch(read_batch(text, now=NOW)).as_json()
    assert by_series(judged["findings"]) == by_series(expected["findings"])
    assert judged["control_points"] == expected["control_points"]
    assert judged["outcome"] == expected["outcome"]


@pytest.mark.parametrize("kind", [*KINDS, None])
def test_judge_random_batch_agrees_with_the_reference(kind):
    @thorough
    @given(batch_docs(kind))
    def check(document):
        agree(json.dumps(document, default=as_number))

    check()


@settings(max_examples=500, deadline=None)
@given(batch_docs())
def test_batch_file_written_and_read_again_is_judged_the_same(document):
    text = json.dumps(document, default=as_number)
    batch = read_batch(text, now=NOW)
    again = read_batch(write_batch(batch), now=NOW)
    assert judge_batch(again) == judge_batch(batch)


@settings(max_examples=500, deadline=None)
@given(batch_docs(), st.randoms(use_true_random=False))
def test_order_of_the_records_does_not_matter(document, random):
    text = json.dumps(document, default=as_number)
    shuffled = json.loads(text)
    for key in ("readings", "traces", "windows", "instruments"):
        random.shuffle(shuffled.get(key, []))
    one = judge_batch(read_batch(text, now=NOW)).as_json()
    two = judge_batch(read_batch(json.dumps(shuffled), now=NOW)).as_json()
    assert by_series(one["findings"]) == by_series(two["findings"])
    assert one["outcome"] == two["outcome"]
