"""The chances behind the checks: against tables, by counting, and by trying."""

import itertools
import math
import random

import pytest

from safety.audit.chances import (
    agreement_chance,
    at_least_chance,
    chi_square_tail,
    digits_chi_square,
    run_chance,
)


# Printed tables of chi-square with nine degrees of freedom.
@pytest.mark.parametrize(
    ("statistic", "tail"), [(16.919, 0.05), (21.666, 0.01), (27.877, 0.001), (0, 1)]
)
def test_chi_square_agrees_with_printed_tables(statistic, tail):
    assert chi_square_tail(statistic) == pytest.approx(tail, rel=1e-3)


def test_chi_square_of_digits_by_hand():
    assert digits_chi_square(list(range(10)) * 5) == 0
    assert digits_chi_square([0] * 10) == pytest.approx(81 + 9)


def test_agreement_of_readings_to_a_tenth():
    # Worked by hand: 0.1 / (2 · 0.8 · 1.77245) = 0.0353; nine equal: 0.0353 ** 8.
    assert agreement_chance(0.1, 0.8) == pytest.approx(0.0353, abs=5e-5)
    assert run_chance(9, 0.1, 0.8, among=9) == pytest.approx(2.4e-12, rel=0.05)
    # To a whole degree ten times as often.
    assert agreement_chance(1, 0.8) == pytest.approx(0.353, abs=5e-4)
    assert agreement_chance(0.1, 0) == 1


@pytest.mark.parametrize(("step", "sd"), [(0.1, 0.4), (0.1, 1.2), (1.0, 2.0)])
def test_agreement_by_trying(step, sd):
    rng = random.Random(7)
    tries = 40_000
    hits = sum(
        round(rng.gauss(36, sd) / step) == round(rng.gauss(36, sd) / step)
        for _ in range(tries)
    )
    chance = agreement_chance(step, sd)
    assert hits / tries == pytest.approx(chance, abs=5 * math.sqrt(chance / tries))


def test_run_chance_is_no_less_than_what_happens():
    rng = random.Random(11)
    tries, among, length = 4000, 20, 3
    hits = 0
    for _ in range(tries):
        series = [round(rng.gauss(36, 0.5), 1) for _ in range(among)]
        hits += any(
            len(set(series[place : place + length])) == 1
            for place in range(among - length + 1)
        )
    bound = run_chance(length, 0.1, 0.5, among=among)
    assert 0 < hits / tries < bound + 3 * math.sqrt(bound / tries)


def test_binomial_tail_by_counting():
    wanted = sum(
        math.prod(0.25 if hit else 0.75 for hit in outcome)
        for outcome in itertools.product((False, True), repeat=7)
        if sum(outcome) >= 3
    )
    assert at_least_chance(3, 7, 0.25) == pytest.approx(wanted)
    assert at_least_chance(0, 7, 0.25) == pytest.approx(1)
