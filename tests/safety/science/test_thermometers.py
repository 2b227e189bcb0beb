"""Errors of thermometers between and beyond their checks, and guard bands."""

import pytest

from safety.errors import OutOfRange
from safety.science.thermometers import (
    corrected,
    error_at,
    error_shown,
    guarded_least,
    guarded_most,
    reading_for,
)

TWO = [(32.4, 32), (214.0, 212)]  # our own example


@pytest.mark.parametrize(
    ("reading", "error"),
    [(0, 0.4), (32.4, 0.4), (123.2, 1.2), (214, 2.0), (300, 2.0)],
)
def test_between_checks_a_line_and_beyond_them_the_nearer(reading, error):
    assert error_at(reading, TWO) == pytest.approx(error)
    assert error_at(reading, TWO[::-1]) == pytest.approx(error)
    assert corrected(reading, TWO) == pytest.approx(reading - error)


def test_three_checks_are_two_lines():
    checks = [(0, 0), (100, 98), (200, 200)]
    assert [error_at(x, checks) for x in (50, 100, 150)] == [1, 2, 1]


def test_one_check_holds_everywhere():
    assert [error_at(reading, [(33.5, 32)]) for reading in (-40, 145)] == [1.5, 1.5]


@pytest.mark.parametrize(
    "checks", [[], [(32, 32), (32, 33)], [(float("nan"), 32)], [(32, float("inf"))]]
)
def test_checks_that_tell_nothing_are_refused(checks):
    with pytest.raises(OutOfRange):
        error_at(145, checks)


def test_a_reading_that_is_no_number_is_refused():
    with pytest.raises(OutOfRange):
        corrected(float("nan"), TWO)
    with pytest.raises(OutOfRange):
        error_shown(float("nan"), 32)
    with pytest.raises(OutOfRange):
        reading_for(150, error=float("inf"))


def test_what_the_dial_must_show_corrects_to_what_was_aimed_at():
    shown = reading_for(150, error=error_shown(205, 212))
    assert corrected(shown, [(205, 212)]) == 150


def test_a_guard_band_never_loosens():
    assert guarded_least(145, uncertainty=0) == guarded_most(145, uncertainty=0) == 145
    assert guarded_least(145, uncertainty=2) > 145 > guarded_most(145, uncertainty=2)
    for guard in (guarded_least, guarded_most):
        with pytest.raises(OutOfRange, match="uncertainty"):
            guard(145, uncertainty=-0.1)
