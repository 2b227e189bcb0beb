"""From rows to the judge: what goes along, what is left out, as of which day."""

from datetime import datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from batches import judging, lookups, recording
from safety.judge import evidence
from safety.judge.finding import Status
from tests import factories
from tests.factories import START, ZONE, at

pytestmark = pytest.mark.django_db

LATER = START + timedelta(days=2)


def records_of(batch):
    return lookups.records_of(lookups.batch_of(batch.producer, batch.code))


def evidence_of(batch, judged_at=LATER):
    return judging.evidence_of(records_of(batch), judged_at=judged_at)


def findings_of(batch, control_point, judged_at=LATER):
    judgement = judging.judge(records_of(batch), judged_at=judged_at)
    return {
        finding.place: finding.status
        for finding in judgement.findings
        if finding.control_point == control_point
    }


class TestEvidence:
    def test_reading_goes_along_as_typed_in_wall_time(self):
        row = factories.ReadingFactory(
            value=Decimal("145.0"),
            place="A",
            instrument=factories.InstrumentFactory(code="P1"),
        )
        row.instrument.producer_id = row.batch.producer_id
        row.instrument.save()
        (reading,) = evidence_of(row.batch).readings
        assert reading == evidence.Reading(
            step="heating",
            quantity="core-temperature",
            at=START,
            value=Decimal("145.0"),
            unit="degF",
            place="A",
            instrument="P1",
            entered_at=START + timedelta(seconds=20),
        )
        assert str(reading.value) == "145.0"
        assert reading.at.utcoffset() == START.utcoffset()

    def test_no_place_is_none_and_a_laboratory_figure_was_not_entered_late(self):
        report = factories.LabResultFactory()
        factories.ReadingFactory(
            batch=report.batch,
            lab_result=report,
            step="packing",
            quantity="salt",
            unit="percent",
            value=Decimal("3.10"),
            recorded_at=START + timedelta(days=1),
        )
        (reading,) = evidence_of(report.batch).readings
        assert (reading.place, reading.entered_at) == (None, None)
        assert reading.instrument is None

    def test_sample_drawn_after_packing_counts_as_of_its_end(self):
        report = factories.LabResultFactory()
        packed = START + timedelta(hours=1)
        for edge, when in (("start", START), ("end", packed)):
            factories.StepMarkFactory(
                batch=report.batch, step="packing", edge=edge, occurred_at=when
            )
        drawn = {"batch": report.batch, "step": "packing", "value": Decimal("3.1")}
        factories.ReadingFactory(
            **drawn,
            quantity="salt",
            unit="percent",
            lab_result=report,
            occurred_at=packed + timedelta(days=1),
        )
        factories.ReadingFactory(
            **drawn, occurred_at=packed + timedelta(minutes=5), lab_result=None
        )
        by_lab, typed = sorted(
            evidence_of(report.batch).readings, key=lambda reading: reading.at
        )
        assert by_lab.at == packed
        assert typed.at == packed + timedelta(minutes=5)

    def test_instrument_goes_along_with_all_its_checks(self):
        made = factories.BatchFactory()
        probe = factories.InstrumentFactory(
            producer=made.producer, code="P1", tolerance=Decimal("1.5")
        )
        plain = factories.InstrumentFactory(producer=made.producer, code="P2")
        factories.InstrumentFactory(producer=made.producer, code="unused")
        for day in (-40, 1):
            when = START + timedelta(days=day)
            factories.InstrumentCheckFactory(
                instrument=probe, by=made.by, occurred_at=when, recorded_at=when
            )
        for tool in (probe, plain):
            factories.ReadingFactory(batch=made, instrument=tool)
        first, second = evidence_of(made).instruments
        assert (first.id, first.tolerance) == (
            "P1",
            evidence.Amount(Decimal("1.5"), "degF"),
        )
        assert [check.at for check in first.checks] == [
            START - timedelta(days=40),
            START + timedelta(days=1),
        ]
        assert first.checks[0].shown == evidence.Amount(Decimal("32.2"), "degF")
        assert (second.tolerance, second.check_every_days, second.checks) == (
            None,
            30,
            (),
        )

    def test_windows_statements_and_dates_go_along(self):
        made = factories.BatchFactory()
        factories.StepMarkFactory(batch=made, occurred_at=at(0))
        factories.StepMarkFactory(batch=made, edge="end", occurred_at=at(185))
        factories.StepMarkFactory(batch=made, step="cooling", occurred_at=at(190))
        factories.StatementFactory(batch=made, what="label", complies=False)
        factories.NamedDateFactory(batch=made, occurs_at=START + timedelta(days=14))
        then = evidence_of(made)
        assert then.windows == (
            evidence.Window(step="heating", start=at(0), end=at(185)),
            evidence.Window(step="cooling", start=at(190), end=None),
        )
        assert then.statements == (evidence.Statement("label", complies=False),)
        assert then.dates == (evidence.NamedDate("use-by", START + timedelta(days=14)),)

    def test_product_goes_along_with_its_place(self):
        made = factories.BatchFactory()
        facts = evidence_of(made).product.facts
        assert facts["jurisdiction"] == "US-MI"
        assert facts["packaging"] == "reduced-oxygen"

    def test_trace_goes_along_as_arrays_with_the_offset_of_the_place(self):
        made = factories.TraceFactory()
        (trace,) = evidence_of(made.batch).traces
        assert trace.values.tolist() == [386, 601, 1452, 1500]
        assert trace.values.dtype == trace.at_us.dtype == np.int64
        assert (trace.decimals, trace.offset_s) == (1, -4 * 3600)

    def test_corrected_and_withdrawn_rows_stay_behind(self):
        made = factories.BatchFactory()
        wrong = factories.ReadingFactory(batch=made, value=Decimal(154))
        factories.ReadingFactory(
            batch=made, value=Decimal(145), corrects=wrong, reason="swapped"
        )
        trace = factories.TraceFactory(batch=made)
        recording.withdraw(trace, reason="wrong file", by=made.by, at=at(90))
        then = evidence_of(made)
        assert [reading.value for reading in then.readings] == [145]
        assert then.traces == ()

    def test_nothing_but_the_batch_itself(self):
        made = factories.BatchFactory()
        then = evidence_of(made)
        assert then.code == made.code
        assert then.judged_at == LATER
        assert then.limits is None
        rows = (then.readings, then.traces, then.windows, then.instruments)
        assert rows == ((), (), (), ())


class TestAsOf:
    def test_what_was_written_later_is_left_out(self):
        made = factories.BatchFactory()
        told = {"batch": made, "recorded_at": at(60)}
        factories.ReadingFactory(**told)
        factories.StepMarkFactory(**told)
        factories.StatementFactory(**told)
        factories.NamedDateFactory(**told)
        factories.TraceFactory(**told)
        before, after = evidence_of(made, at(59)), evidence_of(made, at(60))
        for name in ("readings", "windows", "statements", "dates", "traces"):
            assert len(getattr(before, name)) == 0
            assert len(getattr(after, name)) == 1

    def test_what_claims_to_happen_later_is_left_out(self):
        made = factories.BatchFactory()
        told = {"batch": made, "occurred_at": at(61), "recorded_at": at(60)}
        factories.ReadingFactory(**told)
        factories.StepMarkFactory(**told)
        factories.StatementFactory(**told)
        then = evidence_of(made, at(60))
        assert (then.readings, then.windows, then.statements) == ((), (), ())

    def test_end_of_a_step_is_unknown_before_it_is_marked(self):
        made = factories.BatchFactory()
        factories.StepMarkFactory(batch=made, occurred_at=at(0))
        factories.StepMarkFactory(
            batch=made, edge="end", occurred_at=at(60), recorded_at=at(61)
        )
        assert evidence_of(made, at(60)).windows[0].end is None
        assert evidence_of(made, at(61)).windows[0].end == at(60)

    def test_correction_counts_from_when_it_was_written(self):
        made = factories.BatchFactory()
        wrong = factories.ReadingFactory(batch=made, value=Decimal(154))
        factories.ReadingFactory(
            batch=made,
            value=Decimal(145),
            corrects=wrong,
            reason="swapped",
            recorded_at=at(60),
        )
        assert evidence_of(made, at(59)).readings[0].value == 154
        assert evidence_of(made, at(60)).readings[0].value == 145

    def test_check_counts_from_when_it_was_written(self):
        made = factories.BatchFactory()
        probe = factories.InstrumentFactory(producer=made.producer)
        factories.ReadingFactory(batch=made, instrument=probe)
        factories.InstrumentCheckFactory(
            instrument=probe, by=made.by, occurred_at=at(30), recorded_at=at(40)
        )
        assert evidence_of(made, at(39)).instruments[0].checks == ()
        assert len(evidence_of(made, at(40)).instruments[0].checks) == 1

    def test_trace_is_cut_at_the_instant(self):
        row = factories.TraceFactory(recorded_at=START)
        (trace,) = evidence_of(row.batch, at(10)).traces
        assert trace.values.tolist() == [386, 601]
        assert evidence_of(row.batch, at(0)).traces[0].values.tolist() == [386]

    def test_trace_that_begins_later_is_left_out(self):
        row = factories.TraceFactory(recorded_at=at(-2))
        assert evidence_of(row.batch, at(-1)).traces == ()


class TestDaysOfThePremises:
    def test_judgement_and_dates_are_in_the_zone_of_the_premises(self):
        made = factories.BatchFactory()
        factories.NamedDateFactory(
            batch=made, occurs_at=datetime(2026, 5, 16, 4, tzinfo=ZoneInfo("UTC"))
        )
        then = evidence_of(made, LATER.astimezone(ZoneInfo("UTC")))
        assert then.dates[0].at.date().isoformat() == "2026-05-16"
        assert then.dates[0].at.utcoffset() == timedelta(hours=-4)
        assert then.judged_at.utcoffset() == timedelta(hours=-4)

    @pytest.mark.parametrize("every_min", [30, 60 * 24 * 40])
    def test_trace_across_a_change_of_clocks_has_both_offsets(self, every_min):
        change = datetime(2026, 11, 1, 6, 0, tzinfo=ZoneInfo("UTC"))
        row = factories.TraceFactory(
            first_at=change - timedelta(minutes=every_min),
            every_min=every_min,
            typed=("1.0", "2.0", "3.0"),
        )
        (trace,) = evidence_of(row.batch, LATER + timedelta(days=400)).traces
        assert trace.offset_s.tolist() == [-4 * 3600, -5 * 3600, -5 * 3600]

    def test_trace_that_comes_back_to_its_first_offset_is_looked_at_inside(self):
        row = factories.TraceFactory(
            first_at=datetime(2026, 1, 10, tzinfo=ZONE),
            every_min=60 * 24 * 170,
            typed=("1.0", "2.0", "3.0"),
        )
        (trace,) = evidence_of(row.batch, LATER + timedelta(days=400)).traces
        assert trace.offset_s.tolist() == [-5 * 3600, -4 * 3600, -5 * 3600]


class TestJudge:
    def smoked(self, *, product=None, every_min=10, hot="146.0"):
        """Make a batch held hot for forty minutes, read by a checked probe."""
        by = factories.MemberFactory()
        made = factories.BatchFactory(
            producer=by.producer,
            by=by,
            product=product or factories.ProductFactory(producer=by.producer),
        )
        probe = factories.InstrumentFactory(producer=by.producer, code="P1")
        factories.InstrumentCheckFactory(
            instrument=probe, by=by, shown=Decimal(32), recorded_at=START
        )
        factories.StepMarkFactory(batch=made, occurred_at=at(150))
        factories.StepMarkFactory(batch=made, edge="end", occurred_at=at(200))
        for minutes in range(150, 200, every_min):
            factories.ReadingFactory(
                batch=made,
                place="A",
                instrument=probe,
                value=Decimal(hot),
                occurred_at=at(minutes),
            )
        return made

    def test_published_limits_are_chosen_by_the_facts(self):
        made = self.smoked()
        assert findings_of(made, "heating")["A"] is Status.MET
        assert findings_of(self.smoked(hot="144.9"), "heating")["A"] is Status.MISSED

    def test_findings_say_who_says_so(self):
        judgement = judging.judge(records_of(self.smoked()), judged_at=LATER)
        heating = [f for f in judgement.findings if f.control_point == "heating"]
        assert all(finding.published.source.publisher for finding in heating)

    def test_interval_of_the_plan_is_the_one_judged_by(self):
        slack = factories.ProductFactory(heating_check_min=30)
        strict = factories.ProductFactory(heating_check_min=5)
        for product, every_min, status in (
            (None, 20, Status.NOT_SHOWN),
            (slack, 20, Status.MET),
            (strict, 10, Status.NOT_SHOWN),
        ):
            made = self.smoked(product=product, every_min=every_min)
            assert findings_of(made, "heating")["A"] is status

    def test_failed_check_opens_the_batch_again_but_not_before_its_day(self):
        made = self.smoked()
        probe = made.producer.instruments.get()
        when = START + timedelta(days=1)
        factories.InstrumentCheckFactory(
            instrument=probe,
            by=made.by,
            shown=Decimal("34.4"),
            occurred_at=when,
            recorded_at=when,
        )
        assert findings_of(made, "instrument-check")["P1"] is Status.MISSED
        before = findings_of(made, "instrument-check", when - timedelta(seconds=1))
        assert before["P1"] is Status.MET

    def test_product_of_which_nothing_is_known_is_not_shown(self):
        blank = dict.fromkeys(
            ("food", "process", "packaging", "storage", "programme"), ""
        )
        made = self.smoked(product=factories.ProductFactory(**blank))
        judgement = judging.judge(records_of(made), judged_at=LATER)
        assert judgement.outcome is not Status.MET

    def test_judging_writes_nothing_and_asks_nothing(self, django_assert_num_queries):
        records = records_of(self.smoked())
        with django_assert_num_queries(0):
            judging.judge(records, judged_at=LATER)

    def test_twice_a_day_holds_for_typed_readings_only(self):
        twice = factories.ProductFactory(cold_typed_twice_a_day=True)
        statuses = []
        for logged in (False, True):
            made = factories.BatchFactory(product=twice)
            told = {"batch": made, "step": "cold-holding"}
            factories.StepMarkFactory(occurred_at=at(0), **told)
            factories.StepMarkFactory(edge="end", occurred_at=at(1440), **told)
            for minutes in (0, 720, 1440):
                factories.ReadingFactory(
                    quantity="air-temperature",
                    value=Decimal("30.0"),
                    occurred_at=at(minutes),
                    **told,
                )
            if logged:
                factories.TraceFactory(
                    quantity="air-temperature", typed=("30.0", "30.0"), **told
                )
            statuses.append(findings_of(made, "cold-holding")[None])
        assert statuses == [Status.MET, Status.NOT_SHOWN]
