"""Corners of single checks: which trace stands beside a reading, and what is no evidence."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import numpy as np

from safety.audit import audit
from safety.audit.logged import beside, ordered, pairs
from safety.audit.pace import level_of, pace
from safety.audit.parts import Brine, OtherEntry
from safety.audit.record import Earlier
from safety.judge.evidence import Amount, us_of
from safety.limits.model import Combination
from tests.safety.audit.build import (
    HOLD,
    PLAN,
    STEPS,
    a_record,
    ice,
    instrument,
    reading,
    readings,
    report,
    t,
    trace,
    with_parts,
)
from tests.safety.audit.cases_answers import ANSWER, BRINE, READ, SITES
from tests.safety.audit.cases_rows import AIR, THICK, cooler, heated


def found(record, identity):
    said = audit(record)
    assert identity in said.ran
    return [each for each in said.found if each.check == identity]


def because(record, identity):
    (said,) = (each for each in audit(record).not_run if each.check == identity)
    return said.because


class TestTraceBesideAReading:
    MORNING = trace(["40.0", "41.0"], start="08:00", place="C1")
    EVENING = trace(["50.0", "51.0"], start="20:00", place="C1")
    EMPTY = replace(MORNING, at_us=MORNING.at_us[:0], values=MORNING.values[:0])
    READING = {"step": "heating", "place": "by hand"}

    def test_that_which_covers_its_instant(self):
        at_night = reading("20:05", **self.READING)
        chosen = beside(at_night, [self.EMPTY, self.MORNING, self.EVENING])
        assert chosen is not None
        assert chosen.trace is self.EVENING

    def test_none_where_two_places_could_be_meant(self):
        other = replace(self.EVENING, place="C2")
        assert beside(reading("20:05", **self.READING), [self.MORNING, other]) is None
        named = reading("20:05", step="heating", place="C2")
        assert beside(named, [self.MORNING, other]).trace is other

    def test_nothing_is_said_far_from_its_samples(self):
        series = ordered(self.MORNING)
        at = us_of(t("08:05"))
        assert series.around(at, "degF", 10**9) == (40, 41)
        assert series.around(at, "degF", 10**8) is None
        assert series.around(us_of(t("08:00")), "degF", 0) == (40, 40)
        for outside in ("07:59", "08:11"):
            assert series.around(us_of(t(outside)), "degF", 10**12) is None
        late_half = ordered(
            replace(self.MORNING, at_us=np.add(self.MORNING.at_us, (0, 60 * 10**8)))
        )
        assert late_half.around(us_of(t("08:05")), "degF", 10**9) is None

    def test_pairs_leave_out_what_has_no_instant_or_number(self):
        rows = [reading(None, **self.READING), reading("08:05", "ok", **self.READING)]
        rows.append(reading("08:00", "40.0", step="cooling"))
        assert pairs(rows, [self.MORNING], Fraction(10)) == []


class TestPace:
    def test_slowest_core_counts_and_every_core_must_arrive(self):
        fast, slow = trace(["100.0", "146.0"]), trace(["90.0", "120.0", "145.0"])
        level = Amount(HOLD.value, HOLD.unit)
        heating = STEPS[1]
        assert pace([fast, slow], heating, level).minutes == 20
        assert pace([fast, trace(["100.0"])], heating, level) is None
        assert pace([fast], None, level) is None
        assert pace([trace(["145.0"])], heating, level).finest_min == 0

    def test_level_is_found_inside_a_combination(self):
        member = replace(HOLD, control_point=None)
        either = Combination(
            id="either", kind="any_of", control_point="heating", limits=(member,)
        )
        assert level_of([either]) == Amount(Decimal(145), "degF")
        assert level_of([replace(HOLD, kind="dwell_at_most")]) is None

    def test_with_five_batches_their_spread_counts(self):
        # Mean 277.2 min, sd 16.8 min: three of them above the mean is 327.5 min; the
        # median is 270 min, 1.06 times it 286.2 min.
        usual = (265.0, 268.0, 270.0, 276.0, 307.0)
        earlier = tuple(Earlier(code=str(m), heated_min=m) for m in usual)
        assert found(replace(heated(58), earlier=earlier), "slow-heating")
        assert not found(replace(heated(57), earlier=earlier), "slow-heating")

    def test_steady_batches_make_a_small_delay_odd(self):
        steady = (270.0, 270.0, 270.0, 271.0, 270.0)
        earlier = tuple(
            Earlier(code=str(i), heated_min=m) for i, m in enumerate(steady)
        )
        assert found(replace(heated(56), earlier=earlier), "slow-heating")
        # One interval of the logger more than usual says nothing.
        assert not found(replace(heated(55), earlier=earlier), "slow-heating")


def test_run_without_a_logger_goes_by_the_other_readings_or_by_its_length():
    varied = ("34.1", "35.2", "36.9", "37.7", "36.3")
    run = a_record(readings=readings(("36.0",) * 4 + varied, every_min=60, **AIR))
    assert "other readings" in found(run, "same-value-run")[0].sentence
    short = a_record(readings=readings(("36.0",) * 5, every_min=60, **AIR))
    assert not found(short, "same-value-run")
    long = a_record(readings=readings(("36.0",) * 6, every_min=60, **AIR))
    assert "chance" not in found(long, "same-value-run")[0].sentence


def test_short_run_that_chance_explains_is_no_fault():
    # Whole degrees: 1 / (2 · 1.22 · 1.772) = 0.23 a pair; 0.23 ** 3 · 3 = 0.037.
    assert not found(cooler("36", "36", "36", "36", "37", "38"), "same-value-run")


def test_pieces_of_one_size_are_no_run():
    same = readings(("30.0",) * 8, start="2025-06-04T19:10", every_min=1, **THICK)
    assert not found(a_record(readings=same), "same-value-run")


def test_digits_of_a_cooler_lie_too_close_to_be_looked_at():
    near = a_record(
        readings=readings([f"36.{place % 10}" for place in range(60)], every_min=5)
    )
    assert "too close" in because(near, "last-digit")
    assert "too close" in because(near, "fives-and-zeros")


def test_box_read_once_for_several_batches_counts_once():
    rows = readings([f"{40 + place}.{place % 10}" for place in range(40)], every_min=5)
    both = a_record(readings=rows, earlier=(Earlier(code="A", readings=rows),))
    assert "50 typed temperatures" in because(both, "last-digit")


def test_sheet_shared_on_one_day_is_no_copy():
    rows = readings([f"{40 + place}.1" for place in range(8)])
    both = a_record(readings=rows, earlier=(Earlier(code="A", readings=rows),))
    assert not found(both, "copied-sheet")


def test_batch_without_product_is_named():
    assert "no product" in found(a_record(product=""), "no-product-or-lot")[0].sentence


def test_way_between_two_readings_of_one_place_is_none():
    same = OtherEntry(by="IF", place="MB1", at=t("11:05"), what="36.5 °F")
    unknown = replace(same, place="P1")
    other = replace(same, place="C1", by="TM")
    record = with_parts(READ, sites=SITES, elsewhere=(same, unknown, other))
    assert not found(record, "two-places-at-once")


def test_two_readings_of_one_batch_can_clash_and_are_told_once():
    rows = (reading("11:00", place="MB1"), reading("11:10", place="C1"))
    record = with_parts(a_record(readings=rows), sites=SITES)
    assert len(found(record, "two-places-at-once")) == 1


def test_review_that_does_not_say_its_length_is_not_timed():
    assert "opened" in because(a_record(), "review-too-fast")
    assert because(a_record(), "reviewer-untrained").startswith("not on record here")
    untimed = with_parts(a_record(), training=())
    assert "not reviewed" in because(untimed, "reviewer-untrained")


def test_answer_elsewhere_in_the_work_answers_nothing():
    record = with_parts(
        missed=(), answers=(replace(ANSWER, control_point="heating", cause=""),)
    )
    assert found(record, "missed-unanswered") == []
    assert found(record, "answer-incomplete")  # a day has passed since it was opened


def test_old_schedule_needs_no_test_before_the_sale():
    assert "not new" in because(
        with_parts(sales=(), is_new_schedule=False), "sold-before-test"
    )
    early = with_parts(a_record(), sales=(), is_new_schedule=True)
    assert found(early, "sold-before-test") == []


def test_unread_report_ages():
    lying = a_record(reports=(report(reported="2025-06-18T09:00"),))
    assert "still unread" in found(lying, "lab-unread")[0].sentence


def test_brine_that_was_not_weighed_or_read_says_nothing():
    unread = replace(BRINE, salometer=None, brine_f=None)
    for identity in ("brine-against-salometer", "salometer-uncorrected"):
        assert "not" in because(with_parts(brine=unread), identity)
    nothing = Brine(
        water_kg=Decimal(0),
        salt_kg=Decimal(0),
        fish_kg=Decimal(0),
        salometer=Decimal(60),
    )
    assert "not weighed" in because(
        with_parts(brine=nothing), "brine-against-salometer"
    )
    assert because(with_parts(brine=nothing), "brine-short")


def test_lifted_fish_does_not_soak():
    out = ((t("2025-06-04T20:00"), t("2025-06-04T21:10")),)
    record = with_parts(brine=replace(BRINE, lifted=out))  # 11 h 10 less 1 h 10 is 10 h
    assert not found(record, "soak-outside")
    longer = ((out[0][0], t("2025-06-04T21:11")),)
    assert found(with_parts(brine=replace(BRINE, lifted=longer)), "soak-outside")


def test_schedule_that_says_no_number_says_nothing():
    vague = replace(PLAN, schedule={"thickest_mm": "thick", "minimum_h": "NaN"})
    assert because(a_record(plan=vague), "over-size") == "no schedule is on record"
    assert because(a_record(plan=vague), "soak-outside") == "no schedule is on record"


def test_failed_instrument_is_not_called_drifting():
    failed = a_record(
        readings=(reading("12:00"),),
        instruments=(instrument(ice("2025-06-02", "34.1")),),
    )
    assert not found(failed, "drift-past-half")
    assert "had failed" in found(failed, "instrument-out-of-date")[0].sentence


def test_drift_begins_anew_after_an_adjustment():
    checks = (ice("2025-05-26", "33.9", adjusted=True), ice("2025-06-02", "32.1"))
    record = a_record(readings=(reading("12:00"),), instruments=(instrument(*checks),))
    assert not found(record, "drift-on-average")


def test_instrument_never_checked_is_out_of_date():
    record = a_record(readings=(reading("12:00"),), instruments=(instrument(),))
    assert "no check" in found(record, "instrument-out-of-date")[0].sentence
