"""Every address, found by walking the site: as every role, of both producers."""

from dataclasses import dataclass, field
from uuid import uuid4

import pytest
from django.apps import apps
from django.contrib.auth import get_user_model
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.test import Client
from django.urls import URLPattern, get_resolver, reverse

from batches import models, recording, roles
from batches.planning import content_of, sha256_of
from batches.views import waiting
from tests import factories
from tests.batches.test_photos import picture
from tests.batches.test_plans import ANSWERS, HEATING, OWN
from tests.factories import START, at

pytestmark = pytest.mark.django_db

CODE = "ZANDER-1"  # of the batch and of the instrument of the firm that others look for
MARK = "Zandersmoke"  # stands in the names of all that belongs to that firm
LINK_TOKEN = "t" * 43
NOT_OF_A_PRODUCER = {
    *("guidance-limit", "copy-open"),  # published; opened by its token
    *(
        "log-list",
        "log-add",
        "log-sheet",
        "log-pdf",
        "condition-hide",
        "condition-time",
    ),  # kinds
    "week-review",  # a week
    *("calculator", "estimate-attach"),  # calculators
}


@pytest.fixture(autouse=True)
def quick_pdf(monkeypatch):
    """Print nothing: who gets a document matters here, not how it looks."""
    monkeypatch.setattr("reports.documents.pdf_from_html", lambda html: b"%PDF-")


# ------------------------------------------------------------ the addresses


@dataclass(frozen=True)
class Address:
    name: str
    route: str
    parameters: tuple[str, ...]


def addresses():
    """Return every address of the site, by walking its patterns."""
    found = []

    def walk(patterns, before):
        for pattern in patterns:
            route = before + str(pattern.pattern)
            if isinstance(pattern, URLPattern):
                names = tuple(pattern.pattern.converters)
                found.append(Address(pattern.name, route, names))
            else:
                walk(pattern.url_patterns, route)

    walk(get_resolver().url_patterns, "")
    return found


ALL = addresses()
OF_OBJECTS = [one for one in ALL if one.parameters]
IDS = [one.name for one in ALL]


def named(each):
    return each.name


# ------------------------------------------------------------ one firm with everything


@dataclass
class Firm:
    """A producer with one of each thing, and the values that addresses take."""

    owner: models.Member
    values: dict = field(default_factory=dict)

    def fill(self, address):
        """Return the address with the firm's own things; unknown parameters fail."""
        first = address.route.split("/")[0]
        values = {}
        for parameter in address.parameters:
            known = self.values.get((address.name, parameter))
            known = known or self.values.get((first, parameter))
            known = known or self.values.get(parameter)
            assert known is not None, (
                f"{address.name}: nobody said what fills <{parameter}>. Add it to "
                "`firm_with_everything`."
            )
            values[parameter] = known
        return reverse(address.name, kwargs=values)

    def client(self, role):
        """Return a browser in which a member of this role is signed in."""
        member = factories.MemberFactory(producer=self.owner.producer, role=role)
        client = Client()
        client.force_login(member.user)
        return client


def signed_plan(version, owner):
    """Return a draft signed without asking for a password."""
    content = content_of(version)
    return models.PlanSignature.objects.create(
        producer=version.producer,
        product=version.product,
        premises=version.premises,
        version=version,
        number=version.number,
        content=content,
        content_sha256=sha256_of(content),
        meaning="tried",
        title=owner.name,
        role=owner.role,
        signed_at=START,
        by=owner,
        by_name=owner.name,
    )


def firm_with_everything():
    producer = factories.ProducerFactory(name=f"{MARK} House")
    owner = factories.MemberFactory(producer=producer, name=f"{MARK} Owner")
    told = {"by": owner, "at": START}
    premises = factories.PremisesFactory(producer=producer, jurisdiction="US")
    product = factories.ProductFactory(producer=producer, name=f"{MARK} coho")
    product = recording.answer_questions(product, facts=ANSWERS, **told)
    for _ in range(2):
        version = recording.start_plan(product, premises=premises, **told)
        signature = signed_plan(version, owner)
    version = recording.start_plan(product, premises=premises, **told)
    recording.revise_plan(version, edits={"own": OWN}, **told)
    batch = factories.BatchFactory(
        producer=producer,
        premises=premises,
        product=product,
        by=owner,
        code=CODE,
        plan=signature,
    )
    factories.LotFactory(producer=producer, by=owner, code=CODE)
    factories.TraceFactory(batch=batch)
    reading = factories.ReadingFactory(batch=batch)
    tool = factories.InstrumentFactory(producer=producer, code=CODE)
    check = factories.InstrumentCheckFactory(instrument=tool, by=owner)
    letter = factories.LetterFactory(producer=producer, by=owner)
    default_storage.save(letter.content.name, ContentFile(b"%PDF-1.7 invented"))
    link = factories.InspectorLinkFactory(producer=producer, by=owner, batch=batch)
    worker = factories.MemberFactory(
        producer=producer, role="maker", name=f"{MARK} Maker"
    )
    told |= {"at": at(200)}
    deviation = recording.open_deviation(
        batch,
        control_point="heating",
        status="by-hand",
        words=f"{MARK} saw it",
        observed_at=at(1),
        **told,
    )
    answer = recording.respond(deviation, kind="evidence", text="A look.", **told)
    recording.hold(
        batch, reason=f"{MARK} says so", packages=4, deviation=deviation, **told
    )
    decision = recording.dispose(
        deviation,
        kind="destroy",
        packages=1,
        reason=f"{MARK} decided",
        decided_by=owner.name,
        function="owner",
        **told,
    )
    photo = recording.add_photo(answer, name="seen.png", data=picture(), **told)
    report = recording.record_lab_result(
        batch,
        laboratory=f"{MARK} lab",
        sampled_at=at(1),
        reported_at=at(100),
        pieces=[{"place": place, "salt": "3.1", "moisture": "62.0"} for place in "ABC"],
        **told,
    )
    visit = recording.record_visit(
        premises, agency="State", people="An inspector", occurred_at=at(1), **told
    )
    paper = recording.keep_document(
        premises,
        supplier=f"{MARK} Nets",
        what="A certificate",
        file=("paper.pdf", b"%PDF-1.7 invented"),
        occurred_at=at(1),
        **told,
    )
    buyer = recording.add_buyer(producer, name=f"{MARK} Harbour", **told)
    day = recording.open_market(
        producer, place=f"{MARK} market", occurred_at=at(1), **told
    )
    case = recording.begin_recall(
        producer,
        batches=[batch],
        code=CODE,
        reason=f"{MARK} tried",
        is_drill=True,
        began_at=at(100),
        **told,
    )
    return Firm(
        owner,
        {
            ("buyers", "pk"): buyer.pk,
            ("recalls", "number"): case.number,
            ("recalls", "whom"): "people",
            ("markets", "pk"): day.pk,
            ("deviations", "number"): deviation.number,
            ("deviations", "kind"): "cause",
            ("deviations", "decision"): decision.pk,
            ("photos", "pk"): photo.pk,
            ("laboratory", "pk"): report.pk,
            ("lab-report", "pk"): report.pk,
            ("check-touches", "pk"): check.pk,
            ("records", "kind"): "visits",
            ("records", "pk"): visit.pk,
            ("records", "condition"): "water",
            ("log-file", "pk"): paper.pk,
            ("review", "day"): "2026-04-27",
            "code": CODE,
            "step": "heating",
            "quantity": "core-temperature",
            "kind": "reading",
            "token": waiting.keep(producer, "log.csv", b"a,b\n1,2\n"),
            ("open", "token"): LINK_TOKEN,
            ("correct", "pk"): reading.pk,
            ("check-correct", "pk"): check.pk,
            ("products", "pk"): product.pk,
            ("copy", "pk"): product.pk,
            ("people", "pk"): worker.pk,
            ("links", "pk"): link.pk,
            "number": signature.number,
            "one": 1,
            "two": 2,
            "hazard": "metal",
            "limit": HEATING,
            ("plan-own-remove", "limit"): OWN[0]["id"],
            "identity": HEATING,
            "sha256": letter.sha256,
            "slug": "heating",
            ("workbench", "slug"): "boiling-point",
        },
    )


@pytest.fixture
def firm():
    return firm_with_everything()


@pytest.fixture
def other(firm):
    """Return the owner of another producer, with a batch of its own."""
    batch = factories.BatchFactory()
    factories.ReadingFactory(batch=batch)
    return Firm(batch.by)


def everything():
    """Return all rows of the records, and all passwords."""
    rows = {
        model.__name__: sorted(map(str, model.objects.values_list()))
        for model in apps.get_app_config("batches").get_models()
    }
    users = get_user_model().objects
    return rows | {"passwords": sorted(users.values_list("pk", "password"))}


def without_views(rows):
    """Return the rows without what a link writes by being opened."""
    told = [row for row in rows["TrailEvent"] if "'link.viewed'" not in row]
    return rows | {"LinkView": [], "TrailEvent": told}


def sent(client, url):
    return client.post(url, {"entry_id": str(uuid4()), "take_back": "1", "action": ""})


# ------------------------------------------------------------ every address is named


def test_the_walk_finds_the_site():
    names = {one.name for one in ALL}
    assert {"now", "batch", "correct", "record-pdf", "plan-sign", "people"} <= names
    assert len(ALL) > 60
    assert None not in names, "an address has no name"


def test_somebody_has_said_who_may_see_each_address():
    names = {one.name for one in ALL}
    assert names - set(roles.PAGES) == set(), "say in batches/roles.py who may see it"
    assert set(roles.PAGES) - names == set(), "batches/roles.py names what is not there"


def test_an_unknown_parameter_is_noticed(firm):
    with pytest.raises(AssertionError, match="nobody said what fills <flavour>"):
        firm.fill(Address("batch", "batches/<str:flavour>/", ("flavour",)))


def test_an_address_that_nobody_named_is_for_owners_only():
    assert roles.page("never-heard-of").see == "people"
    assert roles.page(None).do == "people"


# ------------------------------------------------------------ another producer


@pytest.mark.parametrize("address", ALL, ids=named)
def test_another_producer_sees_and_changes_nothing(address, firm, other):
    url = firm.fill(address)
    clients = [other.client(role) for role in roles.ROLES]
    before = everything()
    for client in clients:
        for answer in (client.get(url), sent(client, url)):
            if address.parameters and address.name not in NOT_OF_A_PRODUCER:
                assert answer.status_code == 404, (address.name, answer.status_code)
            said = answer.getvalue().decode("utf-8", "replace")
            assert MARK not in said
            if not address.parameters:
                assert CODE not in said
    assert everything() == before


# ------------------------------------------------------------ the own producer


@pytest.mark.parametrize("address", ALL, ids=named)
def test_each_role_sees_what_the_table_says(address, firm):
    page = roles.PAGES[address.name]
    url = firm.fill(address)
    for role in roles.ROLES:
        answer = firm.client(role).get(url)
        said = answer.getvalue().decode("utf-8", "replace")
        if page.see == roles.LINK:
            assert answer.status_code == 404
        elif page.see == roles.ANYBODY or roles.may(role, page.see):
            assert answer.status_code in {200, 302, 405}, (role, answer.status_code)
        else:
            assert answer.status_code == 403, (role, answer.status_code)
            assert roles.ACTS[page.see].refusal.split("'")[0] in said


@pytest.mark.parametrize("address", ALL, ids=named)
def test_each_role_sends_what_the_table_says(address, firm):
    page = roles.PAGES[address.name]
    if page.see in {roles.ANYBODY, roles.LINK}:
        return
    url = firm.fill(address)
    allowed = {role for role in roles.ROLES if page.do and roles.may(role, page.do)}
    refused = [(role, firm.client(role)) for role in roles.ROLES if role not in allowed]
    before = everything()
    for role, client in refused:
        wanted = 403 if page.do else 405
        assert sent(client, url).status_code == wanted, role
    assert everything() == before
    if allowed:
        answer = sent(firm.client(sorted(allowed)[0]), url)
        assert answer.status_code in {200, 302}, answer.status_code


# ------------------------------------------------------------ strangers, and a link


@pytest.mark.parametrize("address", ALL, ids=named)
def test_a_stranger_is_sent_to_sign_in(address, firm):
    page = roles.PAGES[address.name]
    if page.see == roles.ANYBODY:
        return
    url = firm.fill(address)
    seen, posted = Client().get(url), sent(Client(), url)
    if page.see == roles.LINK:
        assert (seen.status_code, posted.status_code) == (404, 404)
        return
    assert seen.status_code == 302 or (page.do and seen.status_code == 405)
    if seen.status_code == 302:
        assert seen["Location"].startswith(reverse("sign-in"))
    assert posted.status_code == 401
    assert MARK not in posted.text


@pytest.mark.parametrize("address", ALL, ids=named)
def test_a_link_opens_its_own_pages_and_no_other(address, firm):
    client = Client()
    client.get(reverse("copy-open", args=[LINK_TOKEN]))
    before = without_views(everything())
    page = roles.PAGES[address.name]
    url = firm.fill(address)
    seen = client.get(url)
    if page.see == roles.LINK:
        assert seen.status_code == 200
        assert sent(client, url).status_code == 404
    elif page.see != roles.ANYBODY:
        assert seen.status_code in {302, 405}
        if seen.status_code == 302:
            assert seen["Location"].startswith(reverse("sign-in"))
        assert sent(client, url).status_code == 401
    assert without_views(everything()) == before


@pytest.mark.parametrize(
    "address", [one for one in OF_OBJECTS if one.name.startswith("copy-")], ids=named
)
def test_a_link_shows_nothing_outside_its_scope(address, firm):
    if address.name == "copy-open":
        return
    product = factories.ProductFactory(producer=firm.owner.producer)
    newer = factories.BatchFactory(
        producer=firm.owner.producer, code="ZANDER-2", by=firm.owner, started_at=at(60)
    )
    client = Client()
    client.get(reverse("copy-open", args=[LINK_TOKEN]))
    for values in (
        {"code": newer.code, "pk": product.pk, "number": 1},
        {"code": "none", "pk": firm.values["products", "pk"], "number": 1},
    ):
        wanted = {name: values[name] for name in address.parameters}
        answer = client.get(reverse(address.name, kwargs=wanted))
        assert answer.status_code == 404
