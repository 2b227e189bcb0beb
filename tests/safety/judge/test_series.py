"""Arrays of readings answer like plain loops over plain fractions."""

import itertools
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from safety.judge.instruments import Trust
from safety.judge.series import (
    CHUNK_SIZE,
    INT64_END,
    Bound,
    Kind,
    Rows,
    Series,
    concatenate,
    first,
    last,
    runs,
)
from safety.units import convert

UNITS = ("degF", "degC")


def trust(unit="degF", down=0, up=0, tolerance=0):
    return Trust(
        instrument="P1",
        unit=unit,
        down=Fraction(down),
        up=Fraction(up),
        tolerance=Fraction(tolerance),
    )


def rows(at_us, values, *, kinds=None, code=None, **more):
    low = np.array(values, dtype=np.int64)
    return Rows(
        at_us=np.array(at_us, dtype=np.int64),
        low=low,
        high=low,
        kinds=kinds or [Kind(0, trust())],
        code=None if code is None else np.array(code, dtype=np.int32),
        **more,
    )


kind = st.builds(
    Kind,
    st.integers(0, 4),
    st.builds(
        trust,
        st.sampled_from(UNITS),
        st.fractions(0, 3, max_denominator=9),
        st.fractions(0, 3, max_denominator=9),
        st.fractions(0, 2, max_denominator=9),
    ),
)
bounds = st.builds(
    Bound,
    st.decimals(-9, 9, places=2),
    st.sampled_from(UNITS),
    st.dictionaries(st.just("degC"), st.decimals(-9, 9, places=1)),
    st.booleans(),
)


@st.composite
def any_rows(draw, least=1):
    """Draw readings at few instants, of one kind or of several, in any order."""
    kinds = draw(st.lists(kind, min_size=1, max_size=3, unique=True))
    n = draw(st.integers(least, 9))
    values = draw(st.lists(st.integers(-90, 90), min_size=n, max_size=n))
    at_us = draw(st.lists(st.integers(0, 12), min_size=n, max_size=n))
    code = draw(
        st.lists(st.integers(0, len(kinds) - 1), min_size=n, max_size=n)
    )  # fmt: skip
    if len(kinds) == 1:
        code = None
    return rows(at_us, values, kinds=kinds, code=code)


def plain(one):
    """List (instant, low, high, kind) of each reading, exactly."""
    found = []
    for i in range(len(one)):
        its_kind = one.kinds[0 if one.code is None else int(one.code[i])]
        low, high = (
            value
            if isinstance(value, Fraction)
            else Fraction(int(value), 10**its_kind.decimals)
            for value in (one.low[i], one.high[i])
        )
        its = its_kind.trust
        found.append((int(one.at_us[i]), low - its.down, high + its.up, its_kind))
    return found


def figure_of(bound, unit):
    if unit == bound.unit:
        return Fraction(bound.value)
    also = bound.also.get(unit)
    return convert(bound.value, bound.unit, unit) if also is None else Fraction(also)


def holds(entry, bound, sign, *, certain, spare=False):
    _, low, high, its_kind = entry
    figure = figure_of(bound, its_kind.trust.unit)
    figure += sign * its_kind.trust.tolerance if spare else 0
    value = low if certain == (sign > 0) else high
    if bound.strict:
        return (value - figure) * sign > 0
    return (value - figure) * sign >= 0


@given(any_rows(), bounds, st.sampled_from((1, -1)), st.booleans(), st.booleans())
def test_rows_compare_exactly(one, bound, sign, certain, spare):
    found = one.compare(bound, sign, certain=certain, spare=spare)
    assert found.tolist() == [
        holds(entry, bound, sign, certain=certain, spare=spare) for entry in plain(one)
    ]


@given(any_rows(), bounds, st.sampled_from((1, -1)), st.booleans())
def test_rows_of_fractions_compare_like_rows_of_integers(one, bound, sign, certain):
    exact = np.empty(len(one), dtype=object)
    exact[:] = [
        Fraction(int(value), 10 ** one.kinds[0 if one.code is None else code].decimals)
        for value, code in zip(
            one.low,
            [0] * len(one) if one.code is None else one.code.tolist(),
            strict=True,
        )
    ]
    same = Rows(at_us=one.at_us, low=exact, high=exact, kinds=one.kinds, code=one.code)
    found = same.compare(bound, sign, certain=certain)
    assert found.tolist() == one.compare(bound, sign, certain=certain).tolist()
    assert same.ends("degF") == one.ends("degF")


@given(any_rows(), st.sampled_from(UNITS))
def test_ends_are_the_lowest_and_the_highest(one, unit):
    lows = [convert(low, k.trust.unit, unit) for _, low, _, k in plain(one)]
    highs = [convert(high, k.trust.unit, unit) for _, _, high, k in plain(one)]
    assert one.ends(unit) == (min(lows), max(highs))


@given(any_rows())
def test_shown_is_the_reading_without_its_doubt(one):
    for i, (_, low, _, its_kind) in enumerate(plain(one)):
        assert one.shown(i, its_kind.trust.unit) == low + its_kind.trust.down


@given(st.lists(any_rows(), min_size=1, max_size=4))
def test_rows_together_are_all_of_them_in_time_order(parts):
    together = concatenate(parts)
    expected = [entry for part in parts for entry in plain(part)]
    expected.sort(key=lambda entry: entry[0])  # equal instants keep their order
    assert plain(together) == expected


@given(st.lists(any_rows(), min_size=2, max_size=3), st.integers(0, 2))
def test_rows_together_are_exact_where_one_part_is(parts, which):
    chosen = parts[which % len(parts)]
    low, high = (np.empty(len(chosen), dtype=object) for _ in range(2))
    low[:] = [Fraction(1, 3)] * len(chosen)
    high[:] = [Fraction(2, 3)] * len(chosen)
    parts[which % len(parts)] = Rows(
        at_us=chosen.at_us, low=low, high=high, kinds=[Kind(0, trust())]
    )
    expected = sorted(
        (entry for part in parts for entry in plain(part)), key=lambda entry: entry[0]
    )
    assert plain(concatenate(parts)) == expected


@given(any_rows(least=2), st.data())
def test_marks_go_with_their_readings(one, data):
    n = len(one)
    flags = data.draw(st.lists(st.booleans(), min_size=n, max_size=n))
    one.late = np.array(flags)
    one.typed = ~one.late
    marked = dict.fromkeys(
        zip(one.at_us.tolist(), one.low.tolist(), flags, strict=True)
    )
    sorted_rows = one.ordered()
    pairs = zip(
        sorted_rows.at_us.tolist(),
        sorted_rows.low.tolist(),
        sorted_rows.late.tolist(),
        strict=True,
    )
    assert set(pairs) == set(marked)
    assert (sorted_rows.typed == ~sorted_rows.late).all()
    part = sorted_rows.part(1, n)
    assert part.late.tolist() == sorted_rows.late.tolist()[1:]
    both = concatenate([one, rows([50], [1])])
    assert both.late.tolist() == [*sorted_rows.late.tolist(), False]


def test_whole_part_is_the_rows_themselves():
    one = rows([1, 2], [5, 6])
    assert one.part(0, 2) is one
    assert one.ordered() is one
    assert concatenate([one]) is one


def moments(one):
    """Group the readings of a series by their instants."""
    found = {}
    for entry in plain(one):
        found.setdefault(entry[0], []).append(entry)
    return found


@given(any_rows(), bounds, st.sampled_from((1, -1)))
def test_readings_of_one_instant_become_one(one, bound, sign):
    series = Series(one.ordered())
    expected = moments(one.ordered())
    assert series.at_us.tolist() == sorted(expected)
    assert len(series) == len(expected)
    certain, possible = series.at_least(bound) if sign > 0 else series.at_most(bound)
    assert certain.tolist() == [
        all(holds(entry, bound, sign, certain=True) for entry in parts)
        for _, parts in sorted(expected.items())
    ]
    assert possible.tolist() == [
        any(holds(entry, bound, sign, certain=False) for entry in parts)
        for _, parts in sorted(expected.items())
    ]


@given(any_rows(), bounds)
def test_certain_is_possible(one, bound):
    series = Series(one.ordered())
    for certain, possible in (series.at_least(bound), series.at_most(bound)):
        assert not (certain & ~possible).any()


@given(any_rows(), st.data())
def test_marks_of_one_instant_become_one(one, data):
    ordered = one.ordered()
    n = len(ordered)
    marks = np.array(data.draw(st.lists(st.booleans(), min_size=n, max_size=n)))
    expected = {}
    for at_us, mark in zip(ordered.at_us.tolist(), marks.tolist(), strict=True):
        expected[at_us] = expected.get(at_us, False) or mark
    series = Series(ordered)
    assert series.marked(marks).tolist() == [expected[at] for at in sorted(expected)]


@given(any_rows())
def test_gaps(one):
    series = Series(one.ordered())
    instants = sorted(moments(one))
    gaps = [b - a for a, b in itertools.pairwise(instants)]
    assert series.gaps_us.tolist() == gaps
    assert series.longest_gap_us == max(gaps, default=0)
    assert series.is_regular() == (len(set(gaps)) <= 1)


def test_spacing_is_found_across_the_chunks():
    n = 2 * CHUNK_SIZE + 2
    at_us = np.arange(n, dtype=np.int64) * 10
    at_us[CHUNK_SIZE + 1 :] += 7
    one = rows(at_us, np.zeros(n))
    assert one.spacing_us() == (10, 17)
    backwards = rows(at_us[::-1], np.zeros(n))
    assert backwards.spacing_us()[0] < 0
    assert rows([5], [1]).spacing_us() == (0, 0)


flags = st.lists(st.booleans(), max_size=12)


@given(flags, st.integers(0, 12))
def test_first(holds_at, start):
    expected = next(
        (i for i, it_holds in enumerate(holds_at) if it_holds and i >= start), None
    )
    assert first(np.array(holds_at, dtype=bool), start) == expected


@given(flags, st.none() | st.integers(0, 12))
def test_last(holds_at, stop):
    array = np.array(holds_at, dtype=bool)
    end = len(holds_at) if stop is None else min(stop, len(holds_at))
    expected = next((i for i in reversed(range(end)) if holds_at[i]), None)
    assert last(array, None if stop is None else end) == expected


@pytest.mark.parametrize("where", [0, CHUNK_SIZE - 1, CHUNK_SIZE, 2 * CHUNK_SIZE])
def test_last_is_found_across_the_chunks(where):
    holds_at = np.zeros(2 * CHUNK_SIZE + 5, dtype=bool)
    holds_at[where] = True
    assert last(holds_at) == where
    assert last(holds_at, where) is None


@given(any_rows(), st.data(), st.none() | st.fractions(0, 6, max_denominator=4))
def test_runs(one, data, longest_gap_us):
    series = Series(one.ordered())
    n = len(series)
    holds_at = data.draw(st.lists(st.booleans(), min_size=n, max_size=n))
    expected = []
    for i, it_holds in enumerate(holds_at):
        is_near = i > 0 and (
            longest_gap_us is None
            or int(series.at_us[i] - series.at_us[i - 1]) <= longest_gap_us
        )
        if not it_holds:
            continue
        if is_near and holds_at[i - 1]:
            expected[-1][1] = i + 1
        else:
            expected.append([i, i + 1])
    found = runs(np.array(holds_at, dtype=bool), series, longest_gap_us)
    pairs = zip(found.start.tolist(), found.stop.tolist(), strict=True)
    assert [list(pair) for pair in pairs] == expected
    assert len(found) == len(expected)


@pytest.mark.parametrize("value", ["1e99", "-1e99", "1e30", "-9223372036854775808"])
@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize("strict", [True, False])
def test_limit_beyond_all_stored_values_compares_right(value, sign, strict):
    one = rows([1, 2], [10**18 - 1, 1 - 10**18])
    bound = Bound(Decimal(value), "degF", strict=strict)
    is_above = Decimal(value) > 0
    expected = (not is_above) if sign > 0 else is_above
    assert one.compare(bound, sign, certain=True).tolist() == [expected] * 2
    assert INT64_END > 10**18
