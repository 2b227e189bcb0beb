"""The tolerance bound: against printed tables, against its own definition, at its edges."""

import math
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from safety.errors import OutOfRange
from safety.science.tolerance import (
    lower_bound,
    noncentral_t_share,
    tolerance_factor,
)

# One-sided factors by the exact noncentral t distribution, computed independently of this
# package; the column of 95 % and 95 % equals the classical printed table (7.656, 5.144,
# 4.203, 3.708, 3.399, 3.187, 3.031, 2.911: Natrella, NBS Handbook 91, table A-7, memory).
# Columns: (confidence, coverage).
COLUMNS = (
    (0.90, 0.90), (0.90, 0.95), (0.95, 0.90), (0.95, 0.95),
    (0.95, 0.99), (0.99, 0.90), (0.99, 0.95), (0.99, 0.99),
)  # fmt: skip
TABLE = {
    2: (10.2527, 13.0897, 20.5815, 26.2597, 37.0936, 103.0286, 131.4263, 185.6170),
    3: (4.2582, 5.3115, 6.1553, 7.6559, 10.5527, 13.9954, 17.3702, 23.8956),
    4: (3.1878, 3.9566, 4.1619, 5.1439, 7.0424, 7.3799, 9.0835, 12.3873),
    5: (2.7423, 3.3998, 3.4066, 4.2027, 5.7411, 5.3617, 6.5783, 8.9390),
    6: (2.4937, 3.0919, 3.0063, 3.7077, 5.0620, 4.4111, 5.4055, 7.3346),
    7: (2.3326, 2.8938, 2.7554, 3.3995, 4.6417, 3.8591, 4.7279, 6.4119),
    8: (2.2186, 2.7543, 2.5819, 3.1873, 4.3539, 3.4972, 4.2853, 5.8118),
    9: (2.1329, 2.6499, 2.4538, 3.0312, 4.1430, 3.2404, 3.9723, 5.3889),
    10: (2.0657, 2.5684, 2.3546, 2.9110, 3.9811, 3.0479, 3.7383, 5.0737),
    12: (1.9662, 2.4483, 2.2101, 2.7363, 3.7471, 2.7767, 3.4099, 4.6330),
    15: (1.8668, 2.3290, 2.0684, 2.5660, 3.5201, 2.5215, 3.1024, 4.2224),
    20: (1.7652, 2.2078, 1.9260, 2.3960, 3.2952, 2.2756, 2.8079, 3.8316),
    25: (1.7015, 2.1323, 1.8381, 2.2917, 3.1580, 2.1290, 2.6332, 3.6011),
    30: (1.6571, 2.0798, 1.7773, 2.2198, 3.0639, 2.0298, 2.5155, 3.4465),
    40: (1.5979, 2.0103, 1.6972, 2.1255, 2.9409, 1.9017, 2.3641, 3.2486),
    50: (1.5595, 1.9653, 1.6456, 2.0650, 2.8624, 1.8208, 2.2689, 3.1246),
    100: (1.4701, 1.8613, 1.5267, 1.9265, 2.6840, 1.6390, 2.0563, 2.8496),
}
CELLS = [
    (count, *COLUMNS[column], factor)
    for count, row in TABLE.items()
    for column, factor in enumerate(row)
]


@pytest.mark.parametrize(("count", "confidence", "coverage", "factor"), CELLS)
def test_factor_equals_the_table_to_its_last_digit(count, confidence, coverage, factor):
    found = tolerance_factor(count, coverage=coverage, confidence=confidence)
    assert found == pytest.approx(factor, abs=5.1e-5)


def test_factor_of_the_handbook_example_is_exact():
    # NIST/SEMATECH e-Handbook 7.2.6.3: n = 43, 90 % of all, 99 % sure; there by
    # Natrella's approximation 1.8751896 and exactly 1.8740.
    found = tolerance_factor(43, coverage=0.90, confidence=0.99)
    assert found == pytest.approx(1.873954, abs=1e-6)


def test_factor_of_fifty_equals_the_long_printed_one():
    # A table of the United States Nuclear Regulatory Commission, as quoted: 2.064993399768.
    # Of its digits the last five do not solve the equation (two ways of integrating agree).
    found = tolerance_factor(50, coverage=0.95, confidence=0.95)
    assert found == pytest.approx(2.064993399768, abs=3e-8)


def test_bound_of_the_handbook_example():
    # NIST/SEMATECH e-Handbook 7.2.6.3: mean 97.07, deviation 0.0268, by the approximation
    # 97.019745; the exact factor lies within its known error.
    found = 97.07 - tolerance_factor(43, coverage=0.90, confidence=0.99) * 0.0268
    assert found == pytest.approx(97.019745, abs=1e-4)


def test_factor_lies_near_the_closed_approximation_for_many():
    # Natrella's closed form, NBS Handbook 91, section 2-5.
    count, coverage, confidence = 2000, 0.95, 0.95
    z, q = NormalDist().inv_cdf(confidence), NormalDist().inv_cdf(coverage)
    a, b = 1 - z**2 / (2 * (count - 1)), q**2 - z**2 / count
    approximate = (q + math.sqrt(q**2 - a * b)) / a
    found = tolerance_factor(count, coverage=coverage, confidence=confidence)
    assert found == pytest.approx(approximate, abs=3e-4)


@pytest.mark.parametrize("count", [2, 3, 10, 100, 1000, 10_000])
@pytest.mark.parametrize("share", [0.5, 0.9, 0.999])
def test_factor_solves_its_equation_from_above(count, share):
    factor = tolerance_factor(count, coverage=0.95, confidence=share)
    root, z = math.sqrt(count), NormalDist().inv_cdf(0.95)
    found = noncentral_t_share(factor * root, degrees=count - 1, noncentrality=root * z)
    assert found == pytest.approx(share, abs=1e-9)
    assert found > share - 1e-12  # errs high, so that the bound errs low


def test_share_with_one_degree_is_the_cauchy_distribution():
    for t in (1e-12, 0.1, 1.0, 7.5, 262.0):
        expected = 0.5 + math.atan(t) / math.pi  # Student's t with one degree
        assert noncentral_t_share(t, degrees=1, noncentrality=0.0) == pytest.approx(
            expected, abs=1e-11
        )


def test_share_with_two_degrees_is_the_closed_form():
    for t in (0.1, 1.0, 7.5, 100.0):
        expected = 0.5 + t / (2 * math.sqrt(2 + t * t))  # Student's t with two degrees
        assert noncentral_t_share(t, degrees=2, noncentrality=0.0) == pytest.approx(
            expected, abs=1e-12
        )


@given(
    count=st.integers(2, 400),
    coverage=st.floats(0.5, 0.99),
    confidence=st.floats(0.5, 0.99),
)
def test_factor_grows_with_doubt_and_shrinks_with_pieces(count, coverage, confidence):
    factor = tolerance_factor(count, coverage=coverage, confidence=confidence)
    more = tolerance_factor(count + 1, coverage=coverage, confidence=confidence)
    surer = tolerance_factor(count, coverage=coverage, confidence=confidence + 0.005)
    wider = tolerance_factor(count, coverage=coverage + 0.005, confidence=confidence)
    assert surer > factor
    assert wider > factor
    # At little confidence few pieces may need less than many, never by much.
    assert more < factor + (0.0 if confidence > 0.7 else 0.2)


def test_bound_keeps_its_promise_in_many_invented_samples():
    drawn = np.random.default_rng(7).normal(4.0, 0.2, size=(4000, 5))
    factor = tolerance_factor(5, coverage=0.90, confidence=0.90)
    bounds = drawn.mean(axis=1) - factor * drawn.std(axis=1, ddof=1)
    true = NormalDist(4.0, 0.2).inv_cdf(0.10)
    assert (bounds <= true).mean() == pytest.approx(0.90, abs=0.015)


@pytest.mark.parametrize(
    ("values", "at_95", "at_90"),
    [  # invented laboratory figures, bounds computed independently
        ((4.01, 3.96, 4.10), 3.480, 3.721),
        ((4.44, 4.29, 4.56, 4.36, 4.21, 4.49), 3.909, 4.067),
    ],
)
def test_bound_of_pieces(values, at_95, at_90):
    sure = lower_bound(values, coverage=0.95, confidence=0.95)
    less = lower_bound(values, coverage=0.90, confidence=0.90)
    assert sure.bound == pytest.approx(at_95, abs=1e-3)
    assert less.bound == pytest.approx(at_90, abs=1e-3)
    assert sure.count == len(values)


def test_bound_of_equal_pieces_is_their_value():
    assert lower_bound([3.5, 3.5, 3.5], coverage=0.95, confidence=0.95).bound == 3.5


@pytest.mark.parametrize(
    ("count", "coverage", "confidence", "said"),
    [
        (1, 0.95, 0.95, "count from 2 to 10000, not for 1;"),
        (10_001, 0.95, 0.95, "not for 10001"),
        (5, 0.4, 0.95, "coverage .* not for 0.4"),
        (5, 0.95, 1.0, "confidence from 0.5 to 0.999, not for 1;"),
        (5, math.nan, 0.95, "coverage .* not for nan"),
    ],
)
def test_arguments_outside_the_range_are_refused(count, coverage, confidence, said):
    with pytest.raises(OutOfRange, match=said):
        tolerance_factor(count, coverage=coverage, confidence=confidence)
