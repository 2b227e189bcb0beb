"""Planning estimates: a range that holds what others found, wider where less is known."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safety.errors import OutOfRange, UnknownName
from safety.science.listeria import rates
from safety.science.shelf_life import listeria_days, listeria_growth
from safety.science.slab_time import (
    cooling_minutes,
    fish,
    freezing_hours,
    heating_minutes,
    surface,
    surfaces,
)
from safety.science.sourced import citation, known, load

FISH = {"water_pct": 72, "fat_pct": 8}
SMOKER = FISH | {"thickness_mm": 25, "air": "small-smoker"}
COOLER = FISH | {"thickness_mm": 25, "air": "fan-cooler"}


@pytest.mark.parametrize(
    ("thickness_mm", "air_c", "dry_min", "drying_min"),
    # From 5 to 62.8 °C at 15 W/(m² K), with and without drying surfaces (computed).
    [
        (15, 70, 73, 278), (15, 80, 49, 147), (15, 90, 38, 102), (25, 70, 128, 468),
        (25, 80, 87, 250), (25, 90, 68, 175), (40, 80, 151, 411), (40, 90, 118, 290),
    ],
)  # fmt: skip
def test_the_range_of_heating_holds_what_others_worked_out(
    thickness_mm, air_c, dry_min, drying_min
):
    told = SMOKER | {"thickness_mm": thickness_mm}
    time = heating_minutes(62.8, start_c=5, air_c=air_c, **told)
    assert time.low < dry_min < drying_min < time.high
    assert time.is_thin


def test_the_range_of_heating_holds_what_was_seen():
    # A log of air at 180 °F reached 138 to 140 °F inside in about 2.5 hours (seen 1).
    time = heating_minutes(59.4, start_c=5, air_c=82.2, **SMOKER)
    assert time.low < 150 < time.high


@pytest.mark.parametrize(
    ("thickness_mm", "minutes"), [(25, 98), (25, 54), (40, 167), (40, 97)]
)
def test_the_range_of_cooling_holds_what_others_worked_out(thickness_mm, minutes):
    # From 60 to 21.1 °C in air of 3.3 °C, at 10 and 20 W/(m² K) (computed).
    told = COOLER | {"thickness_mm": thickness_mm}
    time = cooling_minutes(21.1, start_c=60, air_c=3.3, **told)
    assert time.low * 0.98 <= minutes <= time.high * 1.02


def test_the_range_of_freezing_holds_the_fuller_formula():
    # 25 mm at 10 W/(m² K) and -20 °C: 7.4 hours by a fuller formula (computed).
    told = SMOKER | {"air": "still-freezer"}
    time = freezing_hours(air_c=-20, **told)
    assert time.low < 7.4 < time.high


@given(thickness=st.floats(3, 100), more=st.floats(1, 40))
def test_thicker_pieces_take_longer(thickness, more):
    thin, thick = (
        cooling_minutes(21.1, start_c=60, air_c=3.3, **COOLER | {"thickness_mm": one})
        for one in (thickness, thickness + more)
    )
    assert thin.low < thick.low
    assert thin.high < thick.high
    assert thin.low < thin.likely < thin.high


@pytest.mark.parametrize(
    "changed",
    [
        {"thickness_mm": -5}, {"thickness_mm": 0}, {"water_pct": 80, "fat_pct": 30},
        {"water_pct": -1}, {"air_c": 22},
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused(changed):
    told = COOLER | {"start_c": 60, "air_c": 3.3} | changed
    with pytest.raises(OutOfRange):
        cooling_minutes(21.1, **told)


def test_air_that_does_not_freeze_is_refused():
    told = SMOKER | {"air": "still-freezer"}
    with pytest.raises(OutOfRange, match="colder"):
        freezing_hours(air_c=-2.0, **told)


def test_there_is_no_such_air():
    for name in ("breeze", "basis"):
        with pytest.raises(UnknownName):
            surface(name)
    assert all(least < most for least, most in map(surface, surfaces()))


def test_fish_is_more_than_water_and_fat():
    assert fish(20, **FISH).density > 1000
    with pytest.raises(OutOfRange):
        fish(20, water_pct=70, fat_pct=31)


@given(celsius=st.floats(0, 30), log10=st.floats(0.1, 8))
def test_days_and_growth_of_listeria_say_the_same(celsius, log10):
    days = listeria_days(log10, celsius)
    assert days.low < days.likely < days.high
    assert listeria_growth(days.low, celsius).high == pytest.approx(log10)
    assert listeria_growth(days.likely, celsius).likely == pytest.approx(log10)
    assert listeria_growth(days.high, celsius).low == pytest.approx(log10)


def test_the_short_end_is_the_rate_that_one_study_in_twenty_exceeds():
    # FDA, FSIS and CDC 2003, rows as worked out: 4 °C, 11.43 and 18.98 days (derived).
    days = listeria_days(2, 4)
    assert (days.low, days.likely) == pytest.approx((11.43, 18.98), abs=0.01)
    assert rates().source in days.sources


FILES = ("lethality", "listeria_growth", "botulinum_time", "thermal")


@pytest.mark.parametrize("name", FILES)
def test_every_entry_of_the_data_says_where_it_is_from(name):
    told = dict(load(name))
    entries = [*told.pop("process"), *told.values()] if "process" in told else (
        list(told.values())
    )  # fmt: skip
    for entry in entries:
        assert {"publisher", "title", "section", "edition", "date"} <= set(entry)
        assert entry["checked"]
        assert citation(entry).endswith(f"({known(entry['basis'])})")


@pytest.mark.parametrize(
    ("basis", "words"),
    [
        ("seen 1", "read in 1 place"), ("seen 4", "read in 4 places"),
        ("own", "our own figure"), ("memory", "from memory, not yet read again"),
    ],
)  # fmt: skip
def test_how_a_figure_is_known(basis, words):
    assert known(basis) == words
