"""What other records tell: which answer counts, what a round asks, what a review read."""

from dataclasses import replace

import pytest

from safety.audit import audit
from safety.audit.parts import CleaningDay, Round
from safety.audit.record import Review
from tests.safety.audit.build import a_record, entry, t, with_parts
from tests.safety.audit.cases_answers import ANSWER, MISSED


def found(record, identity):
    return [each for each in audit(record).found if each.check == identity]


def test_what_was_opened_as_not_shown_never_answers_a_miss():
    shown = with_parts(missed=MISSED, answers=(ANSWER,))
    not_shown = replace(ANSWER, is_for_missed=False)
    assert not found(shown, "missed-unanswered")
    assert found(with_parts(missed=MISSED, answers=(not_shown,)), "missed-unanswered")


def test_qualification_is_asked_of_whoever_lets_food_go():
    nobody = replace(ANSWER, qualification="", is_closed=True)
    (one,) = found(with_parts(answers=(nobody,)), "answer-incomplete")
    assert "what qualifies that person" in one.sentence
    destroyed = replace(nobody, is_let_go=False)
    assert not found(with_parts(answers=(destroyed,)), "answer-incomplete")
    no_cause = replace(destroyed, cause="")
    assert found(with_parts(answers=(no_cause,)), "answer-incomplete")


@pytest.mark.parametrize(
    ("seen", "asked", "is_thin"),
    [(8, None, False), (7, None, True), (4, 4, False), (3, 4, True), (7, 9, True)],
)
def test_round_looks_at_what_its_moment_asks(seen, asked, is_thin):
    walked = Round(moment="during", at=t("10:00"), conditions=seen, asked=asked)
    day = CleaningDay(day=t("10:00").date(), asked=("during",), rounds=(walked,))
    assert bool(found(with_parts(cleaning=(day,)), "cleaning-missing")) is is_thin


def test_batch_that_was_worked_again_has_the_lots_of_the_other():
    alone = a_record(lots=())
    assert found(alone, "no-product-or-lot")
    assert not found(with_parts(alone, reworked_from="B11"), "no-product-or-lot")


@pytest.mark.parametrize(("covers", "is_edited"), [(1, True), (2, False)])
def test_review_read_what_it_covers_whatever_the_clock_says(covers, is_edited):
    first = entry("10:00", number=1)
    again = entry("10:00", late_min=5, number=2, corrects=1, reason="misread")
    read = Review(at=t("2025-06-08T10:00"), by="TM", covers={"statement": covers})
    record = a_record(entries=(first, again), reviews=(read,))
    assert bool(found(record, "edited-after-review")) is is_edited
