"""A signed plan that lets nobody review entries of their own."""

import pytest
from django.urls import reverse

from batches import lookups, models, planning, recording
from batches.reviewing import is_by_other_planned
from reports.plan_collect import signed_sheet
from safety.judge.export import exact_json
from tests import factories
from tests.batches.test_plans import ANSWERS, OWN
from tests.batches.test_plans import sign as sign_plan
from tests.batches.test_recording import refused
from tests.batches.test_reviews import sign
from tests.factories import PASSWORD, START, at

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner():
    member = factories.MemberFactory()
    member.user.set_password(PASSWORD)
    member.user.save()
    return member


@pytest.fixture
def draft(owner):
    premises = factories.PremisesFactory(producer=owner.producer, jurisdiction="US")
    product = recording.answer_questions(
        factories.ProductFactory(producer=owner.producer),
        facts=ANSWERS,
        by=owner,
        at=START,
    )
    version = recording.start_plan(product, premises=premises, by=owner, at=START)
    return recording.revise_plan(version, edits={"own": OWN}, by=owner, at=START)


def forbidding(draft, owner):
    edits = {"review": planning.BY_OTHER}
    return sign_plan(
        recording.revise_plan(draft, edits=edits, by=owner, at=START), owner
    )


def started(signature, owner):
    made = recording.start_batch(
        owner.producer,
        product=signature.product,
        premises=signature.premises,
        started_at=at(10),
        by=owner,
        at=at(10),
    )
    return lookups.batch_of(owner.producer, made.code)


def test_maker_does_not_review_where_the_plan_forbids_it(draft, owner):
    batch = started(forbidding(draft, owner), owner)
    with refused("own-record-by-plan", "", "plan v1"):
        sign(batch, owner, at=at(60))
    assert not batch.reviews.exists()
    other = factories.MemberFactory(producer=owner.producer, role="reviewer")
    assert sign(batch, other, at=at(60)).own_rows == 0


def test_maker_reviews_where_neither_plan_nor_producer_forbids_it(draft, owner):
    batch = started(sign_plan(draft, owner), owner)
    assert not is_by_other_planned(batch)
    assert sign(batch, owner, at=at(60)).own_rows == 1


def test_rule_of_the_producer_counts_beside_a_plan_without_one(draft, owner):
    batch = started(sign_plan(draft, owner), owner)
    recording.set_review_rule(owner.producer, by_other=True, by=owner, at=at(20))
    with refused("own-record", "", "here nobody reviews"):
        sign(batch, owner, at=at(60))


def test_plan_signed_before_the_question_was_asked_forbids_nothing(draft, owner):
    document = planning.content(
        models.PlanSignature(content=planning.content_of(draft))
    )
    assert document["edits"].pop("review") == {}
    content = exact_json(document)
    signature = models.PlanSignature(content=content)
    assert not is_by_other_planned(models.Batch(plan=signature))


def test_ban_is_frozen_with_the_plan_and_printed(draft, owner):
    signature = forbidding(draft, owner)
    newer = recording.start_plan(
        draft.product, premises=draft.premises, by=owner, at=at(5)
    )
    assert planning.edits_of(newer)["review"] == planning.BY_OTHER
    recording.revise_plan(newer, edits={"review": {}}, by=owner, at=at(6))
    assert planning.content(signature)["edits"]["review"] == planning.BY_OTHER
    sheet = signed_sheet(owner.producer, draft.product_id, 1, paper="letter", at=at(30))
    assert planning.BY_OTHER_WORDS in sheet.rules


def test_review_page_says_it_before_anybody_signs(client, draft, owner):
    batch = started(forbidding(draft, owner), owner)
    client.force_login(owner.user)
    address = reverse("batch-review", args=[batch.code])
    assert "Plan v1 forbids" in client.get(address).content.decode()
