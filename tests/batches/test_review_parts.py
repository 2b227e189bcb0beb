"""What else is read: deviations, releases, the week's other records, training on file."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from batches import lookups, models, recording
from batches.lookups.review_kinds import OF_BATCH, OF_WEEK
from batches.lookups.reviews import batch_read, monday_of, week_read
from batches.lookups.training import WORDS, training_of, training_words
from batches.models.append_only import AppendOnly
from batches.recording.logbook import take_back
from tests import factories
from tests.batches.test_deviations import answered, decided, held, opened
from tests.batches.test_recording import refused
from tests.batches.test_views import says, signed_in
from tests.factories import PASSWORD, START, ZONE, at

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)
WEEK = monday_of(START.date())
# Rows that nobody reads as a record of the work: what stands behind a signature, plans,
# people, links, and papers that others made.
NOT_READ = {
    "AuthorityLetter",
    "BatchLot",
    "Estimate",  # planning, no record of what was done
    "FindingRow",
    "FindingSet",
    "GivenSignature",
    "InspectorLink",
    "LinkRevocation",
    "LinkView",
    "LoggerFile",
    "Lot",
    "PlanSignature",
    "RecallBatch",
    "PlanVersion",
    "Reassessment",
    "Review",
    "ReviewRule",
    "SecondStepRule",
    "TrailEvent",
    "WrongPassword",
}


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: at(300))


@pytest.fixture
def batch():
    made = factories.BatchFactory(code="B07", product__facts={})
    return lookups.batch_of(made.producer, made.code)


@pytest.fixture
def reviewer(batch):
    return factories.MemberFactory(
        producer=batch.producer, role="reviewer", name="Tobin March", initials="TM"
    )


def sign(batch, by, when=START + DAY, **told):
    told = {"password": PASSWORD, "title": "Tobin March, reviewer"} | told
    read = batch_read(lookups.records_of(batch))
    return recording.sign_review(batch, seen_sha256=read.sha256, by=by, at=when, **told)


def sign_week(producer, by, when=START + DAY):
    return recording.sign_week(
        producer,
        week_of=WEEK,
        seen_sha256=week_read(producer, WEEK).sha256,
        password=PASSWORD,
        title="Tobin March, reviewer",
        by=by,
        at=when,
    )


def due(producer):
    """Return the kinds that are to be read: of batches, and of weeks by their Monday."""
    found = lookups.reviews_due(producer)
    return {
        row.week_of or row.batch.code: sorted(line.kind for line in row.lines)
        for row in found
    }


def said(batch, minutes=0, **more):
    entry = {"occurred_at": at(minutes), "by": batch.by, "at": at(minutes + 1)}
    return entry | more


def sanitation(batch, minutes=0, ppm=None, **more):
    return recording.record_sanitation(
        batch.premises,
        moment="before",
        answers={"water": ("satisfactory", "")},
        sanitizer_ppm=ppm,
        **said(batch, minutes, **more),
    )


def trained(batch, when=START - 30 * DAY, **told):
    told = {
        "person": "Tobin March",
        "course": "Seafood course",
        "may_do": "Review records.",
    } | told
    return recording.record_training(
        batch.premises, occurred_at=when, by=batch.by, at=START - DAY, **told
    )


def test_every_kind_of_record_is_read_or_named_as_not_read():
    read = {kind.model.__name__ for kind in (*OF_BATCH.values(), *OF_WEEK.values())}
    written = {
        model.__name__
        for model in vars(models).values()
        if isinstance(model, type)
        and issubclass(model, AppendOnly)
        and not model._meta.abstract
    }
    assert read | NOT_READ == written
    assert not read & NOT_READ


def test_visits_papers_and_instruments_out_of_use_are_read_with_the_week(
    client, batch, reviewer
):
    recording.record_visit(
        batch.premises, agency="State office", people="An inspector", **said(batch)
    )
    recording.keep_document(
        batch.premises, supplier="Fallow Nets", what="A certificate", **said(batch)
    )
    probe = factories.InstrumentFactory(producer=batch.producer, code="P7")
    recording.take_out_of_use(probe, reason="cable kinked", **said(batch))
    kinds = ["documents", "instrument-use", "visits"]
    assert due(batch.producer)[WEEK] == kinds
    client.force_login(reviewer.user)
    shown = client.get(reverse("week-review", args=[WEEK.isoformat()])).text
    for words in ("State office", "Fallow Nets", "P7, out of use: cable kinked"):
        assert words in shown
    sign_week(batch.producer, reviewer)
    assert WEEK not in due(batch.producer)


class TestDeviations:
    def answer(self, batch):
        deviation = opened(batch)
        held(deviation)
        answered(deviation, "evaluation")
        decided(deviation)
        return deviation

    def test_corrective_action_after_a_review_is_read_within_a_week(
        self, batch, reviewer
    ):
        sign(batch, reviewer, at(65))
        self.answer(batch)
        assert due(batch.producer) == {
            "B07": ["deviation", "disposition", "hold", "lifting", "response"]
        }
        (row,) = lookups.reviews_due(batch.producer)
        assert row.due_on == START.astimezone(ZONE).date() + 7 * DAY
        review = sign(batch, reviewer)
        assert review.rows_read == 6
        assert lookups.reviews_due(batch.producer) == ()

    def test_each_row_changes_what_is_read(self, batch):
        seen = {batch_read(lookups.records_of(batch)).sha256}
        deviation = opened(batch)
        for deed in (
            lambda: held(deviation),
            lambda: answered(deviation, "evaluation"),
            lambda: decided(deviation),
            lambda: answered(deviation, "cause", minutes=110),
        ):
            seen.add(batch_read(lookups.records_of(batch)).sha256)
            deed()
        seen.add(batch_read(lookups.records_of(batch)).sha256)
        assert len(seen) == 6

    def test_signature_over_an_unread_answer_is_refused(self, batch, reviewer):
        deviation = opened(batch)
        before = batch_read(lookups.records_of(batch)).sha256
        held(deviation)
        with refused("changed", "", "Open it again"):
            recording.sign_review(
                batch,
                seen_sha256=before,
                password=PASSWORD,
                title="Tobin March",
                by=reviewer,
                at=START + DAY,
            )

    def test_deviation_of_a_lot_is_read_with_its_week(self, batch, reviewer):
        lot = factories.LotFactory(producer=batch.producer, code="L9")
        recording.hold(lot, reason="Ice was gone", by=batch.by, at=at(5))
        assert due(batch.producer)[WEEK] == ["lot-deviation", "lot-hold"]
        page = signed_in(reviewer).get(reverse("week-review", args=[WEEK.isoformat()]))
        assert "Held: Ice was gone" in says(page)
        sign_week(batch.producer, reviewer)
        assert WEEK not in due(batch.producer)

    def test_deviations_of_another_producer_are_not_there(self, batch, reviewer):
        sign(batch, reviewer)
        opened(factories.BatchFactory())
        assert due(batch.producer) == {}

    def test_page_shows_what_was_missed_beside_what_was_done(self, batch, reviewer):
        deviation = self.answer(batch)
        page = signed_in(reviewer).get(reverse("batch-review", args=["B07"]))
        text = says(page)
        assert "At or above the limit for 22 min." in text
        assert "Held (40 packages): heating missed" in text
        assert "Evaluated: Looked at." in text
        assert "Decided: destroy (40 packages): Toxin cannot be excluded." in text
        assert "Hold lifted" in text
        assert reverse("deviation", args=[deviation.number]) in page.content.decode()
        assert "6 entries, 6 of them new" in text

    def test_release_is_read_and_shown(self, batch, reviewer):
        sign(batch, reviewer, at(65))
        factories.ReadingFactory(batch=batch)
        findings = models.FindingSet.objects.create(
            producer=batch.producer,
            batch=batch,
            outcome="met",
            judged_at=at(200),
            batch_sha256="0" * 64,
            version="1",
            recorded_at=at(200),
            by=batch.by,
            by_name=batch.by.name,
        )
        models.Release.objects.create(
            producer=batch.producer,
            batch=batch,
            findings=findings,
            meaning="I answer for it.",
            title="Ida Fenwarren, owner",
            role="owner",
            cautions=["The cold chain lies ahead."],
            signed_at=at(200),
            recorded_at=at(200),
            by=batch.by,
            by_name=batch.by.name,
        )
        assert due(batch.producer) == {"B07": ["reading", "release"]}
        text = says(signed_in(reviewer).get(reverse("batch-review", args=["B07"])))
        assert "Released by Ida Fenwarren, owner." in text
        assert "Known then: The cold chain lies ahead." in text


class TestWeek:
    def test_other_records_are_read_with_their_week(self, batch, reviewer):
        sanitation(batch)
        recording.record_complaint(
            batch.premises,
            what_it_was="Smoked trout",
            said="Soft and sour.",
            ill="no",
            **said(batch),
        )
        recording.record_maintenance(
            batch.premises, equipment="Smoker", did="New gasket", **said(batch)
        )
        trained(batch, when=START - 2 * DAY)
        kinds = ["complaints", "maintenance", "sanitation", "sanitation-answer"]
        assert due(batch.producer)[WEEK] == sorted([*kinds, "training"])
        page = signed_in(reviewer).get(reverse("week-review", args=[WEEK.isoformat()]))
        text = says(page)
        for words in (
            "Satisfactory: 1",
            "Said: Soft and sour",
            "Equipment: Smoker; Done: New gasket",
            "Who: Tobin March; What: Seafood course",
        ):
            assert words in text
        assert sign_week(batch.producer, reviewer).rows_read == 5
        assert WEEK not in due(batch.producer)

    def test_corrected_round_stays_in_its_week_with_its_answers(self, batch, reviewer):
        first = sanitation(batch)
        sign_week(batch.producer, reviewer)
        sanitation(
            batch,
            ppm="200",
            corrects=first,
            reason="The strength was left out",
            at=START + 15 * DAY,
        )
        assert due(batch.producer) == {
            "B07": ["batch"],
            WEEK: ["sanitation", "sanitation-answer"],
        }
        weeks = [row for row in lookups.reviews_due(batch.producer) if row.week_of]
        assert weeks[0].is_reopened

    def test_records_of_another_producer_are_not_there(self, batch):
        sanitation(factories.BatchFactory())
        assert WEEK not in due(batch.producer)
        assert week_read(batch.producer, WEEK).count == 0


class TestTraining:
    def on_file(self, member, day=START):
        row = training_of(member, at=day, zone=ZONE)
        return None if row is None else row.course

    def test_training_is_kept_with_the_signature_and_shown_before(
        self, batch, reviewer
    ):
        trained(batch, certificate="C-7")
        text = says(signed_in(reviewer).get(reverse("batch-review", args=["B07"])))
        words = "Seafood course, certificate C-7, 2026-04-02; may do: Review records"
        assert f"Your training on file: {words}." in text
        assert "No training of yours" not in text
        assert sign(batch, reviewer).training == words

    def test_without_training_it_is_said_and_signed(self, batch, reviewer):
        text = says(signed_in(reviewer).get(reverse("batch-review", args=["B07"])))
        assert "No training of yours is on file" in text
        assert sign(batch, reviewer).training == ""

    def test_training_covers_its_last_day_and_no_day_after(self, batch, reviewer):
        trained(batch, again_by=date(2026, 5, 2))
        assert self.on_file(reviewer, at(0)) == "Seafood course"
        assert self.on_file(reviewer, at(0) + DAY) is None

    def test_training_that_comes_later_covers_nothing(self, batch, reviewer):
        trained(batch, when=START - 2 * DAY)
        assert self.on_file(reviewer, START - 3 * DAY) is None

    def test_training_taken_back_covers_nothing(self, batch, reviewer):
        row = trained(batch)
        take_back(row, reason="another", by=batch.by, at=at(1))
        assert self.on_file(reviewer) is None

    def test_what_lets_one_review_comes_first(self, batch, reviewer):
        trained(batch, course="Records course")
        trained(batch, when=START - 3 * DAY, course="Knives", may_do="Fillet.")
        assert self.on_file(reviewer) == "Records course"

    def test_name_is_compared_without_case_and_blanks(self, batch, reviewer):
        trained(batch, person=" tobin  MARCH ")
        assert self.on_file(reviewer) == "Seafood course"

    def test_training_of_another_is_not_theirs(self, batch, reviewer):
        trained(batch, person="Tobin Marsh")
        assert self.on_file(reviewer) is None

    def test_training_of_two_people_with_one_name_is_nobodys(self, batch, reviewer):
        trained(batch)
        factories.MemberFactory(producer=batch.producer, name="Tobin March")
        assert self.on_file(reviewer) is None

    def test_long_words_fit(self, batch, reviewer):
        row = trained(batch, may_do="Review records. " * 40)
        assert len(training_words(row, ZONE)) == WORDS
        assert sign(batch, reviewer).training.endswith("…")


def test_password_rests_after_five_wrong_ones(batch, reviewer):
    for _ in range(5):
        with refused("password", "password", "Nothing was signed"):
            sign(batch, reviewer, password="guess")
    with refused("password-rests", "password"):
        sign(batch, reviewer)
    assert not models.Review.objects.exists()


def test_whoever_ended_membership_signs_nothing(batch, reviewer):
    recording.end_membership(reviewer, by=batch.by, at=START)
    reviewer.refresh_from_db()
    with refused("not-allowed"):
        sign(batch, reviewer)
