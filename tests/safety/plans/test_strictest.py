"""Which published limit is the strictest: only where every record says so."""

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safety.facts import Answer
from safety.judge import judge_batch, read_batch
from safety.judge.finding import Status
from safety.limits import Selected, get
from safety.limits.model import (
    Band,
    Combination,
    CoolLimit,
    DwellLimit,
    ExposureLimit,
    StatedLimit,
    StayLimit,
    ValueLimit,
    WithinLimit,
)
from safety.plans.planned import Role
from safety.plans.strictest import Placed, at_least_as_strict, choose, placed

START = datetime(2026, 5, 2, 8, tzinfo=UTC)
QUARTER = Decimal(15)


def value(figure, unit="percent", kind="at_least", quantity="water-phase-salt", **more):
    return ValueLimit(
        id="a", kind=kind, control_point="curing", step="packing",
        quantity=quantity, value=Decimal(figure), unit=unit, **more,
    )  # fmt: skip


def dwell(figure, minutes, unit="degF", **more):
    return DwellLimit(
        id="a", kind="dwell_at_least", control_point="heating",
        quantity="core-temperature", value=Decimal(figure), unit=unit,
        minutes=Decimal(minutes), check_every_min=QUARTER, **more,
    )  # fmt: skip


def stay(figure, unit="degF", excursion=0, **more):
    return StayLimit(
        id="a", kind="stay_at_most", control_point="cold-holding",
        quantity="air-temperature", value=Decimal(figure), unit=unit,
        excursion_min=Decimal(excursion), check_every_min=Decimal(60), **more,
    )  # fmt: skip


def cool(start, end, minutes, unit="degF"):
    return CoolLimit(
        id="a", kind="cool_through", control_point="cooling",
        quantity="core-temperature", from_value=Decimal(start), to_value=Decimal(end),
        unit=unit, minutes=Decimal(minutes),
    )  # fmt: skip


def exposure(above, minutes, up_to=None, steps=("packing",)):
    return ExposureLimit(
        id="a", kind="exposure_at_most", control_point="exposure", step="packing",
        quantity="product-temperature", unit="degF", steps=steps,
        bands=(Band(Decimal(above), up_to, Decimal(minutes)),),
        check_every_min=Decimal(30),
    )  # fmt: skip


def any_of(*limits):
    return Combination(
        id="a", kind="any_of", control_point="curing", step="packing", limits=limits
    )


def all_of(*limits):
    return replace(any_of(*limits), kind="all_of")


def stricter(one, other, recorder=(False, False)):
    def place(limit, asks):
        step = limit.step or (limit.control_point if limit.step is None else None)
        return Placed(limit, step, asks)

    return at_least_as_strict(place(one, recorder[0]), place(other, recorder[1]))


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (value("3.5"), value("3.0")),
        (value("3.5"), value("3.5")),
        (value("3.0", strict=True), value("3.0")),
        (value("4.6", "1", "at_most", "ph"), value("5.0", "1", "at_most", "ph")),
        (dwell("145", 30), dwell("145", "0.25")),
        (dwell("150", 30), dwell("145", 30)),
        (stay("38"), stay("40")),
        (stay("38"), stay("38", excursion=30)),
        (cool("135", "40", 360), cool("135", "41", 360)),
        (cool("135", "41", 300), cool("135", "41", 360)),
        (exposure(50, 120), exposure(50, 300)),
        (exposure(40, 120), exposure(50, 120)),
        (exposure(50, 120, steps=("curing", "packing")), exposure(50, 120)),
        (value("3.5"), any_of(value("3.5"), value("3.0"))),
        (all_of(value("3.5"), value("100", "ppm", quantity="nitrite")), value("3.0")),
        (any_of(value("3.5"), value("4.0")), value("3.0")),
        (value("3.5"), all_of(value("3.0"), value("3.5"))),
        (
            any_of(value("3.5"), all_of(value("3.0"), value("4.0"))),
            any_of(value("3.5"), value("4.0")),
        ),
    ],
)
def test_stricter_or_as_strict(one, other):
    assert stricter(one, other)


@pytest.mark.parametrize(
    ("one", "other", "reason"),
    [
        (value("3.0"), value("3.5"), "less salt"),
        (value("3.0"), value("3.0", strict=True), "equal is not above"),
        (dwell("145", 30), dwell("150", 10), "longer, but less hot"),
        (dwell("150", 10), dwell("145", 30), "hotter, but shorter"),
        (stay("40"), stay("38"), "warmer"),
        (cool("135", "70", 120), cool("135", "40", 360), "another end"),
        (cool("140", "40", 360), cool("135", "40", 360), "another start"),
        (exposure(50, 120), exposure(70, 60), "more minutes"),
        (exposure(50, 120, up_to=Decimal(70)), exposure(50, 120), "only a band of it"),
        (exposure(50, 120), exposure(50, 120, steps=("curing",)), "another step"),
        (any_of(value("3.5"), value("3.0")), value("3.5"), "the other way is open"),
        (value("3.0"), all_of(value("3.0"), value("3.5")), "only one of the two"),
        (value("3.5"), dwell("145", 30), "another kind"),
        (value("3.5"), value("100", "ppm", quantity="nitrite"), "another quantity"),
        (
            value("3.5"),
            replace(value("3.0"), step="curing"),
            "a sample of another step",
        ),
    ],
    ids=lambda item: item if isinstance(item, str) else "",
)
def test_not_known_to_be_as_strict(one, other, reason):
    assert not stricter(one, other), reason


def test_printed_figures_count_in_the_unit_in_which_they_are_printed():
    # 40 F printed as 4.4 C; 4.4 C alone is 39.92 F: stricter in F, equal in C.
    both = stay("40", also={"degC": Decimal("4.4")})
    celsius = stay("4.4", "degC")
    assert stricter(celsius, both)
    assert not stricter(both, celsius)
    # 145 F printed as 62.8 C is looser in C than 145 F printed as 63 C: both stay.
    code = dwell("145", "0.25", also={"degC": Decimal(63)})
    rule = dwell("145", 30, also={"degC": Decimal("62.8")})
    assert not stricter(rule, code)
    assert not stricter(code, rule)


def test_a_limit_that_asks_for_a_recorder_is_not_covered_by_one_that_does_not():
    assert not stricter(stay("38"), stay("40"), recorder=(False, True))
    assert stricter(stay("38"), stay("40"), recorder=(True, True))
    assert stricter(stay("38"), stay("40"), recorder=(True, False))


def test_a_limit_looked_at_more_seldom_is_not_as_strict():
    seldom = replace(stay("38"), check_every_min=Decimal(120))
    assert not stricter(seldom, stay("40"))


def test_statements_and_dates():
    label = StatedLimit(id="a", kind="stated", control_point="labelling", what="label")
    assert stricter(label, replace(label, id="b"))
    assert not stricter(label, replace(label, what="variance"))
    week = WithinLimit(
        id="a", kind="within", control_point="shelf-life", what="use-by",
        of="heating.end", days=Decimal(6),
    )  # fmt: skip
    assert stricter(week, replace(week, days=Decimal(14)))
    assert not stricter(replace(week, days=Decimal(14)), week)
    assert not stricter(week, replace(week, of="packing.end"))


# ------------------------------------------------------------------ choosing


def selected(identity, limit, applies=Answer.YES, governs=Answer.YES):
    published = replace(
        get("us-fda.hazards-guide.ch13.salt"),
        limit=replace(limit, id=identity),
        continuous_recorder=False,
    )
    missing = ("eviscerated",) if applies is Answer.UNKNOWN else ()
    return Selected(published, applies, missing, governs, "because.")


def roles(*limits):
    return {one.published.limit.id: one.role for one in choose(limits)}


def test_the_strictest_governs_and_the_others_are_met_with_it():
    found = choose((selected("low", value("3.0")), selected("high", value("3.5"))))
    assert [one.role for one in found] == [Role.COVERED, Role.STRICTEST]
    assert found[0].covered_by == "high"
    assert "Whoever meets high meets this one too" in found[0].why


def test_what_is_covered_names_a_limit_that_stands():
    found = choose((
        selected("low", value("2.5")),
        selected("middle", value("3.0")),
        selected("high", value("3.5")),
    ))
    assert [one.covered_by for one in found] == ["high", "high", ""]


def test_of_two_that_say_the_same_the_first_stands():
    assert roles(selected("a", value("3.5")), selected("b", value("3.5"))) == {
        "a": Role.STRICTEST,
        "b": Role.COVERED,
    }


def test_what_cannot_be_compared_stays():
    assert roles(
        selected("hot", dwell("150", 10)), selected("long", dwell("145", 30))
    ) == {"hot": Role.STRICTEST, "long": Role.STRICTEST}


def test_a_limit_that_may_not_apply_covers_nothing():
    assert roles(
        selected("may", value("10"), applies=Answer.UNKNOWN),
        selected("does", value("3.5")),
    ) == {"may": Role.OPEN, "does": Role.STRICTEST}


def test_a_limit_that_may_not_govern_covers_nothing():
    assert roles(
        selected("may", value("10"), governs=Answer.UNKNOWN),
        selected("does", value("3.5")),
    ) == {"may": Role.OPEN, "does": Role.STRICTEST}


def test_a_limit_that_may_apply_is_covered_by_a_stricter_one_that_does():
    assert roles(
        selected("may", value("3.0"), applies=Answer.UNKNOWN),
        selected("does", value("3.5")),
    ) == {"may": Role.COVERED, "does": Role.STRICTEST}


def test_a_limit_of_another_country_is_comparison_and_covers_nothing():
    assert roles(
        selected("abroad", value("10"), governs=Answer.NO),
        selected("here", value("3.5")),
    ) == {"abroad": Role.COMPARISON, "here": Role.STRICTEST}


def test_published_pair_of_the_guide_and_michigan():
    # Michigan asks for 38 F (3.3 C) in the store, the guide for 40 F (4.4 C) and a
    # recorder: neither makes the other idle. Without the recorder Michigan would.
    guide = placed(get("us-fda.hazards-guide.ch13.cold-store"))
    michigan = placed(get("us-mi.r285-569.cold-store"))
    assert not at_least_as_strict(guide, michigan)
    assert at_least_as_strict(replace(michigan, recorder=True), guide)
    assert at_least_as_strict(michigan, guide) is (not guide.recorder)


# ------------------------------------------------------------------ against the judge

STAYS = [
    stay(figure, unit, excursion=excursion, strict=strict)
    for figure, unit in [
        ("38", "degF"), ("40", "degF"), ("41", "degF"),
        ("3.3", "degC"), ("4.4", "degC"), ("5", "degC"),
    ]
    for excursion in (0, 30)
    for strict in (False, True)
]  # fmt: skip
DWELLS = [
    dwell(figure, minutes, strict=strict, also=also)
    for figure in ("140", "145", "150")
    for minutes in (15, 30, 45)
    for strict in (False, True)
    for also in ({}, {"degC": Decimal("62.8")})
]
COOLINGS = [
    cool(start, end, minutes)
    for start in ("135", "140")
    for end in ("40", "41", "70")
    for minutes in (60, 120, 240)
]

SERIES = {
    "cold-holding": ("air-temperature", [35, 36, 37, 38, 39, 40, 41, 43], STAYS),
    "heating": ("core-temperature", [139, 144, 145, 147, 153], DWELLS),
    "cooling": ("core-temperature", [36, 38, 40, 60, 70, 100, 134, 139, 150], COOLINGS),
}


PAIRS = {
    step: [pair for pair in product(limits, limits) if stricter(*pair)]
    for step, (_, _, limits) in SERIES.items()
}


def judged(limits, step, quantity, temperatures, every):
    readings = [
        {
            "step": step, "quantity": quantity, "place": "A", "value": figure,
            "unit": "degF", "at": (START + timedelta(minutes=every * at)).isoformat(),
        }
        for at, figure in enumerate(temperatures)
    ]  # fmt: skip
    end = START + timedelta(minutes=every * (len(temperatures) - 1))
    batch = read_batch(
        json.dumps({
            "format": "brinewright.batch/1",
            "windows": [
                {"step": step, "start": START.isoformat(), "end": end.isoformat()}
            ],
            "readings": readings,
        }),
        now=START + timedelta(days=2),
    )
    findings = judge_batch(replace(batch, limits=limits)).findings
    return {one.limit_id: one.status for one in findings if one.limit_id in "ab"}


@pytest.mark.parametrize("step", SERIES)
@given(data=st.data())
def test_whoever_meets_the_stricter_meets_the_other(step, data):
    quantity, figures, _ = SERIES[step]
    drawn = data.draw(st.sampled_from(PAIRS[step]))
    one, other = replace(drawn[0], id="a"), replace(drawn[1], id="b")
    temperatures = data.draw(st.lists(st.sampled_from(figures), min_size=2, max_size=9))
    every = data.draw(st.sampled_from([10, 15, 30]))
    found = judged((one, other), step, quantity, temperatures, every)
    if found["a"] is Status.MET:
        assert found["b"] in {Status.MET, Status.DOES_NOT_APPLY}
    if found["b"] is Status.MISSED:
        assert found["a"] is not Status.MET


def test_a_record_that_meets_the_stricter_is_there_to_be_judged():
    found = judged(
        (replace(dwell("145", 30), id="a"), replace(dwell("140", 15), id="b")),
        "heating",
        "core-temperature",
        [160, 160, 160, 160],
        15,
    )
    assert found == {"a": Status.MET, "b": Status.MET}
