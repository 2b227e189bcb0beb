"""Deviations: held, evaluated, decided, closed; every guard in between."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest

from batches import deviating, lookups, models, recording
from batches.judging import judge
from safety.judge.finding import Status
from tests import factories
from tests.batches.test_recording import mark, read, refused
from tests.factories import at

pytestmark = pytest.mark.django_db

HEATING = "us-fda.hazards-guide.ch13.heating"


@pytest.fixture
def batch():
    return factories.BatchFactory(code="B07")


@pytest.fixture
def by(batch):
    return batch.by


@pytest.fixture
def deviation(batch):
    return opened(batch)


def opened(batch, **told):
    told = {
        "control_point": "heating",
        "limit_id": HEATING,
        "status": "missed",
        "words": "At or above the limit for 22 min.",
        "observed_at": at(60),
        "by": batch.by,
        "at": at(70),
    } | told
    return recording.open_deviation(batch, **told)


def held(deviation, minutes=80, **told):
    told = {"reason": "heating missed", "packages": 40} | told
    return recording.hold(
        deviation.batch,
        deviation=deviation,
        by=deviation.by,
        at=at(minutes),
        **told,
    )


def answered(deviation, kind, minutes=90, text="Looked at.", **told):
    return recording.respond(
        deviation, kind=kind, text=text, by=deviation.by, at=at(minutes), **told
    )


def decided(deviation, kind="destroy", minutes=100, **told):
    told = {
        "reason": "Toxin cannot be excluded.",
        "decided_by": "Ida Fenwarren",
        "function": "owner",
        "packages": 40,
    } | told
    return recording.dispose(
        deviation, kind=kind, by=deviation.by, at=at(minutes), **told
    )


def closed(deviation, minutes=200, **told):
    told = {"text": "All answered.", "is_foreseen": True} | told
    return recording.close_deviation(deviation, by=deviation.by, at=at(minutes), **told)


def complete(deviation):
    held(deviation)
    decided(deviation)
    answered(deviation, "disposition", 110, text="Bleached; seen by TM.")
    answered(deviation, "cause", 120, text="Fan unplugged; plugged in again.")


def state_of(deviation):
    return lookups.state_of(deviation)


class TestOpening:
    def test_words_are_kept_and_numbers_run_per_producer(self, batch):
        first = opened(batch)
        second = opened(batch, control_point="cooling", limit_id="some.limit")
        other = opened(factories.BatchFactory())
        assert [str(row) for row in (first, second, other)] == ["DV-1", "DV-2", "DV-1"]
        assert first.observed_words == "At or above the limit for 22 min."

    def test_same_finding_does_not_open_twice(self, batch, deviation):
        assert opened(batch, at=at(75)) == deviation

    def test_finding_of_what_is_missed_is_not_covered_by_what_was_not_shown(
        self, batch
    ):
        open_point = opened(batch, status="not shown")
        assert opened(batch, status="missed") != open_point

    def test_missed_covers_not_shown(self, batch, deviation):
        assert opened(batch, status="not shown") == deviation

    def test_retry_makes_one_row(self, batch):
        entry_id = uuid4()
        told = {"limit_id": "", "status": "by hand", "entry_id": entry_id}
        assert opened(batch, **told) == opened(batch, **told, at=at(71))
        assert models.Deviation.objects.count() == 1

    def test_retry_with_other_words_is_refused(self, batch):
        told = {"limit_id": "", "status": "by hand", "entry_id": uuid4()}
        opened(batch, **told)
        with refused("entry-id-used"):
            opened(batch, **told | {"words": "Something else."})

    def test_lot_can_deviate(self, by):
        lot = factories.LotFactory(producer=by.producer)
        row = recording.open_deviation(
            lot,
            control_point="receiving",
            status="by hand",
            words="Core at the door was warm.",
            observed_at=at(0),
            by=by,
            at=at(1),
        )
        assert (row.lot, row.batch) == (lot, None)

    def test_unknown_control_point_blank_words_and_the_future_are_refused(self, batch):
        with refused("unknown", "control_point"):
            opened(batch, control_point="grilling", limit_id="")
        with refused("blank", "words"):
            opened(batch, words=" ", limit_id="")
        with refused("future", "observed_at"):
            opened(batch, observed_at=at(90), limit_id="")
        with refused("found-before", "detected_at"):
            opened(batch, detected_at=at(50), limit_id="")

    def test_unknown_status_is_refused(self, batch):
        with refused("invalid", "status"):
            opened(batch, status="met", limit_id="")

    def test_stranger_and_inspector_are_refused(self, batch):
        inspector = factories.MemberFactory(producer=batch.producer, role="inspector")
        for member in (factories.MemberFactory(), inspector):
            with refused("not-allowed"):
                opened(batch, by=member)

    def test_rows_refuse_to_change(self, deviation):
        with refused("append-only"):
            deviation.save()
        with refused("append-only"):
            models.Deviation.objects.all().delete()


class TestHolding:
    def test_one_tap_holds_and_opens_a_deviation_by_hand(self, batch, by):
        hold = recording.hold(batch, reason="smells odd", by=by, at=at(5))
        assert hold.deviation.status == "by hand"
        assert "smells odd" in hold.deviation.observed_words
        assert lookups.is_on_hold(batch)

    def test_hold_joins_the_oldest_deviation_that_waits(self, batch, deviation):
        opened(batch, control_point="cooling", limit_id="x")
        hold = recording.hold(batch, reason="warm", by=batch.by, at=at(80))
        assert hold.deviation == deviation

    def test_retry_makes_one_hold(self, batch, by):
        told = {"reason": "odd", "by": by, "at": at(5), "entry_id": uuid4()}
        assert recording.hold(batch, **told) == recording.hold(batch, **told)

    def test_reason_is_asked(self, batch, by):
        with refused("blank", "reason"):
            recording.hold(batch, reason="", by=by, at=at(5))

    def test_deviation_of_another_batch_is_not_found(self, batch, by, deviation):
        other = factories.BatchFactory(producer=batch.producer, by=by)
        with refused("not-found", "deviation"):
            recording.hold(other, reason="x", deviation=deviation, by=by, at=at(90))

    def test_less_than_decided_cannot_be_held(self, deviation):
        held(deviation)
        decided(deviation, packages=30)
        with refused("less-than-decided", "packages"):
            held(deviation, 110, packages=20)

    @pytest.mark.parametrize("amount", [0, -1])
    def test_amount_is_above_zero(self, deviation, amount):
        with refused("not-positive", "packages"):
            held(deviation, packages=amount)
        with refused("not-positive", "kg"):
            held(deviation, packages=None, kg=str(amount))

    def test_lot_is_held(self, by):
        lot = factories.LotFactory(producer=by.producer)
        recording.hold(lot, reason="papers missing", by=by, at=at(5))
        assert lookups.is_on_hold(lot)


class TestDeciding:
    def test_nothing_is_decided_before_containment(self, deviation):
        with refused("not-contained"):
            decided(deviation)

    def test_decision_before_the_hold_is_refused(self, deviation):
        held(deviation)
        with refused("before-containment", "decided_at"):
            decided(deviation, decided_at=at(75))

    def test_decision_in_the_minute_of_its_hold_is_taken(self, deviation):
        held(deviation, 81, held_at=at(80) + timedelta(seconds=40))
        with refused("before-containment", "decided_at"):
            decided(deviation, decided_at=at(80) - timedelta(seconds=1))
        assert decided(deviation, decided_at=at(80)).decided_at == at(80)

    def test_evaluation_before_the_hold_is_refused(self, deviation):
        with refused("not-contained"):
            answered(deviation, "evaluation")
        held(deviation)
        with refused("before-containment", "done_at"):
            answered(deviation, "evaluation", done_at=at(75))

    def test_held_amount_must_be_known(self, deviation):
        held(deviation, packages=None)
        with refused("amount-unknown"):
            decided(deviation)
        answered(deviation, "containment", packages=40)
        assert decided(deviation).packages == 40

    def test_amount_is_asked_in_the_unit_of_the_hold(self, deviation):
        held(deviation, packages=40)
        with refused("amount-missing", "packages"):
            decided(deviation, packages=None, kg="8")

    def test_more_than_held_is_refused(self, deviation):
        held(deviation)
        with refused("too-much", "packages"):
            decided(deviation, packages=41)

    def test_parts_add_up(self, deviation):
        held(deviation)
        decided(deviation, packages=30)
        assert state_of(deviation).undecided("packages") == 10
        assert lookups.is_on_hold(deviation.batch)
        with refused("too-much", "packages"):
            decided(deviation, packages=11)
        decided(deviation, packages=10)
        assert state_of(deviation).is_decided
        with refused("decided"):
            decided(deviation, packages=1)

    def test_kg_add_up_exactly(self, deviation):
        held(deviation, packages=None, kg="0.3")
        for _ in range(3):
            decided(deviation, packages=None, kg="0.1")
        assert state_of(deviation).undecided("kg") == 0

    def test_release_wants_an_evaluation_and_a_qualification(self, deviation):
        held(deviation)
        with refused("not-evaluated"):
            decided(deviation, "release", qualification="HACCP course")
        answered(deviation, "evaluation")
        with refused("blank", "qualification"):
            decided(deviation, "release")
        made = decided(deviation, "release", qualification="HACCP course")
        assert made.qualification == "HACCP course"

    @pytest.mark.parametrize("field", ["reason", "decided_by", "function"])
    def test_who_and_why_are_asked(self, deviation, field):
        held(deviation)
        with refused("blank", field):
            decided(deviation, **{field: " "})

    def test_unknown_decision_is_refused(self, deviation):
        held(deviation)
        with refused("unknown", "kind"):
            decided(deviation, "eat")

    def test_retry_makes_one_decision(self, deviation):
        held(deviation)
        told = {"packages": 10, "entry_id": uuid4()}
        assert decided(deviation, **told) == decided(deviation, **told)
        assert state_of(deviation).decided("packages") == 10

    def test_hold_is_lifted_by_the_last_decision_of_the_batch(self, batch, deviation):
        second = opened(batch, control_point="cooling", limit_id="x")
        held(deviation)
        decided(deviation)
        assert lookups.is_on_hold(batch)
        held(second)
        decided(second)
        assert not lookups.is_on_hold(batch)
        lifted = models.Lifting.objects.all()
        assert {row.disposition.deviation for row in lifted} == {second}

    def test_other_producers_people_decide_nothing(self, deviation):
        held(deviation)
        with refused("not-allowed"):
            recording.dispose(
                deviation,
                kind="destroy",
                reason="x",
                decided_by="x",
                function="x",
                by=factories.MemberFactory(),
                at=at(100),
            )


class TestReworking:
    @pytest.fixture
    def again(self, deviation):
        held(deviation, packages=47)
        return decided(deviation, "rework", packages=47)

    def start(self, again, **told):
        told = {"kg": "9.40", "packages": 47, "started_at": at(120)} | told
        return recording.start_rework(again, by=again.by, at=at(130), **told)

    def test_new_batch_is_linked_to_the_old(self, batch, again):
        rework = self.start(again, code="B07R")
        assert (rework.from_batch, rework.to_batch.code) == (batch, "B07R")
        assert rework.to_batch.product == batch.product
        for one in (batch, rework.to_batch):
            assert lookups.reworks_of(one) == (rework,)

    def test_retry_starts_one_batch(self, again):
        entry_id = uuid4()
        first = self.start(again, entry_id=entry_id)
        assert self.start(again, entry_id=entry_id) == first
        assert models.Batch.objects.count() == 2

    def test_only_what_was_decided_is_worked_again(self, deviation, again):
        with refused("too-much", "packages"):
            self.start(again, packages=48)
        with refused("before-decision", "started_at"):
            self.start(again, started_at=at(90))

    def test_other_decisions_start_no_batch(self, deviation):
        held(deviation)
        with refused("no-rework"):
            self.start(decided(deviation))

    def test_closing_waits_for_the_new_batch(self, deviation, again):
        answered(deviation, "cause", 120)
        with refused("no-rework"):
            closed(deviation)
        self.start(again)
        closed(deviation)


class TestClosing:
    def test_complete_case_closes(self, deviation):
        complete(deviation)
        closed(deviation)
        assert state_of(deviation).standing == "closed"

    def test_product_answer_is_asked(self, deviation):
        held(deviation)
        answered(deviation, "cause")
        with refused("no-product-answer"):
            closed(deviation)

    def test_amounts_must_add_up(self, deviation):
        held(deviation)
        decided(deviation, packages=39)
        answered(deviation, "cause")
        with refused("amounts", words="1 package of 40 packages"):
            closed(deviation)

    def test_deed_is_asked(self, deviation):
        held(deviation)
        decided(deviation)
        answered(deviation, "cause")
        with refused("not-carried-out"):
            closed(deviation)

    def test_cause_is_asked(self, deviation):
        held(deviation)
        decided(deviation)
        answered(deviation, "disposition", 110)
        with refused("no-cause"):
            closed(deviation)

    def test_it_must_be_said_whether_it_was_foreseen(self, deviation):
        complete(deviation)
        with refused("unsaid", "is_foreseen"):
            closed(deviation, is_foreseen=None)

    def test_unforeseen_wants_the_plan_looked_at(self, deviation):
        # 21 CFR 123.7(c)(5): a timely reassessment where no written action fits
        complete(deviation)
        with refused("no-reassessment"):
            closed(deviation, is_foreseen=False)
        answered(deviation, "reassessment", 130, text="Fan lamp into the plan.")
        closed(deviation, is_foreseen=False)

    def test_nothing_is_answered_after_the_closing_but_evidence(self, deviation):
        complete(deviation)
        closed(deviation)
        with refused("closed"):
            answered(deviation, "cause", 210)
        with refused("closed"):
            closed(deviation, 210)
        with refused("closed"):
            held(deviation, 210)
        answered(deviation, "evidence", 210)

    def test_retry_closes_once(self, deviation):
        complete(deviation)
        entry_id = uuid4()
        assert closed(deviation, entry_id=entry_id) == closed(
            deviation, entry_id=entry_id
        )

    def test_closing_is_no_plain_answer(self, deviation):
        with refused("unknown", "kind"):
            answered(deviation, "closing")

    def test_carrying_out_waits_for_a_decision(self, deviation):
        held(deviation)
        with refused("undecided", "kind"):
            answered(deviation, "disposition")


class TestFindings:
    """The salt of the laboratory comes late; the heating is short."""

    @pytest.fixture
    def batch(self):
        batch = factories.BatchFactory(code="B07")
        for minute, value in ((0, "60"), (15, "150"), (30, "150"), (40, "100")):
            read(batch, value=value, minutes=minute)
        mark(batch, minutes=0)
        mark(batch, edge="end", minutes=41)
        return batch

    def due(self, batch, minutes=100):
        records = lookups.records_of(lookups.batch_of(batch.producer, batch.code))
        return deviating.due_now(records, judge(records, judged_at=at(minutes)))

    def test_missed_wants_an_answer_at_once(self, batch):
        assert {one.status for one in self.due(batch)} <= {Status.MISSED}

    def test_not_shown_wants_one_when_the_work_is_over(self, batch):
        before = self.due(batch)
        mark(batch, "packing", minutes=50)
        mark(batch, "packing", "end", minutes=60)
        after = self.due(batch)
        assert len(after) > len(before)
        assert not any(one.control_point == "cold-holding" for one in after)

    def test_opening_what_is_due_twice_opens_once(self, batch):
        mark(batch, "packing", minutes=50)
        mark(batch, "packing", "end", minutes=60)
        opened = recording.open_due(batch, by=batch.by, at=at(100))
        assert {(row.control_point, row.limit_id) for row in opened} == {
            one.key for one in self.due(batch)
        }
        assert recording.open_due(batch, by=batch.by, at=at(110)) == []

    def test_what_later_evidence_shows_is_closed_as_settled(self, batch):
        variance = self.variance(batch)
        with refused("no-product-answer"):
            closed(variance)
        self.state_variance(batch)
        closing = closed(variance, text="The label was looked at on the shelf.")
        assert closing.is_settled
        assert state_of(variance).is_decided

    def test_settled_by_evidence_wants_a_decision_while_food_is_held(self, batch):
        variance = self.variance(batch)
        held(variance)
        self.state_variance(batch)
        with refused("no-product-answer"):
            closed(variance)

    def test_settled_and_then_open_again_is_open_again(self, batch):
        variance = self.variance(batch)
        row = self.state_variance(batch)
        closed(variance)
        recording.withdraw(row, reason="other batch", by=batch.by, at=at(210))
        again = recording.open_due(batch, by=batch.by, at=at(220))
        assert variance.limit_id in {each.limit_id for each in again}

    def test_missed_is_never_settled_by_itself(self, batch):
        missed = opened(batch, control_point="labelling", limit_id="label.gone")
        with refused("no-product-answer"):
            closed(missed)

    def variance(self, batch):
        mark(batch, "packing", minutes=50)
        mark(batch, "packing", "end", minutes=60)
        recording.open_due(batch, by=batch.by, at=at(100))
        return models.Deviation.objects.get(limit_id="us-mi.r285-569.variance-package")

    def state_variance(self, batch):
        return recording.record_statement(
            batch,
            what="variance",
            complies=True,
            occurred_at=at(60),
            by=batch.by,
            at=at(120),
        )


def test_kg_are_kept_as_typed(deviation):
    hold = held(deviation, packages=None, kg="8.90")
    assert str(models.Hold.objects.get(pk=hold.pk).kg) == "8.90"
    assert hold.kg == Decimal("8.90")


def test_answers_of_other_producers_do_not_exist(deviation):
    other = factories.MemberFactory()
    with pytest.raises(models.Deviation.DoesNotExist):
        lookups.deviation_of(other.producer, deviation.number)
    assert lookups.deviations_of(other.producer) == ()


def test_late_entry_of_an_answer_keeps_both_instants(deviation):
    held(deviation)
    row = answered(deviation, "evaluation", 90, done_at=at(85), done_by="Tove Marsh")
    assert (row.done_at, row.recorded_at) == (at(85), at(90))
    assert row.done_by == "Tove Marsh"
    assert row.recorded_at - row.done_at == timedelta(minutes=5)
