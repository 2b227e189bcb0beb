"""A check whose reference is a range: accepted only within the tolerance of all of it."""

from datetime import UTC, datetime
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safety.judge.acceptance import Acceptance, weigh
from safety.judge.evidence import Amount, Check, Instrument

AT = datetime(2026, 5, 2, 7, tzinfo=UTC)
RANK = {Acceptance.ACCEPTED: 0, Acceptance.NOT_SHOWN: 1, Acceptance.NOT_ACCEPTED: 2}


def ends(shown, *truths, unit="degF"):
    return [
        Check(
            at=AT,
            method="reference",
            shown=Amount(Decimal(shown), unit),
            true=Amount(Decimal(true), unit),
        )
        for true in truths
    ]


def probe(tolerance=None, unit="degF"):
    amount = None if tolerance is None else Amount(Decimal(tolerance), unit)
    return Instrument(id="P1", measures="temperature", tolerance=amount)


@pytest.mark.parametrize(
    ("shown", "truths", "expected"),
    [
        # Tolerance: 2 degF (Food Code 4-203.11).
        ("34.0", ["32"], Acceptance.ACCEPTED),
        ("34.01", ["32"], Acceptance.NOT_ACCEPTED),
        ("30.0", ["32"], Acceptance.ACCEPTED),
        ("29.99", ["32"], Acceptance.NOT_ACCEPTED),
        # Invented ranges: within all of it, of none of it, of some of it.
        ("211.3", ["209.3", "212.3"], Acceptance.ACCEPTED),
        ("211.31", ["209.3", "212.3"], Acceptance.NOT_SHOWN),
        ("210.3", ["209.3", "212.3"], Acceptance.ACCEPTED),
        ("210.29", ["209.3", "212.3"], Acceptance.NOT_SHOWN),
        ("214.3", ["209.3", "212.3"], Acceptance.NOT_SHOWN),
        ("214.31", ["209.3", "212.3"], Acceptance.NOT_ACCEPTED),
        ("207.3", ["209.3", "212.3"], Acceptance.NOT_SHOWN),
        ("207.29", ["209.3", "212.3"], Acceptance.NOT_ACCEPTED),
        # A range wider than the whole band shows nothing even in its middle.
        ("210", ["207.9", "212.1"], Acceptance.NOT_SHOWN),
    ],
)
def test_the_edges_belong_to_what_is_accepted(shown, truths, expected):
    assert weigh(probe(), ends(shown, *truths)).acceptance is expected


@pytest.mark.parametrize(
    ("shown", "expected"),
    [
        # 2 degF is 10/9 degC of difference, not -16.7 degC.
        ("1.1", Acceptance.ACCEPTED),
        ("1.111", Acceptance.ACCEPTED),
        ("1.112", Acceptance.NOT_ACCEPTED),
        ("-1.111", Acceptance.ACCEPTED),
        ("-1.112", Acceptance.NOT_ACCEPTED),
    ],
)
def test_a_tolerance_is_a_difference_in_either_unit(shown, expected):
    found = weigh(probe(), ends(shown, "0", unit="degC"))
    assert found.acceptance is expected
    assert found.unit == "degF"


def test_a_check_in_the_other_unit_is_weighed_by_the_instruments_own():
    found = weigh(probe("1", "degC"), ends("33.8", "32"))
    assert found.acceptance is Acceptance.ACCEPTED
    assert (found.lowest_error, found.highest_error) == (1, 1)


numbers = st.decimals(-5, 5, places=2)


@given(shown=numbers, low=numbers, width=st.decimals(0, 5, places=2))
def test_a_wider_range_never_accepts_more(shown, low, width):
    narrow = weigh(probe(), ends(shown, low))
    wide = weigh(probe(), ends(shown, low, low + width))
    if wide.acceptance is Acceptance.ACCEPTED:
        assert narrow.acceptance is Acceptance.ACCEPTED
    if wide.acceptance is Acceptance.NOT_ACCEPTED:
        assert narrow.acceptance is Acceptance.NOT_ACCEPTED
    assert RANK[wide.acceptance] >= min(RANK[narrow.acceptance], 1)


def test_checks_of_two_instants_are_not_one():
    first, second = ends("32", "32", "33")
    later = Check(
        at=AT.replace(hour=8), method="ice-point", shown=second.shown, true=second.true
    )
    with pytest.raises(ValueError, match="one check at a time"):
        weigh(probe(), [first, later])
