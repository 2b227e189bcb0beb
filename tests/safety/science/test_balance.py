"""Balances of a lot: too little and too much both show."""

import pytest

from safety.errors import OutOfRange
from safety.science.balance import accounted_pct, number_to_ask, share_pct


def test_counted_twice_is_more_than_all():
    assert accounted_pct(made=10, on_hand=6, shipped_to_named=6) == pytest.approx(120)


def test_nothing_found_is_nothing_accounted_for():
    assert accounted_pct(made=10, on_hand=0, shipped_to_named=0) == 0


@pytest.mark.parametrize(
    ("part", "whole"), [(1, 0), (1, -1), (-1, 1), (float("nan"), 1), (1, float("nan"))]
)
def test_shares_that_make_no_sense_are_refused(part, whole):
    with pytest.raises(OutOfRange):
        share_pct(part, whole)


@pytest.mark.parametrize(
    ("receivers", "percent", "asked"),
    [(0, 100, 0), (1, 2, 1), (50, 10, 5), (51, 10, 6), (10, 0, 0), (300, 29, 87)],
)
def test_whom_to_ask_is_rounded_up(receivers, percent, asked):
    assert number_to_ask(receivers, percent=percent) == asked


@pytest.mark.parametrize(("receivers", "percent"), [(-1, 10), (10, -1), (10, 101)])
def test_levels_that_make_no_sense_are_refused(receivers, percent):
    with pytest.raises(OutOfRange):
        number_to_ask(receivers, percent=percent)
