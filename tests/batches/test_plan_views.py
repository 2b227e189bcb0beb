"""The screens of products and plans: answer, decide, tighten, sign, compare, read."""

import json
from pathlib import Path

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from batches import lookups, planning, recording
from batches.models import GivenSignature, PlanSignature, PlanVersion
from batches.recording import signing
from tests import factories
from tests.batches.test_plans import ANSWERS, HEATING, OWN, letter
from tests.factories import PASSWORD, START, at, seen

pytestmark = pytest.mark.django_db
COUNTS = Path(__file__).with_name("plan_query_counts.json")


@pytest.fixture
def owner():
    return factories.MemberFactory()


@pytest.fixture
def premises(owner):
    return factories.PremisesFactory(producer=owner.producer, jurisdiction="US")


@pytest.fixture
def product(owner, premises):
    made = factories.ProductFactory(producer=owner.producer)
    return recording.answer_questions(made, facts=ANSWERS, by=owner, at=START)


@pytest.fixture
def draft(product, premises, owner):
    version = recording.start_plan(product, premises=premises, by=owner, at=START)
    return recording.revise_plan(version, edits={"own": OWN}, by=owner, at=START)


@pytest.fixture
def signature(draft, owner):
    return recording.sign_plan(
        draft,
        seen_sha256=seen(draft),
        password=PASSWORD,
        title="Ida Fenwarren, owner",
        by=owner,
        at=START,
    )


@pytest.fixture
def visit(client, owner):
    client.force_login(owner.user)
    return client


def page(client, name, *args):
    answer = client.get(reverse(name, args=args))
    assert answer.status_code == 200
    return answer.content.decode()


def newest(product):
    return PlanVersion.objects.filter(product=product).latest("revision")


class TestProduct:
    def test_open_questions_are_asked_and_kept(self, visit, owner, premises):
        bare = factories.ProductFactory(producer=owner.producer)
        assert "Is the food packed in glass?" in page(visit, "product", bare.pk)
        visit.post(reverse("product", args=[bare.pk]), {"glass-package": "no"})
        bare.refresh_from_db()
        assert bare.facts["glass-package"] == "no"
        assert "Is the food packed in glass?" not in page(visit, "product", bare.pk)

    def test_plan_is_drafted_from_here(self, visit, product):
        answer = visit.post(reverse("plan-start", args=[product.pk]))
        assert answer.url == reverse("plan", args=[product.pk])
        assert "Before it can be signed" in page(visit, "plan", product.pk)


class TestDraft:
    def test_every_hazard_stands_on_the_page(self, visit, draft):
        said = page(visit, "plan-hazards", draft.product_id)
        for hazard in planning.drafted(draft).analysis.hazards:
            assert f'id="{hazard.id}"' in said
        assert "Decision tree" in said

    def test_owner_disagrees_with_a_reason_that_shows(self, visit, draft):
        address = reverse("plan-decide", args=[draft.product_id, "metal"])
        sent = {"version": draft.pk, "significant": "yes", "reason": ""}
        assert "Say why" in visit.post(address, sent).content.decode()
        sent["reason"] = "Our old slicer sheds."
        assert visit.post(address, sent).status_code == 302
        assert "Our old slicer sheds." in page(visit, "plan-hazards", draft.product_id)

    def test_limit_is_tightened(self, visit, draft):
        address = reverse("plan-limit", args=[draft.product_id, HEATING])
        assert "Published: 145" in visit.get(address).content.decode()
        visit.post(address, {"version": draft.pk, "value": "150", "letter": ""})
        assert newest(draft.product).edits["figures"] == {HEATING: {"value": "150"}}
        assert "150 °F" in page(visit, "plan", draft.product_id)

    def test_looser_limit_waits_for_a_letter_that_then_shows(self, visit, draft, owner):
        address = reverse("plan-limit", args=[draft.product_id, HEATING])
        visit.post(address, {"version": draft.pk, "minutes": "20", "letter": ""})
        assert "authority&#x27;s letter" in page(visit, "plan", draft.product_id)
        kept = letter(owner)
        visit.post(
            address,
            {
                "version": newest(draft.product).pk,
                "minutes": "20",
                "letter": str(kept.pk),
            },
        )
        said = page(visit, "plan", draft.product_id)
        assert "Looser than published, by the letter of Dr Quill Marrowby" in said
        assert "Nothing is open" in said

    def test_save_over_a_newer_state_keeps_what_was_typed(self, visit, draft, owner):
        recording.revise_plan(draft, edits={"schedule": {}}, by=owner, at=START)
        answer = visit.post(
            reverse("plan-limit", args=[draft.product_id, HEATING]),
            {"version": draft.pk, "value": "151", "letter": ""},
        )
        said = answer.content.decode()
        assert "saved this draft again meanwhile" in said
        assert 'value="151"' in said

    def test_own_limit_is_added_and_taken_out(self, visit, draft):
        address = reverse("plan-own", args=[draft.product_id])
        sent = {
            "version": draft.pk,
            "name": "brine-cold",
            "control_point": "curing",
            "step": "",
            "kind": "at_most",
            "quantity": "water-temperature",
            "value": "40",
            "unit": "degF",
            "words": "The brine stays cold.",
        }
        wrong = visit.post(address, sent | {"value": ""}).content.decode()
        assert "A reading needs this" in wrong
        assert visit.post(address, sent).status_code == 302
        assert "The brine stays cold." in page(visit, "plan", draft.product_id)
        visit.post(
            reverse("plan-own-remove", args=[draft.product_id, "own.brine-cold"])
        )
        assert "The brine stays cold." not in page(visit, "plan", draft.product_id)

    @pytest.mark.parametrize(
        ("name", "sent", "words"),
        [
            ("plan-describe", {"use": "Cold, as it is."}, "Cold, as it is."),
            ("plan-schedule", {"support": "study S-9"}, "study S-9"),
            ("plan-reviewed", {"by_other": "yes"}, "somebody else reads and signs"),
            ("plan-who", {"heating/heating": "Ida, at the smoker"}, "at the smoker"),
        ],
    )
    def test_description_and_schedule_are_written(
        self, visit, draft, name, sent, words
    ):
        address = reverse(name, args=[draft.product_id])
        assert visit.post(address, {"version": draft.pk, **sent}).status_code == 302
        assert words in page(visit, "plan", draft.product_id)


class TestSigning:
    def sent(self, draft, password=PASSWORD):
        return {
            "version": draft.pk,
            "seen": seen(draft),
            "ticket": signing.ticket(
                by=draft.by, purpose=signing.PLAN, content_sha256=seen(draft)
            ),
            "title": "Ida, owner",
            "password": password,
        }

    def test_meaning_is_said_and_the_password_asked_again(self, visit, draft):
        address = reverse("plan-sign", args=[draft.product_id])
        shown = visit.get(f"{address}?seen={seen(draft)}").content.decode()
        assert "I am responsible for this plan" in shown
        wrong = visit.post(address, self.sent(draft, "guess")).content.decode()
        assert "This is not your password" in wrong
        assert "guess" not in wrong
        assert not PlanSignature.objects.exists()
        sent = self.sent(draft)
        answer = visit.post(address, sent)
        assert answer.url == reverse("plan-signed", args=[draft.product_id, 1])
        assert visit.post(address, sent).url == answer.url
        assert PlanSignature.objects.count() == 1
        assert GivenSignature.objects.get().content_sha256 == sent["seen"]

    def test_what_changed_after_it_was_read_is_not_signed(self, visit, owner, premises):
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
        sent = self.sent(version)
        recording.answer_questions(product, facts=dict([last]), by=owner, at=START)
        address = reverse("plan-sign", args=[product.pk])
        said = visit.post(address, sent).content.decode()
        assert "The plan has changed since you read it" in said
        assert not PlanSignature.objects.exists()
        version.product.refresh_from_db()
        assert visit.post(address, self.sent(version)).status_code == 302
        assert PlanSignature.objects.exists()

    def test_draft_sends_to_signing_what_it_shows(self, visit, draft):
        address = reverse("plan-sign", args=[draft.product_id])
        assert f"{address}?seen={seen(draft)}" in page(visit, "plan", draft.product_id)
        assert visit.get(address).url == reverse("plan", args=[draft.product_id])
        stale = visit.get(f"{address}?seen=stale").content.decode()
        assert 'value="stale"' in stale
        sent = self.sent(draft) | {"seen": "stale"}
        assert "has changed since" in visit.post(address, sent).content.decode()
        assert not PlanSignature.objects.exists()

    def test_signed_plan_is_read_by_everybody_and_changed_by_nobody(
        self, client, signature, owner
    ):
        reader = factories.MemberFactory(producer=owner.producer, role="inspector")
        client.force_login(reader.user)
        said = page(client, "plan-signed", signature.product_id, 1)
        assert signature.content_sha256 in said
        assert "Tighten" not in said
        answer = client.post(reverse("plan-start", args=[signature.product_id]))
        assert answer.status_code == 403

    def test_maker_does_not_edit(self, client, draft, owner):
        maker = factories.MemberFactory(producer=owner.producer, role="maker")
        client.force_login(maker.user)
        answer = client.post(
            reverse("plan-limit", args=[draft.product_id, HEATING]),
            {"version": draft.pk, "value": "150"},
        )
        assert answer.status_code == 403

    def test_versions_are_compared_and_looked_at_again(
        self, visit, signature, premises, owner
    ):
        product = signature.product
        version = recording.start_plan(product, premises=premises, by=owner, at=at(1))
        version = recording.revise_plan(
            version, edits={"figures": {HEATING: {"value": "150"}}}, by=owner, at=at(1)
        )
        recording.sign_plan(
            version,
            seen_sha256=seen(version),
            password=PASSWORD,
            title="Ida, owner",
            by=owner,
            at=at(2),
        )
        assert "150 °F" in page(visit, "plan-compare", product.pk, 1, 2)
        before = page(visit, "plan-signed", product.pk, 1)
        assert "Superseded by" in before
        assert "Looked at again</a>" not in before
        assert "In force" in page(visit, "plan-signed", product.pk, 2)
        assert "superseded by v2" in page(visit, "product", product.pk)
        visit.post(
            reverse("plan-reassess", args=[product.pk, 2]), {"outcome": "no-change"}
        )
        assert "No change is needed" in page(visit, "plan-signed", product.pk, 2)

    def test_draft_is_compared_with_what_it_changes(
        self, visit, signature, premises, owner
    ):
        product = signature.product
        version = recording.start_plan(product, premises=premises, by=owner, at=at(1))
        assert "Nothing differs" in page(visit, "plan-compare", product.pk, 1, 2)
        recording.revise_plan(
            version, edits={"who": {"heating/heating": "Ida"}}, by=owner, at=at(1)
        )
        said = page(visit, "plan-compare", product.pk, 1, 2)
        assert "monitoring" in said
        assert "Who: Ida" in said
        link = reverse("plan-compare", args=[product.pk, 1, 2])
        assert link in page(visit, "plan", product.pk)

    def test_letter_is_read_as_it_came_by_its_producer_only(
        self, visit, client, draft, owner
    ):
        kept = letter(owner)
        recording.revise_plan(
            draft,
            edits={
                "figures": {HEATING: {"minutes": "20"}},
                "letters": {HEATING: kept.pk},
            },
            by=owner,
            at=START,
        )
        address = reverse("letter", args=[kept.sha256])
        assert address in page(visit, "plan", draft.product_id)
        answer = visit.get(address)
        with kept.content.open() as file:
            assert b"".join(answer.streaming_content) == file.read()
        assert answer["Content-Disposition"].startswith("attachment")
        assert visit.get(reverse("letter", args=["0" * 64])).status_code == 404
        stranger = factories.MemberFactory()
        client.force_login(stranger.user)
        assert client.get(address).status_code == 404
        client.logout()
        assert client.get(address).status_code == 302

    def test_superseded_plan_is_not_looked_at_again(
        self, visit, signature, premises, owner
    ):
        product = signature.product
        version = recording.start_plan(product, premises=premises, by=owner, at=at(1))
        recording.sign_plan(
            version,
            seen_sha256=seen(version),
            password=PASSWORD,
            title="Ida, owner",
            by=owner,
            at=at(2),
        )
        address = reverse("plan-reassess", args=[product.pk, 1])
        said = visit.post(address, {"outcome": "no-change"}).content.decode()
        assert "was superseded by v2" in said
        assert not signature.reassessments.exists()

    def test_plan_is_begun_for_the_premises_that_were_chosen(self, visit, owner):
        first = factories.PremisesFactory(producer=owner.producer)
        second = factories.PremisesFactory(producer=owner.producer)
        product = factories.ProductFactory(producer=owner.producer)
        assert second.name in page(visit, "product", product.pk)
        address = reverse("plan-start", args=[product.pk])
        visit.post(address)
        assert not PlanVersion.objects.filter(product=product).exists()
        visit.post(address, {"premises": second.pk})
        (version,) = PlanVersion.objects.filter(product=product)
        assert version.premises == second != first

    def test_now_names_the_plan_that_is_due(self, visit, signature):
        (due,) = lookups.reassessments_due(signature.producer)
        assert due.signature == signature
        said = page(visit, "now")
        is_due = "Plans to look at again" in said
        assert is_due == (due.due_at.year <= START.year)


NAMES = [
    ("product", ()),
    ("plan", ()),
    ("plan-hazards", ()),
    ("plan-decide", ("metal",)),
    ("plan-describe", ()),
    ("plan-schedule", ()),
    ("plan-reviewed", ()),
    ("plan-who", ()),
    ("plan-limit", (HEATING,)),
    ("plan-own", ()),
    ("plan-letter", ()),
    ("plan-sign", ()),
]


SIGNED = [
    ("product", ()),
    ("plan-signed", (1,)),
    ("plan-compare", (1, 1)),
    ("guidance-product", ()),
]


@pytest.mark.parametrize(("name", "more"), NAMES)
def test_other_producers_plan_is_not_there(client, draft, name, more):
    stranger = factories.MemberFactory()
    factories.PremisesFactory(producer=stranger.producer)
    client.force_login(stranger.user)
    address = reverse(name, args=[draft.product_id, *more])
    assert client.get(address).status_code == 404
    assert client.post(address, {"version": draft.pk}).status_code == 404


@pytest.mark.parametrize(
    ("name", "more"),
    [("plan-signed", (1,)), ("plan-compare", (1, 1)), ("plan-reassess", (1,))],
)
def test_other_producers_signed_plan_is_not_there(client, signature, name, more):
    stranger = factories.MemberFactory()
    factories.PremisesFactory(producer=stranger.producer)
    client.force_login(stranger.user)
    address = reverse(name, args=[signature.product_id, *more])
    assert client.get(address).status_code == 404


def test_pages_need_as_many_queries_as_before(visit, draft):
    counts = {}

    def count(name, *more):
        with CaptureQueriesContext(connection) as made:
            visit.get(reverse(name, args=[draft.product_id, *more]))
        counts[name] = len(made)

    for name, more in NAMES:
        count(name, *more)
    recording.sign_plan(
        draft,
        seen_sha256=seen(draft),
        password=PASSWORD,
        title="Ida, owner",
        by=draft.by,
        at=START,
    )
    for name, more in SIGNED:
        count(name, *more)
    known = json.loads(COUNTS.read_text("utf-8"))
    assert counts == known, "If this is meant, write the new counts into the file."


def test_hazard_and_limit_that_are_none_are_not_there(visit, draft):
    for name, what in (("plan-decide", "boredom"), ("plan-limit", "no.such")):
        address = reverse(name, args=[draft.product_id, what])
        assert visit.get(address).status_code == 404
