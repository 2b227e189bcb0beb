"""Reviews: days counted, late for ever, open again, own entries, signed once, apart."""

from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

import pytest

from batches import lookups, models, recording
from batches.judging import evidence_of, judge
from batches.lookups.reviews import Line, Standing, batch_read, monday_of, week_read
from batches.reviewing import anchor_of, days_published
from tests import factories
from tests.batches.test_recording import read, refused
from tests.factories import PASSWORD, START, ZONE, at

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)


@pytest.fixture
def batch():
    made = factories.BatchFactory(product__facts={})
    return lookups.batch_of(made.producer, made.code)


@pytest.fixture
def reviewer(batch):
    return factories.MemberFactory(
        producer=batch.producer, role=models.Member.Role.REVIEWER, name="Tobin March"
    )


def seen(batch):
    return batch_read(lookups.records_of(batch)).sha256


def sign(batch, by, at=START + DAY, **told):
    told = {
        "seen_sha256": seen(batch),
        "password": PASSWORD,
        "title": "Tobin March, reviewer",
        **told,
    }
    return recording.sign_review(batch, by=by, at=at, **told)


def standing(made_at, days=7, zone=ZONE, **told):
    return Standing((Line("reading", 1, made_at, 0, 1),), None, days, "x", zone, **told)


class TestDays:
    """One week after the day on which a record was made, in days of the premises."""

    def test_rule_is_the_published_week(self):
        # 21 CFR 123.8(a)(3)(i): within 1 week of the day that the records are made.
        assert days_published() == (7, "us-cfr.21-123.record-review")

    def test_seventh_day_is_in_time_and_the_eighth_is_not(self):
        # Made on a Monday, 1 June, read on the Monday after, or on the Tuesday.
        made = standing(datetime(2026, 6, 1, 17, 40, tzinfo=ZONE))
        assert made.due_on == date(2026, 6, 8)
        assert made.days_left(date(2026, 6, 8)) == 0
        assert made.days_left(date(2026, 6, 9)) == -1

    @pytest.mark.parametrize(
        ("made_at", "due_on"),
        [
            # 23:59 and 00:01 of the wall clock are two days, whatever the day in UTC.
            (datetime(2026, 6, 2, 3, 59, tzinfo=UTC), date(2026, 6, 8)),
            (datetime(2026, 6, 2, 4, 1, tzinfo=UTC), date(2026, 6, 9)),
            # Over the night in which the clocks are put back, and forward.
            (datetime(2026, 10, 28, 23, 59, tzinfo=ZONE), date(2026, 11, 4)),
            (datetime(2026, 3, 5, 0, 1, tzinfo=ZONE), date(2026, 3, 12)),
        ],
    )
    def test_days_are_those_of_the_wall_clock(self, made_at, due_on):
        assert standing(made_at).due_on == due_on

    def test_entries_of_the_making_are_made_on_the_day_it_ended(self):
        began = datetime(2026, 6, 1, 20, 5, tzinfo=ZONE)
        assert standing(began, made_on=date(2026, 6, 2)).due_on == date(2026, 6, 9)

    def test_entries_long_before_the_making_ended_are_not(self):
        began = datetime(2026, 6, 1, 20, 5, tzinfo=ZONE)
        assert standing(began, made_on=date(2026, 7, 1)).due_on == date(2026, 6, 8)

    def test_entries_after_the_making_have_their_own_day(self):
        later = datetime(2026, 6, 20, 7, 0, tzinfo=ZONE)
        assert standing(later, made_on=date(2026, 6, 2)).due_on == date(2026, 6, 27)

    def test_logged_series_is_made_until_its_last_reading(self, batch):
        factories.TraceFactory(batch=batch, recorded_at=START + 9 * DAY)
        (row,) = lookups.reviews_due(batch.producer)
        trace = next(line for line in row.lines if line.kind == "trace")
        assert trace.made_at == models.Trace.objects.get().last_at

    def test_week_begins_on_monday(self):
        assert monday_of(date(2026, 5, 3)) == date(2026, 4, 27)
        assert monday_of(date(2026, 5, 4)) == date(2026, 5, 4)

    def test_rule_counts_from_the_heating_of_what_is_smoked(self):
        assert anchor_of({"process": "hot-smoked"}) == "heating"
        assert anchor_of({"process": "dried"}) == "packing"


class TestSigning:
    def test_review_keeps_what_was_read_by_whom_and_when(self, batch, reviewer):
        factories.ReadingFactory(batch=batch)
        review = sign(batch, reviewer, note=" Ask for the chart. ")
        assert review.rows_read == 2
        assert review.content_sha256 == seen(batch)
        assert review.note == "Ask for the chart."
        assert review.role == "reviewer"
        assert review.read_on == date(2026, 5, 3)
        assert review.due_on == date(2026, 5, 9)
        assert review.days_late == 0
        assert "I have read these records" in review.meaning
        assert lookups.reviews_due(batch.producer) == ()

    def test_review_keeps_the_head_of_the_trail(self, batch, reviewer):
        read(batch)
        head = models.TrailEvent.objects.order_by("number").last()
        review = sign(batch, reviewer)
        assert review.trail_head_number == head.number
        assert review.trail_head_sha256

    def test_wrong_password_signs_nothing(self, batch, reviewer):
        with refused("password", "password", "Nothing was signed"):
            sign(batch, reviewer, password="guess")
        assert not models.Review.objects.exists()

    def test_record_changed_since_it_was_read_is_refused(self, batch, reviewer):
        before = seen(batch)
        factories.ReadingFactory(batch=batch)
        with refused("changed", "", "Open it again"):
            sign(batch, reviewer, seen_sha256=before)

    def test_correction_changes_what_is_read(self, batch, reviewer):
        row = factories.ReadingFactory(batch=batch)
        before = seen(batch)
        factories.ReadingFactory(batch=batch, corrects=row, reason="misread")
        with refused("changed"):
            sign(batch, reviewer, seen_sha256=before)

    def test_check_of_a_used_instrument_changes_what_is_read(self, batch, reviewer):
        probe = factories.InstrumentFactory(producer=batch.producer)
        factories.ReadingFactory(batch=batch, instrument=probe)
        before = seen(batch)
        factories.InstrumentCheckFactory(instrument=probe)
        assert seen(batch) != before

    def test_same_form_sent_twice_is_one_review(self, batch, reviewer):
        told = {"entry_id": uuid4(), "seen_sha256": seen(batch)}
        first = sign(batch, reviewer, **told)
        assert sign(batch, reviewer, at=START + 2 * DAY, **told) == first
        assert models.Review.objects.count() == 1

    def test_same_form_with_other_words_is_refused(self, batch, reviewer):
        told = {"entry_id": uuid4(), "seen_sha256": seen(batch)}
        sign(batch, reviewer, **told)
        with refused("entry-id-used"):
            sign(batch, reviewer, note="another", **told)

    def test_second_review_of_the_same_is_refused(self, batch, reviewer):
        sign(batch, reviewer)
        with refused("nothing-new", "", "nothing was written since"):
            sign(batch, reviewer)

    @pytest.mark.parametrize("role", ["maker", "inspector"])
    def test_only_owners_and_reviewers_sign(self, batch, role):
        other = factories.MemberFactory(producer=batch.producer, role=role)
        with refused("not-allowed"):
            sign(batch, other)

    def test_member_of_another_producer_signs_nothing(self, batch):
        with refused("not-allowed"):
            sign(batch, factories.MemberFactory())

    def test_signature_needs_a_name(self, batch, reviewer):
        with refused("blank", "title"):
            sign(batch, reviewer, title=" ")


class TestLate:
    def test_seventh_day_is_in_time(self, batch, reviewer):
        last_minute = datetime(2026, 5, 9, 23, 59, tzinfo=ZONE)
        assert sign(batch, reviewer, at=last_minute).days_late == 0

    def test_late_review_stays_late_whatever_follows(self, batch, reviewer):
        late = sign(batch, reviewer, at=datetime(2026, 5, 10, 0, 1, tzinfo=ZONE))
        assert late.days_late == 1
        read(batch, minutes=9 * 24 * 60)
        sign(batch, reviewer, at=START + 10 * DAY)
        assert lookups.reviews_late(batch.producer) == (late,)

    def test_queue_says_how_many_days_are_left_and_over(self, batch):
        (row,) = lookups.reviews_due(batch.producer)
        assert row.days_left(date(2026, 5, 7)) == 2
        assert row.days_left(date(2026, 5, 12)) == -3


class TestOpenAgain:
    def test_entry_after_a_review_is_to_be_read_but_opens_nothing(
        self, batch, reviewer
    ):
        sign(batch, reviewer)
        read(batch, minutes=3000)
        (row,) = lookups.reviews_due(batch.producer)
        assert len(row.lines) == 1
        assert not row.is_reopened

    def test_correction_of_what_was_read_opens_it_again(self, batch, reviewer):
        row = read(batch, minutes=5)
        sign(batch, reviewer)
        read(batch, "146.0", minutes=3000, corrects=row, reason="misread")
        (due,) = lookups.reviews_due(batch.producer)
        assert due.is_reopened
        sign(batch, reviewer, at=START + 4 * DAY)
        assert lookups.reviews_due(batch.producer) == ()

    def test_withdrawal_of_what_was_read_opens_it_again(self, batch, reviewer):
        row = read(batch, minutes=5)
        sign(batch, reviewer)
        recording.withdraw(row, reason="twice", by=batch.by, at=START + 2 * DAY)
        assert lookups.reviews_due(batch.producer)[0].is_reopened

    def test_row_that_claims_an_earlier_instant_is_still_to_be_read(
        self, batch, reviewer
    ):
        sign(batch, reviewer)
        factories.ReadingFactory(batch=batch, recorded_at=START)
        (row,) = lookups.reviews_due(batch.producer)
        assert [line.kind for line in row.lines] == ["reading"]


class TestOwn:
    def test_review_of_own_entries_is_marked(self, batch):
        owner = batch.by
        owner.user.set_password(PASSWORD)
        assert sign(batch, owner).own_rows == 1

    def test_review_of_own_entries_is_refused_where_another_must_read(self, batch):
        owner = batch.by
        recording.set_review_rule(batch.producer, by_other=True, by=owner, at=START)
        with refused("own-record", "", "nobody reviews entries of their own"):
            sign(batch, owner)
        recording.set_review_rule(batch.producer, by_other=False, by=owner, at=START)
        assert sign(batch, owner).pk

    def test_remarks_of_a_reviewer_are_no_entries_of_the_work(self, batch, reviewer):
        recording.set_review_rule(batch.producer, by_other=True, by=batch.by, at=START)
        factories.RemarkFactory(batch=batch, by=reviewer)
        assert sign(batch, reviewer).own_rows == 0

    def test_only_the_owner_says_who_reviews(self, batch, reviewer):
        with refused("not-allowed"):
            recording.set_review_rule(
                batch.producer, by_other=False, by=reviewer, at=START
            )


class TestWeeks:
    @pytest.fixture
    def check(self, batch):
        probe = factories.InstrumentFactory(producer=batch.producer)
        return factories.InstrumentCheckFactory(instrument=probe, by=batch.by)

    def sign(self, check, by, at=START + DAY):
        producer = check.instrument.producer
        week_of = monday_of(START.date())
        return recording.sign_week(
            producer,
            week_of=week_of,
            seen_sha256=week_read(producer, week_of).sha256,
            password=PASSWORD,
            title="Tobin March, reviewer",
            by=by,
            at=at,
        )

    def test_week_of_checks_is_read_and_signed(self, batch, check, reviewer):
        due = lookups.reviews_due(batch.producer)
        assert [row.week_of for row in due if row.batch is None] == [date(2026, 4, 27)]
        review = self.sign(check, reviewer)
        assert (review.rows_read, review.batch) == (1, None)
        assert all(row.batch for row in lookups.reviews_due(batch.producer))

    def test_correction_weeks_later_opens_the_first_week_again(
        self, batch, check, reviewer
    ):
        self.sign(check, reviewer)
        factories.InstrumentCheckFactory(
            instrument=check.instrument,
            corrects=check,
            reason="misread",
            recorded_at=START + 30 * DAY,
        )
        weeks = [row for row in lookups.reviews_due(batch.producer) if row.week_of]
        assert [(row.week_of, row.is_reopened) for row in weeks] == [
            (date(2026, 4, 27), True)
        ]

    def test_checks_of_another_producer_are_not_read(self, batch, check):
        factories.InstrumentCheckFactory()
        week = week_read(batch.producer, monday_of(START.date()))
        assert week.rows["check"] == (check,)


class TestQueue:
    def test_other_producers_records_are_not_there(self, batch):
        factories.BatchFactory()
        assert [row.batch for row in lookups.reviews_due(batch.producer)] == [batch]

    def test_oldest_comes_first(self, batch):
        older = factories.BatchFactory(
            producer=batch.producer,
            premises=batch.premises,
            recorded_at=START - 3 * DAY,
        )
        due = lookups.reviews_due(batch.producer)
        assert [row.batch for row in due] == [older, batch]

    @pytest.mark.parametrize("more", [0, 12])
    def test_queue_takes_seven_queries_however_much_there_is(
        self, batch, reviewer, more, django_assert_max_num_queries
    ):
        sign(batch, reviewer)
        for n in range(more):
            another = factories.BatchFactory(
                producer=batch.producer, premises=batch.premises
            )
            factories.ReadingFactory.create_batch(3, batch=another, occurred_at=at(n))
        with django_assert_max_num_queries(7):
            assert len(lookups.reviews_due(batch.producer)) == more


class TestJudging:
    """The finding about the review rests on the signature."""

    def smoked(self, batch):
        for edge, minutes in (("start", 0), ("end", 120)):
            recording.mark_step(
                batch,
                step="heating",
                edge=edge,
                occurred_at=at(minutes),
                by=batch.by,
                at=at(120),
            )

    def status(self, batch, when):
        judgement = judge(lookups.records_of(batch), judged_at=when)
        return next(
            finding.status.value
            for finding in judgement.findings
            if finding.limit_id == "us-cfr.21-123.record-review"
        )

    @pytest.mark.parametrize(("days", "status"), [(7, "met"), (8, "missed")])
    def test_signature_within_seven_days_meets_the_rule(
        self, batch, reviewer, days, status
    ):
        self.smoked(batch)
        assert self.status(batch, START + DAY) == "not shown"
        sign(batch, reviewer, at=START + days * DAY)
        assert self.status(batch, START + 20 * DAY) == status

    def test_signature_before_the_heating_ended_shows_nothing(self, batch, reviewer):
        sign(batch, reviewer, at=at(60))
        self.smoked(batch)
        assert self.status(batch, START + DAY) == "not shown"

    def test_signature_before_the_end_was_written_down_shows_nothing(
        self, batch, reviewer
    ):
        told = {"step": "heating", "by": batch.by}
        recording.mark_step(batch, edge="start", occurred_at=at(0), at=at(1), **told)
        sign(batch, reviewer, at=at(130))
        recording.mark_step(batch, edge="end", occurred_at=at(120), at=at(140), **told)
        assert self.status(batch, START + DAY) == "not shown"

    def test_correction_of_the_end_takes_no_timely_signature_away(
        self, batch, reviewer
    ):
        self.smoked(batch)
        sign(batch, reviewer, at=START + DAY)
        end = models.StepMark.objects.get(edge="end")
        recording.mark_step(
            batch,
            step="heating",
            edge="end",
            occurred_at=at(121),
            corrects=end,
            reason="misread the clock",
            by=batch.by,
            at=START + 12 * DAY,
        )
        sign(batch, reviewer, at=START + 13 * DAY)
        assert self.status(batch, START + 20 * DAY) == "met"

    def test_second_signature_cannot_make_a_late_one_good(self, batch, reviewer):
        self.smoked(batch)
        sign(batch, reviewer, at=START + 9 * DAY)
        read(batch, minutes=10 * 24 * 60, outside_window=True)
        sign(batch, reviewer, at=START + 11 * DAY)
        assert self.status(batch, START + 20 * DAY) == "missed"

    def test_typed_date_counts_no_more_once_somebody_signed(self, batch, reviewer):
        self.smoked(batch)
        factories.NamedDateFactory(
            batch=batch, what="record-review", occurs_at=START + DAY
        )
        sign(batch, reviewer, at=START + 9 * DAY)
        dates = evidence_of(lookups.records_of(batch), judged_at=START + 20 * DAY).dates
        assert [each.at for each in dates] == [START + 9 * DAY]
