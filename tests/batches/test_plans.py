"""Plans: drafted, edited, signed, in force; what stands in the way of a signature."""

import json
from datetime import date, timedelta

import pytest

from batches import lookups, planning, recording
from batches.errors import RecordError
from batches.judging import evidence_of, judge
from batches.models import Batch, Member, PlanSignature
from safety.judge.finding import Status
from safety.judge.judging import BY_LETTER
from tests import factories
from tests.factories import PASSWORD, START, at, seen

pytestmark = pytest.mark.django_db

HEATING = "us-fda.hazards-guide.ch13.heating"
ANSWERS = {
    "nitrite-added": "no",
    "eviscerated": "yes",
    "handled-after-cooking": "yes",
    "receipt": "frozen",
    "heated-in-package": "no",
    "metal-machines": "no",
    "glass-package": "no",
    "other-allergens": "no",
    "sulphites-or-yellow-5": "no",
}
OWN = [
    {
        "id": "own.thickest",
        "control_point": "curing",
        "kind": "at_most",
        "quantity": "thickness",
        "value": "32",
        "unit": "mm",
        "words": "The thickest piece is no thicker than our study allows.",
    },
    {
        "id": "own.dried",
        "control_point": "drying",
        "kind": "stated",
        "what": "dried",
        "words": "Dried as the study says.",
    },
    {
        "id": "own.label",
        "control_point": "labelling",
        "kind": "stated",
        "what": "label-names-fish",
        "words": "The label names the fish.",
    },
]


@pytest.fixture
def owner():
    return factories.MemberFactory()


@pytest.fixture
def premises(owner):
    return factories.PremisesFactory(producer=owner.producer, jurisdiction="US")


@pytest.fixture
def product(owner):
    made = factories.ProductFactory(producer=owner.producer)
    return recording.answer_questions(made, facts=ANSWERS, by=owner, at=START)


@pytest.fixture
def draft(product, premises, owner):
    return recording.start_plan(product, premises=premises, by=owner, at=START)


@pytest.fixture
def ready(draft, owner):
    return recording.revise_plan(draft, edits={"own": OWN}, by=owner, at=START)


def sign(version, by, when=START, password=PASSWORD):
    return recording.sign_plan(
        version,
        seen_sha256=seen(version),
        password=password,
        title="Ida Fenwarren, owner",
        by=by,
        at=when,
    )


def refused(code):
    return pytest.raises(RecordError, check=lambda error: error.code == code)


def letter(owner):
    return recording.add_letter(
        owner.producer,
        author="Dr Quill Marrowby",
        organisation="Invented Institute",
        written_on=date(2026, 4, 1),
        summary="Allows twenty minutes at 145 °F for this fish.",
        name="letter.pdf",
        data=b"%PDF-1.7 invented",
        by=owner,
        at=START,
    )


class TestAnswers:
    def test_fact_that_is_known_cannot_be_changed(self, product, owner):
        with refused("fact-known"):
            recording.answer_questions(
                product, facts={"packaging": "air"}, by=owner, at=START
            )
        product.refresh_from_db()
        assert product.packaging == "reduced-oxygen"

    def test_value_that_a_fact_cannot_have_is_refused(self, product, owner):
        with pytest.raises(RecordError):
            recording.answer_questions(
                product, facts={"intended-use": "raw"}, by=owner, at=START
            )


class TestDraft:
    def test_open_questions_stand_in_the_way(self, owner, premises):
        bare = factories.ProductFactory(producer=owner.producer)
        version = recording.start_plan(bare, premises=premises, by=owner, at=START)
        assert {each.where for each in planning.obstacles(version)} >= {
            "questions",
            "limits",
        }
        with refused("open-points"):
            sign(version, owner)

    def test_critical_point_without_any_limit_stands_in_the_way(self, draft, owner):
        sentences = [each.sentence for each in planning.obstacles(draft)]
        assert len(sentences) == len(OWN)
        assert all("has no limit" in sentence for sentence in sentences)

    def test_own_limit_of_one_step_does_not_serve_another(self, draft, owner):
        elsewhere = [{**OWN[0], "step": "packing"}, *OWN[1:]]
        version = recording.revise_plan(
            draft, edits={"own": elsewhere}, by=owner, at=START
        )
        assert any("has no limit" in o.sentence for o in planning.obstacles(version))

    def test_second_draft_beside_the_first_is_refused(self, draft, premises, owner):
        with refused("draft-there"):
            recording.start_plan(draft.product, premises=premises, by=owner, at=START)

    def test_save_over_a_newer_state_is_refused(self, draft, owner):
        recording.revise_plan(draft, edits={"schedule": {}}, by=owner, at=START)
        with refused("newer-draft"):
            recording.revise_plan(draft, edits={"own": OWN}, by=owner, at=START)

    @pytest.mark.parametrize(
        "edits",
        [
            {"figures": {HEATING: {"value": "hot"}}},
            {"figures": {HEATING: {"colour": "1"}}},
            {"figures": {HEATING: {"check_every_min": "31"}}},
            {"figures": {"no.such.limit": {"value": "1"}}},
            {"own": [{**OWN[0], "id": "thickest"}]},
            {"own": [{**OWN[0], "unit": "degF"}]},
            {"decisions": [{"hazard": "x", "significant": "yes", "reason": "so"}]},
            {"decisions": [{"hazard": "parasites", "significant": "no", "reason": ""}]},
        ],
    )
    def test_edit_of_which_no_plan_can_be_made_is_refused(self, draft, owner, edits):
        with refused("bad-edit"):
            recording.revise_plan(draft, edits=edits, by=owner, at=START)

    def test_letter_of_another_producer_is_not_found(self, draft, owner):
        theirs = letter(factories.MemberFactory())
        with refused("not-found"):
            recording.revise_plan(
                draft, edits={"letters": {HEATING: theirs.pk}}, by=owner, at=START
            )


class TestLimits:
    def edited(self, version, owner, **figures):
        return recording.revise_plan(
            version, edits={"figures": {HEATING: figures}}, by=owner, at=START
        )

    @pytest.mark.parametrize(
        "figures",
        [{"value": "150"}, {"minutes": "40"}, {"check_every_min": "30"}],
    )
    def test_tightened_limit_needs_no_letter(self, ready, owner, figures):
        version = self.edited(ready, owner, **figures)
        assert planning.obstacles(version) == []

    @pytest.mark.parametrize("figures", [{"value": "144.9"}, {"minutes": "29"}])
    def test_looser_limit_needs_a_letter(self, ready, owner, figures):
        version = self.edited(ready, owner, **figures)
        (obstacle,) = planning.obstacles(version)
        assert "Only a process authority's letter allows it" in obstacle.sentence
        with refused("open-points"):
            sign(version, owner)
        allowed = recording.revise_plan(
            version,
            edits={"letters": {HEATING: letter(owner).pk}},
            by=owner,
            at=START,
        )
        signature = sign(allowed, owner)
        (heating,) = [
            each for each in planning.planned(signature) if each.limit.id == HEATING
        ]
        assert heating.has_letter


def test_content_is_the_same_in_whatever_order_a_database_keeps_keys(ready):
    before = planning.content_of(ready)
    ready.edits = dict(reversed(ready.edits.items()))
    ready.edits["own"] = [dict(reversed(each.items())) for each in ready.edits["own"]]
    ready.product.facts = dict(reversed(ready.product.facts.items()))
    assert planning.content_of(ready) == before


class TestSigning:
    def test_wrong_password_signs_nothing(self, ready, owner):
        with refused("password"):
            sign(ready, owner, password="guess")
        assert not PlanSignature.objects.exists()

    @pytest.mark.parametrize("role", ["maker", "reviewer", "inspector"])
    def test_only_an_owner_signs(self, ready, owner, role):
        other = factories.MemberFactory(producer=owner.producer, role=role)
        with refused("not-allowed"):
            sign(ready, other)

    def test_owner_of_another_producer_does_not_sign(self, ready):
        with refused("not-allowed"):
            sign(ready, factories.MemberFactory())

    def test_older_state_cannot_be_signed(self, draft, owner):
        recording.revise_plan(draft, edits={"own": OWN}, by=owner, at=START)
        with refused("newer-draft"):
            sign(draft, owner)

    def test_signed_plan_stays_as_it_is(self, ready, owner):
        signature = sign(ready, owner)
        with refused("signed"):
            recording.revise_plan(ready, edits={"own": []}, by=owner, at=START)
        with refused("signed"):
            sign(ready, owner)
        with pytest.raises(RecordError):
            signature.save()
        assert signature.meaning == planning.MEANING

    def test_content_is_exact_and_whole(self, ready, owner):
        signature = sign(ready, owner)
        content = planning.content(signature)
        hazards = content["plan"]["analysis"]["hazards"]
        assert len(hazards) == len(planning.drafted(ready).analysis.hazards)
        limits = planning.planned(signature)
        assert {limit.limit.id for limit in limits} >= {HEATING, "own.thickest"}
        for limit in limits:
            if limit.published is not None:
                assert limit.published.source.cite()

    def test_next_version_begins_with_the_edits_of_the_last(
        self, ready, premises, owner
    ):
        sign(ready, owner)
        following = recording.start_plan(
            ready.product, premises=premises, by=owner, at=START
        )
        assert (following.number, following.revision) == (2, 1)
        assert following.edits["own"] == OWN


class TestInForce:
    def started(self, product, premises, owner, when):
        return recording.start_batch(
            owner.producer,
            product=product,
            premises=premises,
            started_at=when,
            by=owner,
            at=when,
        )

    def test_batch_keeps_the_plan_in_force_when_it_was_started(
        self, ready, product, premises, owner
    ):
        before = self.started(product, premises, owner, START - timedelta(hours=1))
        first = sign(ready, owner)
        during = self.started(product, premises, owner, at(10))
        second = recording.start_plan(product, premises=premises, by=owner, at=at(20))
        newer = sign(second, owner, when=at(30))
        after = self.started(product, premises, owner, at(40))
        assert [each.plan for each in (before, during, after)] == [None, first, newer]
        assert Batch.objects.get(pk=during.pk).plan == first

    def test_batch_is_judged_by_its_plan(self, ready, product, premises, owner):
        tight = recording.revise_plan(
            ready, edits={"figures": {HEATING: {"value": "150"}}}, by=owner, at=START
        )
        sign(tight, owner)
        batch = self.started(product, premises, owner, at(10))
        probe = factories.InstrumentFactory(producer=owner.producer, unit="degF")
        factories.InstrumentCheckFactory(
            instrument=probe, occurred_at=START, recorded_at=START
        )
        for edge, when in (("start", 20), ("end", 65)):
            recording.mark_step(
                batch, step="heating", edge=edge, occurred_at=at(when), by=owner,
                at=at(70),
            )  # fmt: skip
        for minute in (20, 35, 50, 65):
            recording.record_reading(
                batch, step="heating", quantity="core-temperature", value="147.0",
                unit="degF", occurred_at=at(minute), by=owner, at=at(70), place="A",
                instrument=probe,
            )  # fmt: skip
        records = lookups.records_of(lookups.batch_of(owner.producer, batch.code))
        judgement = judge(records, judged_at=at(80))
        (heating,) = [f for f in judgement.findings if f.limit_id == HEATING]
        assert heating.status is Status.MISSED
        assert BY_LETTER not in heating.cautions
        assert "own.thickest" in {f.limit_id for f in judgement.findings}
        facts = evidence_of(records, judged_at=at(80)).product.facts
        assert facts == planning.plan_facts(batch.plan)


class TestReassessment:
    def test_plan_is_due_a_year_after_it_was_last_looked_at(self, ready, owner):
        signature = sign(ready, owner)
        (due,) = lookups.reassessments_due(owner.producer)
        assert due.due_at.date() == date(START.year + 1, START.month, START.day)
        recording.reassess(
            signature, outcome="no-change", done_at=at(60 * 24), by=owner,
            at=at(60 * 24),
        )  # fmt: skip
        (due,) = lookups.reassessments_due(owner.producer)
        assert due.due_at.date() == date(START.year + 1, START.month, START.day + 1)

    def test_day_before_the_signature_is_refused(self, ready, owner):
        signature = sign(ready, owner)
        with refused("early"):
            recording.reassess(
                signature, outcome="no-change", done_at=START - timedelta(days=1),
                by=owner, at=at(1),
            )  # fmt: skip

    def test_other_producers_plans_are_not_due_here(self, ready, owner):
        sign(ready, owner)
        other = factories.ProducerFactory()
        assert lookups.reassessments_due(other) == []


def test_signed_versions_are_listed_and_none_is_a_draft(ready, premises, owner):
    first = sign(ready, owner)
    version = recording.start_plan(ready.product, premises=premises, by=owner, at=at(1))
    version = recording.revise_plan(
        version, edits={"figures": {HEATING: {"minutes": "40"}}}, by=owner, at=at(2)
    )
    second = sign(version, owner, when=at(3))
    assert lookups.signed_plans(ready.product) == [second, first]
    assert lookups.newest_draft(ready.product) is None
    assert lookups.signed_plan(ready.product, 1) == first


def test_limit_of_a_statement_is_said_in_its_owners_words(ready):
    content = json.loads(planning.content_of(ready))
    words = {each["limit"]["id"]: each["words"] for each in content["limits"]}
    assert words["own.dried"] == "Dried as the study says."
    assert words["own.thickest"].endswith("no thicker than our study allows.")
    assert "32 mm" in words["own.thickest"]


def test_content_that_changed_after_it_was_read_is_not_signed(premises, owner):
    known = dict(ANSWERS)
    last = known.popitem()
    product = recording.answer_questions(
        factories.ProductFactory(producer=owner.producer),
        facts=known,
        by=owner,
        at=START,
    )
    version = recording.start_plan(product, premises=premises, by=owner, at=START)
    version = recording.revise_plan(version, edits={"own": OWN}, by=owner, at=START)
    read = seen(version)
    recording.answer_questions(product, facts=dict([last]), by=owner, at=START)
    with refused("changed"):  # although the draft in hand still holds the old product
        recording.sign_plan(
            version,
            seen_sha256=read,
            password=PASSWORD,
            title="Ida Fenwarren, owner",
            by=owner,
            at=START,
        )
    assert not PlanSignature.objects.exists()
    assert sign(version, owner).content_sha256 == seen(version) != read


def test_letter_is_kept_as_it_came(owner):
    kept = letter(owner)
    with kept.content.open() as file:
        assert file.read() == b"%PDF-1.7 invented"
    assert Member.objects.get(pk=owner.pk) == kept.by


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"data": b""}, "empty"),
        ({"data": b"x" * (11 * 2**20)}, "too-large"),
        ({"written_on": date(2030, 1, 1)}, "future"),
        ({"author": " "}, "blank"),
    ],
)
def test_letter_that_is_none_is_refused(owner, changes, code):
    told = {
        "author": "Dr Quill Marrowby",
        "organisation": "Invented Institute",
        "written_on": date(2026, 4, 1),
        "summary": "Allows something.",
        "name": "letter.pdf",
        "data": b"%PDF",
    }
    with refused(code):
        recording.add_letter(owner.producer, **(told | changes), by=owner, at=START)
