"""Whatever is changed in a good batch file, it is read and judged, or refused."""

import copy
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safety.errors import Refused
from safety.judge import judge_batch, read_batch, write_batch
from tests.safety.judge.documents import GONE, NOW, at, good, put


def places_of(part, pointer=""):
    """List the JSON pointers of everything in a document but its root."""
    children = part.items() if isinstance(part, dict) else enumerate(part)
    for key, item in children:
        here = f"{pointer}/{key}"
        yield here
        if isinstance(item, dict | list):
            yield from places_of(item, here)


PLACES = [pointer for pointer in places_of(good()) if "~" not in pointer]
ODD = [
    None, True, False, 0, 1, -1, 0.5, 1e99, 1e300, -1e-99, float("nan"), float("inf"),
    "", "A", "heating", "cooling", "degC", "degF", "1", "percent", "any_of", "stated",
    "at_least", "core-temperature", "ph", "P1", "M1", "use-by", at(0), at(500), at(9999),
    "0001-01-01T00:00:00+14:00", "\ud800", [], {}, [None], [[]], {"value": 1},
    {"value": 1, "unit": "degC"}, ["heating"], ["cooling", "cooling"], [1, 2, 3], GONE,
]  # fmt: skip


def mutated(whole, changes):
    """Put odd things into the places; what has gone meanwhile is left alone."""
    for pointer, value in changes:
        try:
            whole = put(
                whole, pointer, copy.deepcopy(value) if value is not GONE else GONE
            )
        except (KeyError, IndexError, TypeError, ValueError):
            continue
    return json.dumps(whole, default=lambda _: None)


changes = st.lists(
    st.tuples(
        st.sampled_from(PLACES),
        st.sampled_from(ODD) | st.integers() | st.text(max_size=3) | st.floats(),
    ),
    min_size=1,
    max_size=4,
)


@given(changes)
def test_any_change_is_either_read_and_judged_or_refused(changed):
    text = mutated(good(), changed)
    try:
        batch = read_batch(text, now=NOW)
    except Refused as refused:
        str(refused).encode()  # anybody's terminal can print it
        return
    judgement = judge_batch(batch)
    json.dumps(judgement.as_json(), default=float, allow_nan=False)
    assert judge_batch(read_batch(write_batch(batch), now=NOW)) == judgement


@given(st.binary(max_size=60) | st.text(max_size=60))
def test_any_bytes_are_refused(data):
    with pytest.raises(Refused):
        read_batch(data, now=NOW)
