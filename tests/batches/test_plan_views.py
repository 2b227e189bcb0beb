"""The screens of products and plans: answer, decide, tighten, sign, compare, read."""

import pytest
from django.urls import reverse

from batches import lookups, planning, recording
from batches.models import PlanSignature, PlanVersion
from tests import factories
from tests.batches.test_plans import ANSWERS, HEATING, OWN, letter
from tests.factories import PASSWORD, START, at

pytestmark = pytest.mark.django_db


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
        draft, password=PASSWORD, title="Ida Fenwarren, owner", by=owner, at=START
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
        return {"version": draft.pk, "title": "Ida, owner", "password": password}

    def test_meaning_is_said_and_the_password_asked_again(self, visit, draft):
        address = reverse("plan-sign", args=[draft.product_id])
        assert "I am responsible for this plan" in page(
            visit, "plan-sign", draft.product_id
        )
        wrong = visit.post(address, self.sent(draft, "guess")).content.decode()
        assert "This is not your password" in wrong
        assert "guess" not in wrong
        assert not PlanSignature.objects.exists()
        answer = visit.post(address, self.sent(draft))
        assert answer.url == reverse("plan-signed", args=[draft.product_id, 1])

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
            version, password=PASSWORD, title="Ida, owner", by=owner, at=at(2)
        )
        assert "150 °F" in page(visit, "plan-compare", product.pk, 1, 2)
        visit.post(
            reverse("plan-reassess", args=[product.pk, 2]), {"outcome": "no-change"}
        )
        assert "No change is needed" in page(visit, "plan-signed", product.pk, 2)

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
    ("plan-who", ()),
    ("plan-limit", (HEATING,)),
    ("plan-own", ()),
    ("plan-letter", ()),
    ("plan-sign", ()),
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


@pytest.mark.parametrize(("name", "more"), NAMES)
def test_page_needs_few_queries(
    visit, draft, name, more, django_assert_max_num_queries
):
    with django_assert_max_num_queries(15):
        visit.get(reverse(name, args=[draft.product_id, *more]))


def test_hazard_and_limit_that_are_none_are_not_there(visit, draft):
    for name, what in (("plan-decide", "boredom"), ("plan-limit", "no.such")):
        address = reverse(name, args=[draft.product_id, what])
        assert visit.get(address).status_code == 404
