"""Salt into a fillet: against the series of others, in order, and refused outside."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safety.errors import OutOfRange
from safety.science.salt_uptake import salt_at_rest_pct, taken_up, uptake_pct

FILLET = {
    "thickness_mm": 25, "has_skin": False, "brine_pct": 15.8, "brine_c": 4,
    "moisture_pct": 72,
}  # fmt: skip


@pytest.mark.parametrize(
    ("fourier", "ratio", "share"),
    [
        # Crank, The Mathematics of Diffusion: a large bath, then baths of 0.5 to 5 parts
        # of water to one (computed elsewhere).
        (0.05, math.inf, 0.2523), (0.1, math.inf, 0.3568), (0.5, math.inf, 0.7640),
        (1.0, math.inf, 0.9313), (0.1, 0.5, 0.6696), (0.1, 1, 0.5528), (0.1, 2, 0.4683),
        (0.1, 5, 0.4053),
    ],
)  # fmt: skip
def test_share_taken_up(fourier, ratio, share):
    assert taken_up(fourier, ratio) == pytest.approx(share, abs=1e-4)


@given(fourier=st.floats(0.001, 5), ratio=st.floats(0.2, 50))
def test_a_small_bath_is_at_its_end_sooner(fourier, ratio):
    large = taken_up(fourier)
    assert large - 1e-3 <= taken_up(fourier, ratio) <= 1
    assert taken_up(fourier, 1e6) == pytest.approx(large, abs=1e-3)


@pytest.mark.parametrize(
    ("strength", "ratio", "rest"),
    # Fish of 70 % water (computed); W/W brine, parts of brine to one of fish.
    [(10, 1, 5.88), (10, 2, 7.41), (10, 3, 8.11), (15, 5, 13.16), (15, math.inf, 15)],
)
def test_salt_at_rest(strength, ratio, rest):
    seen = salt_at_rest_pct(strength, brine_to_fish=ratio, moisture_pct=70)
    assert seen == pytest.approx(rest, abs=0.005)


@pytest.mark.parametrize(
    ("strength", "ratio", "measured"),
    # Tilapia of 78.5 % water (seen 1): a little less measured than reckoned.
    [(20, 3.25, 15.69), (26, 5.9, 22.47)],
)
def test_salt_at_rest_is_a_little_above_what_was_measured(strength, ratio, measured):
    seen = salt_at_rest_pct(strength, brine_to_fish=ratio, moisture_pct=78.5)
    assert measured < seen < measured + 0.6


def test_the_likely_figure_is_that_of_the_working_value():
    # 25 mm, both faces, 15.8 % brine, 4 hours: 2.4 % at 2e-10 m²/s (computed elsewhere).
    assert uptake_pct(4, **FILLET).likely == pytest.approx(2.4, abs=0.05)


@given(hours=st.floats(0, 300), more=st.floats(0.1, 50), thickness=st.floats(3, 80))
def test_longer_is_more_and_the_range_is_in_order(hours, more, thickness):
    told = FILLET | {"thickness_mm": thickness}
    early, late = uptake_pct(hours, **told), uptake_pct(hours + more, **told)
    assert early.low <= early.likely <= early.high <= 15.8
    assert early.likely <= late.likely + 1e-9
    assert early.is_thin


def test_warmer_brine_is_faster():
    cold, warm = (uptake_pct(4, **FILLET | {"brine_c": one}) for one in (2, 10))
    assert warm.likely > cold.likely


@pytest.mark.parametrize(
    ("hours", "changed"),
    [
        (-1, {}), (4, {"thickness_mm": -5}), (4, {"thickness_mm": 0}),
        (4, {"brine_c": 21}), (4, {"brine_c": -1}), (4, {"brine_pct": -1}),
        (4, {"moisture_pct": 101}), (4, {"brine_to_fish": 0}),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused(hours, changed):
    with pytest.raises(OutOfRange):
        uptake_pct(hours, **FILLET | changed)
