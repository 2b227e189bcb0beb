"""Reports awaited and unread, salt tests due, and what a product's salt results say."""

from datetime import date, datetime, timedelta
from decimal import Decimal

import pytest

from batches import lookups, models, recording
from batches.lookups import laboratory
from batches.salting import SaltLimit, Sample, salt_results
from tests import factories
from tests.batches.test_recording import refused
from tests.factories import START, ZONE, at

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)


@pytest.fixture
def batch():
    made = factories.BatchFactory(product__facts={})
    return lookups.batch_of(made.producer, made.code)


def report(batch, pieces=(("A", "2.61", "62.4"),), when=START + 30 * DAY, **told):
    return recording.record_lab_result(
        batch,
        laboratory="Tidewrack Analytical",
        pieces=[
            {"place": place, "salt": salt, "moisture": moisture}
            for place, salt, moisture in pieces
        ],
        by=batch.by,
        at=when,
        **{"sampled_at": START, **told},
    )


def only(batch):
    (found,) = laboratory.reports_of(batch.producer)
    return found


class TestReports:
    def test_sample_is_awaited_for_fourteen_days_and_then_asked_for(self, batch):
        report(batch, (), sampled_at=START, sent_at=START + DAY)
        sent = only(batch)
        assert sent.is_waiting
        assert sent.sent_on == date(2026, 5, 3)
        assert not sent.is_overdue(date(2026, 5, 17))
        assert sent.is_overdue(date(2026, 5, 18))

    def test_report_may_lie_for_a_day_and_not_for_two(self, batch):
        report(batch, reported_at=START + 5 * DAY)
        unread = only(batch)
        assert unread.is_unread
        assert not unread.is_overdue(date(2026, 5, 8))
        assert unread.is_overdue(date(2026, 5, 9))
        assert unread in laboratory.reports_open(batch.producer)

    def test_days_are_those_of_the_wall_clock(self, batch):
        late = datetime(2026, 5, 7, 23, 50, tzinfo=ZONE)
        report(batch, reported_at=late, read_at=late + timedelta(hours=25))
        assert only(batch).lay_days == 2
        assert only(batch).lay_too_long

    def test_report_read_in_time_says_nothing(self, batch):
        report(batch, reported_at=START + DAY, read_at=START + 2 * DAY)
        assert only(batch).lay_days == 1
        assert not only(batch).lay_too_long
        assert laboratory.reports_open(batch.producer) == ()

    def test_reading_an_unread_report_is_on_record_once_and_for_ever(self, batch):
        result = report(batch, reported_at=START + DAY, when=START + DAY)
        when = START + 4 * DAY
        first = recording.read_lab_result(result, by=batch.by, at=when)
        again = recording.read_lab_result(result, by=batch.by, at=when + DAY)
        assert again == first
        assert only(batch).read_at == when
        assert only(batch).lay_too_long

    def test_what_has_not_come_cannot_be_read(self, batch):
        sent = report(batch, ())
        with refused("no-report"):
            recording.read_lab_result(sent, by=batch.by, at=START + DAY)

    def test_report_replaces_what_was_sent(self, batch):
        sent = report(batch, ())
        told = {"corrects": sent, "reason": "The report came."}
        report(batch, reported_at=START + 5 * DAY, **told)
        assert only(batch).is_unread
        with refused("already-corrected"):
            recording.read_lab_result(sent, by=batch.by, at=START + 6 * DAY)

    def test_sending_before_sampling_is_refused(self, batch):
        with refused("wrong-order", "sent_at"):
            report(batch, (), sent_at=START - DAY)

    def test_sample_of_no_piece_is_refused(self, batch):
        with refused("count", "mixed"):
            report(batch, mixed=0)

    def test_reports_of_another_producer_are_not_there(self, batch):
        report(batch)
        stranger = factories.BatchFactory()
        assert laboratory.reports_of(stranger.producer) == ()
        with pytest.raises(models.LabResult.DoesNotExist):
            laboratory.report_of(stranger.producer, models.LabResult.objects.get().pk)


class TestSaltTests:
    """At least every three months: FDA hazards guide, chapter 13, verification."""

    def due(self, batch, days):
        now = (START + days * DAY).astimezone(ZONE)
        return laboratory.salt_tests(batch.producer, now=now)

    def test_product_never_tested_is_due_since_its_first_batch(self, batch):
        (test,) = self.due(batch, 1)
        assert test.last_on is None
        assert test.is_due(date(2026, 5, 2))
        # FDA hazards guide, chapter 13: 3.5 % for fish in reduced-oxygen packs.
        assert test.limit.percent == Decimal("3.5")

    def test_test_serves_for_three_months_of_the_calendar(self, batch):
        report(batch)
        factories.BatchFactory(
            producer=batch.producer,
            premises=batch.premises,
            product=batch.product,
            started_at=START + DAY,
        )
        (test,) = self.due(batch, 1)
        assert test.due_on == date(2026, 8, 2)
        assert not test.is_due(date(2026, 8, 1))
        assert test.is_due(date(2026, 8, 2))

    def test_product_that_is_no_longer_made_is_not_due(self, batch):
        report(batch, sampled_at=at(60), when=START + 30 * DAY)
        assert self.due(batch, 400) == ()

    @pytest.mark.parametrize(
        ("day", "months", "after"),
        [
            (date(2026, 11, 30), 3, date(2027, 2, 28)),
            (date(2027, 12, 1), 3, date(2028, 3, 1)),
            (date(2026, 9, 15), 3, date(2026, 12, 15)),
        ],
    )
    def test_months_are_counted_by_the_calendar(self, day, months, after):
        assert laboratory.months_after(day, months) == after


class TestSaltResults:
    """Invented pieces; the bounds were computed independently."""

    LIMIT = SaltLimit(Decimal("3.5"), "At least 3.5 %.", None)

    def results(self, batch):
        return salt_results(
            batch.product, self.LIMIT, laboratory.salt_readings(batch.product)
        )

    def three(self, batch):
        pieces = (("1", "2.61", "62.4"), ("2", "2.55", "61.8"), ("3", "2.7", "63.1"))
        report(batch, pieces)

    def test_salt_and_moisture_give_the_salt_in_the_water(self, batch):
        # 2.05 g salt and 64.9 g water in 100 g: 3.062 %.
        report(batch, (("A", "2.05", "64.9"),))
        (sample,) = self.results(batch).samples
        assert sample.percent == pytest.approx(3.062, abs=5e-4)

    def test_three_pieces_have_a_bound_far_below_their_mean(self, batch):
        self.three(batch)
        (schedule,) = self.results(batch).schedules
        strict, less = schedule.bounds
        assert strict.bound == pytest.approx(3.48, abs=0.01)
        assert less.bound == pytest.approx(3.72, abs=0.01)
        said = " ".join(schedule.cautions)
        assert "Only 3 pieces" in said
        assert "All of 1 batch:" in said

    def test_one_piece_has_no_bound(self, batch):
        report(batch)
        (schedule,) = self.results(batch).schedules
        assert schedule.bounds == ()
        assert "No bound can be given" in " ".join(schedule.cautions)

    @pytest.mark.parametrize(
        "told", [{"mixed": 5}, {"pieces": (("composite of 5", "2.61", "62.4"),)}]
    )
    def test_mixed_samples_never_enter_a_bound(self, batch, told):
        self.three(batch)
        report(batch, **{"pieces": (("M", "9.0", "60.0"),), **told})
        (schedule,) = self.results(batch).schedules
        assert schedule.bounds[0].count == 3
        assert "1 mixed sample left out" in schedule.cautions[0]

    def test_batches_that_differ_more_than_their_pieces_are_named(self, batch):
        self.three(batch)
        other = factories.BatchFactory(
            producer=batch.producer, premises=batch.premises, product=batch.product
        )
        report(other, (("1", "3.2", "62.0"), ("2", "3.22", "62.0")))
        (schedule,) = self.results(batch).schedules
        assert "differ more than the pieces" in schedule.cautions[-1]

    def test_versions_of_the_plan_are_kept_apart(self, batch):
        self.three(batch)
        other = factories.BatchFactory(
            producer=batch.producer, product=batch.product, plan_label="v4"
        )
        self.three(other)
        names = [schedule.name for schedule in self.results(batch).schedules]
        assert names == ["no plan on record", "plan v4"]

    def test_figures_taken_back_count_no_more(self, batch):
        self.three(batch)
        result = models.LabResult.objects.get()
        recording.withdraw(result, reason="another fish", by=batch.by, at=at(60000))
        assert self.results(batch).samples == ()

    def test_few_means_have_no_edges_to_draw(self, batch):
        self.three(batch)
        results = self.results(batch)
        assert results.chart is None
        assert not results.has_edges

    def test_estimate_judges_nothing(self, batch):
        sample = Sample(batch, "A", START, 9.9, 1)
        assert not hasattr(sample, "status")
        assert not hasattr(self.results(batch), "status")
