"""The chart of individual values, against worked examples."""

import pytest

from safety.errors import OutOfRange
from safety.science.charting import individuals

# NIST/SEMATECH e-Handbook 6.3.2.2, flow rate of ten batches (memory); its constants are
# rounded to 1.128 and 3.267, ours are not.
HANDBOOK = (49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)
# A worked example of another handbook: values and moving ranges as printed there.
OTHER = (
    110, 103, 97, 96, 105, 110, 100, 93, 90, 103, 97, 103, 90, 97, 99, 106, 90, 96, 109,
    90, 91, 108, 96,
)  # fmt: skip
RANGES = (7, 6, 1, 9, 5, 10, 7, 3, 13, 6, 6, 13, 7, 2, 7, 16, 6, 13, 19, 1, 17, 12)


def test_chart_of_the_handbook():
    chart = individuals(HANDBOOK)
    assert chart.centre == pytest.approx(50.81)
    assert chart.mean_range == pytest.approx(1.8778, abs=5e-5)
    assert chart.lower == pytest.approx(45.8159, abs=2e-3)
    assert chart.upper == pytest.approx(55.8041, abs=2e-3)
    assert chart.range_upper == pytest.approx(6.135, abs=2e-3)


def test_chart_of_the_other_handbook():
    chart = individuals(OTHER)
    assert chart.ranges == RANGES
    assert chart.centre == pytest.approx(99.087, abs=5e-4)
    assert chart.mean_range == pytest.approx(8.4545, abs=5e-5)
    assert chart.lower == pytest.approx(76.60, abs=0.02)
    assert chart.upper == pytest.approx(121.58, abs=0.02)


def test_one_odd_value_widens_the_edges_that_it_is_then_inside_of():
    # Invented means of batches; the third missed its limit of 3.5 and is not outside.
    chart = individuals([4.02, 4.03, 3.22, 4.26, 4.50, 4.43, 4.35])
    assert (chart.lower, chart.upper) == pytest.approx((3.118, 5.113), abs=2e-3)
    assert not chart.is_outside(3.22)
    assert chart.is_outside(3.11)


def test_equal_values_have_no_room():
    chart = individuals([4.0, 4.0, 4.0])
    assert (chart.lower, chart.upper, chart.range_upper) == (4.0, 4.0, 0.0)
    assert not chart.is_outside(4.0)


def test_one_value_makes_no_chart():
    with pytest.raises(OutOfRange, match="not for 1"):
        individuals([4.0])
