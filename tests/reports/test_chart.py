"""A curve: what is drawn, what is not, and that it is always drawn alike."""

import re
import xml.etree.ElementTree as ET
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reports import chart
from reports.chart import curve
from reports.sheets import Bound, Deadline
from tests.reports.build import a_curve, a_line, at_us

SVG = "{http://www.w3.org/2000/svg}"
EVERY_TEN = range(0, 120, 10)


def dashes(drawn):
    """Return the number of unbroken dashed joins."""
    paths = re.findall(r'<path d="([^"]*)"[^>]*stroke-dasharray', drawn)
    return sum(path.count("M") for path in paths)


def parsed(drawn):
    return ET.fromstring(drawn)  # noqa: S314 - we drew it ourselves


def texts(drawn):
    return ["".join(node.itertext()) for node in parsed(drawn).iter(f"{SVG}text")]


def test_same_sheet_is_drawn_with_the_same_characters():
    assert curve(a_curve()) == curve(a_curve())


def test_curve_scales_and_keeps_no_date():
    root = parsed(curve(a_curve()))
    assert root.get("viewBox") == "0 0 360 232"
    assert root.get("width") is None
    assert not list(root.iter(f"{SVG}metadata"))


def test_curve_has_title_and_description_for_who_cannot_see_it():
    root = parsed(curve(a_curve(title="Cool <1>", description="Falls & falls.")))
    assert root.get("role") == "img"
    names = root.get("aria-labelledby").split()
    found = {node.get("id"): node.text for node in root}
    assert [found[name] for name in names] == ["Cool <1>", "Falls & falls."]


def test_text_stays_text_and_is_never_read_as_formula_or_tag():
    drawn = curve(a_curve(lines=(a_line("$x^2$ <b>"), a_line("P2"))))
    assert "$x^2$ <b>" in texts(drawn)
    assert "P2" in texts(drawn)


def test_single_unnamed_place_has_no_label():
    named = curve(a_curve(lines=(a_line("thickest"),)))
    bare = curve(a_curve(lines=(a_line(""),)))
    assert "thickest" in texts(named)
    assert not any(text for text in texts(bare) if text[0].isalpha())


def test_every_reading_of_a_short_series_is_a_dot():
    drawn = curve(a_curve(lines=(a_line("", EVERY_TEN, range(12)),)))
    assert len(re.findall(r"<use ", drawn)) >= 12


def test_gap_longer_than_the_interval_is_drawn_as_a_gap():
    minutes = [0, 10, 20, 90, 100]
    sheet = {
        "lines": (a_line("", minutes, [1, 2, 3, 4, 5]),),
        "end_us": int(at_us(100)),
    }
    assert dashes(curve(a_curve(join_min=None, **sheet))) == 1
    assert dashes(curve(a_curve(join_min=70, **sheet))) == 1
    assert dashes(curve(a_curve(join_min=69, **sheet))) == 2
    assert dashes(curve(a_curve(join_min=5, **sheet))) == 0


def test_places_are_told_apart_without_colour():
    lines = tuple(a_line(f"P{n}", EVERY_TEN, np.arange(12) + n) for n in range(8))
    drawn = curve(a_curve(lines=lines, end_us=int(at_us(110))))
    looks = {(look[0], look[2], look[3]) for look in chart.LOOKS}
    assert len(looks) == len(chart.LOOKS)
    assert len(set(re.findall(r"stroke-dasharray: ([^;\"]+)", drawn))) >= 6


def test_limits_are_named_and_hatched():
    plain = curve(a_curve())
    bound = Bound(value=100.0, words="100 °F for 9 min", is_floor=True, is_whole=False)
    deadline = Deadline(at_us=int(at_us(30)), value=95.0, words="95 °F by 08:43")
    drawn = curve(a_curve(bounds=(bound,), deadlines=(deadline,)))
    assert {"100 °F for 9 min", "95 °F by 08:43"} <= set(texts(drawn))
    assert "opacity: 0.55" in drawn
    assert "opacity: 0.55" not in plain


def test_limit_value_is_on_the_scale():
    bound = Bound(value=97.5, words="x", is_floor=False)
    assert "97.5" in texts(curve(a_curve(bounds=(bound,))))


def test_deadline_beyond_the_paper_is_named_with_an_arrow_and_not_hatched():
    deadline = Deadline(at_us=int(at_us(600)), value=95.0, words="95 °F by 18:13")
    drawn = curve(a_curve(deadlines=(deadline,)))
    assert "95 °F by 18:13 →" in texts(drawn)
    assert "opacity: 0.55" not in drawn


def test_hours_are_those_of_the_wall_at_the_premises():
    # 12:13 UTC in July is 08:13 in Detroit and 14:13 in Oslo.
    assert "08:30" in texts(curve(a_curve(zone="America/Detroit")))
    assert "14:30" in texts(curve(a_curve(zone="Europe/Oslo")))


def test_days_are_named_where_a_curve_runs_over_several():
    line = a_line("", [0, 60 * 24 * 6], [36.0, 38.0])
    drawn = curve(a_curve(lines=(line,), end_us=int(at_us(60 * 24 * 6))))
    assert "10 Jul" in texts(drawn)


def test_million_readings_are_few_strokes_that_keep_the_extremes():
    n = 1_000_000
    minutes = np.linspace(0, 10_000, n)
    values = np.full(n, 37.0)
    values[123_456] = 55.0
    values[654_321] = 20.0
    line = a_line("", minutes, values)
    sheet = a_curve(lines=(line,), end_us=int(at_us(10_000)))
    frame = chart._frame(sheet)
    y = chart._columns(frame, line, is_dense=True)[3]
    assert y.min() == pytest.approx(frame.y(55.0))
    assert y.max() == pytest.approx(frame.y(20.0))
    assert len(curve(sheet)) < 100_000


def test_gap_in_a_dense_series_is_a_gap():
    minutes = np.concatenate([np.linspace(0, 100, 1000), np.linspace(200, 300, 1000)])
    line = a_line("", minutes, np.full(2000, 37.0) + np.sin(minutes))
    drawn = curve(a_curve(lines=(line,), end_us=int(at_us(300)), join_min=60))
    solid = [
        path
        for path, style in re.findall(r'<path d="([^"]*)"[^>]*style="([^"]*)"', drawn)
        if chart.INK.lower() in style and path.count("L") > 100
    ]
    assert [path.count("M") for path in solid] == [2]


def test_curve_without_a_reading_is_an_empty_frame():
    assert texts(curve(a_curve(lines=())))


@given(
    st.lists(st.floats(16, 210), min_size=1, max_size=12).map(sorted),
)
def test_labels_never_lie_on_each_other_or_off_the_paper(wanted):
    placed = chart._spread(wanted, 12.0, 18.0, 208.0)
    assert all(b - a >= 12.0 - 1e-9 for a, b in pairwise(placed))
    assert placed[0] >= 18.0 - 1e-9
    assert placed[-1] <= 208.0 + 1e-9
