"""The data files are whole: every figure with its source, in the shape it is judged in."""

import time
from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from importlib.resources import files

import pytest

from safety.errors import Refused, UnknownName
from safety.limits import (
    all_published,
    default_check_every_days,
    default_tolerance,
    get,
    interval,
    interval_of,
    sources,
    with_interval,
)
from safety.limits.load import load
from safety.limits.model import (
    Combination,
    CoolLimit,
    DwellLimit,
    StatedLimit,
    StayLimit,
)

DATA = files("safety.limits").joinpath("data")
GUIDE = "us-fda.hazards-guide"


def plain(limit):
    """Yield the limits that a limit is made of."""
    if isinstance(limit, Combination):
        for member in limit.limits:
            yield from plain(member)
    else:
        yield limit


def test_all_files_load_within_150_ms():
    best = min(_seconds_to_load() for _ in range(5))
    assert best < 0.15


def _seconds_to_load():
    begun = time.perf_counter()
    load(DATA)
    return time.perf_counter() - begun


def test_every_limit_carries_its_whole_source_and_reason():
    for published in all_published():
        source = published.source
        for told in (
            source.publisher, source.title, source.section, source.edition,
            published.words, published.reason, published.basis,
        ):  # fmt: skip
            assert told.strip(), published.limit.id
        assert isinstance(source.date, date)
        assert published.words.endswith("."), published.limit.id
        assert published.reason.endswith("."), published.limit.id
        assert source.cite().startswith(source.publisher)


def test_every_file_is_one_publication_and_is_listed():
    named = {publication.id for publication in sources()}
    assert len(named) == sum(path.name.endswith(".toml") for path in DATA.iterdir())
    assert {published.source.id for published in all_published()} <= named


def test_the_first_publications_are_there():
    assert {publication.id for publication in sources()} >= {
        GUIDE, "us-fda.food-code-2022", "us-cfr.21-123", "us-mi.r285-569",
        "us-me.ch359", "brinewright.own",
    }  # fmt: skip


def test_a_limit_that_governs_is_never_known_from_memory_only():
    for published in all_published():
        assert published.basis != "memory" or not published.programmes


def test_a_comparison_says_why_it_is_only_that():
    for published in all_published():
        if not published.programmes:
            assert published.note.startswith("Comparison only"), published.limit.id


def test_both_printed_figures_are_kept():
    heating = get(f"{GUIDE}.ch13.heating").limit
    assert (heating.value, heating.unit) == (Decimal("145"), "degF")
    assert heating.also == {"degC": Decimal("62.8")}
    first = get(f"{GUIDE}.ch12.cooling-first").limit
    assert first.also == {"degC": (Decimal("57.2"), Decimal("21.1"))}


# Chapter 12, Strategy 3 prints its second stage once as 135 to 40; Table 12-4 and three
# examples print 70 to 40, in 4 more hours.
def test_the_second_stage_of_cooling_begins_where_the_first_ends():
    first, second = (
        get(f"{GUIDE}.ch12.cooling-{name}").limit for name in ("first", "second")
    )
    assert isinstance(first, CoolLimit)
    assert (first.from_value, first.to_value, first.minutes) == (135, 70, 120)
    assert (second.from_value, second.to_value, second.minutes) == (70, 40, 240)


# 3-501.14(A): 6 hours in all, not 4 more hours.
def test_the_food_code_counts_its_second_stage_in_all():
    total = get("us-fda.food-code-2022.cooling-total").limit
    assert (total.from_value, total.to_value, total.minutes) == (135, 41, 360)


# Table A-3: 23 lines from 63 to 85 degrees C, and the 30 minutes of chapter 13.
def test_the_listeria_table_is_read_in_celsius_and_falls():
    first, *lines = get(f"{GUIDE}.ch16.heating").limit.limits
    assert (first.value, first.unit, first.minutes) == (145, "degF", 30)
    assert [line.value for line in lines] == list(range(63, 86))
    assert all(line.unit == "degC" and not line.also for line in lines)
    minutes = [line.minutes for line in lines]
    assert minutes == sorted(minutes, reverse=True)
    assert (minutes[0], minutes[7], minutes[-1]) == (17, 2, Decimal("0.02"))


def test_the_listeria_table_is_never_laxer_than_its_own_formula_by_more_than_rounding():
    # Appendix 4: 2 minutes at 70 degrees C, tenfold every 7.5 degrees.
    for line in get(f"{GUIDE}.ch16.heating").limit.limits[1:]:
        exact = 2 * 10 ** ((70 - float(line.value)) / 7.5)
        last_digit = 10.0 ** line.minutes.as_tuple().exponent
        assert abs(float(line.minutes) - exact) <= max(last_digit, 0.01 * exact)


@pytest.mark.parametrize(
    ("measures", "value", "unit", "basis"),
    [
        ("temperature", "2", "degF", "seen 4"),  # Food Code 4-203.11(B)
        ("ph", "0.05", "1", "memory"),
        ("water-activity", "0.01", "1", "own"),
    ],
)
def test_default_tolerances(measures, value, unit, basis):
    found, found_unit, published = default_tolerance(measures)
    assert (found, found_unit, published.basis) == (Decimal(value), unit, basis)
    assert published.source.section


def test_an_instrument_that_does_not_exist_has_no_tolerance():
    with pytest.raises(UnknownName, match="no kind of instrument called 'nose'"):
        default_tolerance("nose")
    with pytest.raises(UnknownName, match="check-every-days"):
        default_tolerance("check-every-days")


def test_a_check_serves_thirty_days():
    assert default_check_every_days() == 30


def test_intervals_are_our_own_and_say_what_they_cannot_show():
    assert [
        (interval(name).check_every_min, interval(name).ceiling_min)
        for name in ("heating", "cold-store", "exposure")
    ] == [(15, 30), (60, 840), (30, 120)]
    for published in all_published():
        found = interval_of(published)
        watched = any(hasattr(one, "check_every_min") for one in plain(published.limit))
        assert watched == (found is not None)
        if found is not None:
            assert found.basis == "own"
            assert found.cannot_show
            assert published.interval_basis.startswith("own: ")
            for member in plain(published.limit):
                every = getattr(member, "check_every_min", found.check_every_min)
                assert every == found.check_every_min


def test_a_plan_may_change_an_interval_within_its_ceiling():
    heating = get(f"{GUIDE}.ch13.heating")
    assert with_interval(heating, 30).limit.check_every_min == 30
    assert with_interval(heating, 5).interval_basis.startswith("plan: ")
    assert heating.limit.check_every_min == 15
    table = with_interval(get(f"{GUIDE}.ch16.heating"), 10)
    assert {member.check_every_min for member in plain(table.limit)} == {10}
    exposure = with_interval(get(f"{GUIDE}.ch12.exposure-cooked"), 60)
    assert {member.check_every_min for member in plain(exposure.limit)} == {60}
    assert table.source == get(f"{GUIDE}.ch16.heating").source


@pytest.mark.parametrize("minutes", [Decimal("30.01"), 31, 0, -1])
def test_no_plan_widens_the_interval_of_heating_beyond_thirty_minutes(minutes):
    with pytest.raises(Refused, match="more than 0 and at most 30 min"):
        with_interval(get(f"{GUIDE}.ch13.heating"), minutes)


def test_what_is_not_watched_over_time_has_no_interval():
    with pytest.raises(Refused, match="not watched over time"):
        with_interval(get(f"{GUIDE}.ch13.salt"), 15)


def test_where_a_recorder_is_asked_the_limit_says_so():
    asked = {p.limit.id for p in all_published() if p.continuous_recorder}
    assert asked == {
        f"{GUIDE}.ch13.heating", f"{GUIDE}.ch16.heating", f"{GUIDE}.ch13.cold-store",
        f"{GUIDE}.ch13.cold-smoking", f"{GUIDE}.ch13.raw-cold-store",
    }  # fmt: skip
    for identity in asked:
        limit = get(identity).limit
        assert all(isinstance(m, DwellLimit | StayLimit) for m in plain(limit))


def test_an_unknown_limit_is_refused():
    with pytest.raises(UnknownName, match=r"no limit called 'us-fda\.nothing'"):
        get("us-fda.nothing")
    with pytest.raises(UnknownName, match="no interval called 'hourly'"):
        interval("hourly")


def test_water_phase_salt_is_never_printed_with_a_second_unit():
    for published in all_published():
        for member in plain(published.limit):
            if getattr(member, "quantity", "") == "water-phase-salt":
                assert (member.unit, member.also) == ("percent", {})
                assert Fraction(member.value) < 100


def test_a_member_that_is_not_watched_keeps_its_shape_beside_one_that_is():
    heating = get(f"{GUIDE}.ch13.heating")
    stated = StatedLimit(id="letter", kind="stated", what="letter")
    mixed = Combination(
        id=heating.limit.id, kind="any_of", limits=(heating.limit, stated)
    )
    wider = with_interval(replace(heating, limit=mixed), 20)
    assert wider.limit.limits[0].check_every_min == 20
    assert wider.limit.limits[1] == stated
