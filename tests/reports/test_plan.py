"""The plan as a document: every hazard and limit on paper, drafts plainly drafts."""

import io

import pypdf
import pytest
from django.urls import reverse
from django.utils import timezone

from batches import planning, recording
from reports.collect import NotOnRecord, Wish, batch_record
from reports.documents import plan_pdf, record_page
from reports.plan_collect import draft_sheet, signed_sheet
from tests import factories
from tests.batches.test_plans import ANSWERS, HEATING, OWN, letter
from tests.factories import PASSWORD, START, at, seen

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner():
    return factories.MemberFactory()


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
    return recording.revise_plan(
        version,
        edits={
            "own": OWN,
            "schedule": {
                "brine_sal": "60",
                "support": "study S-9",
                "support_date": "2026-01-02",
            },
            "decisions": [
                {
                    "hazard": "metal",
                    "significant": "no",
                    "reason": "Only hand knives are used here.",
                }
            ],
        },
        by=owner,
        at=START,
    )


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


def pages(sheet):
    read = pypdf.PdfReader(io.BytesIO(plan_pdf(sheet).content)).pages
    return [" ".join(page.extract_text().split()) for page in read]


def sheet_of(signature, paper="letter"):
    return signed_sheet(
        signature.producer, signature.product_id, 1, paper=paper, at=timezone.now()
    )


def squeezed(text):
    return "".join(text.split())


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_every_hazard_limit_and_source_is_on_paper(signature, paper):
    sheet = sheet_of(signature, paper)
    said = squeezed(" ".join(pages(sheet)))
    content = planning.content(signature)
    hazards = content["plan"]["analysis"]["hazards"]
    assert {row.hazard for row in sheet.hazards} >= {h["title"] for h in hazards}
    for hazard in hazards:
        assert squeezed(hazard["title"]) in said
        assert squeezed(hazard["why"]) in said
    for each in content["limits"]:
        assert squeezed(each["words"]) in said
    assert squeezed("Only hand knives are used here.") in said
    assert squeezed("study S-9") in said
    assert squeezed("days before this print") in said
    for pair in sheet.publications:
        assert squeezed(pair.value) in said


def test_every_page_says_which_plan_it_is_and_who_decides(signature):
    texts = pages(sheet_of(signature))
    for count, text in enumerate(texts, start=1):
        assert f"page {count} of {len(texts)}" in text
        assert f"plan v1 · content {signature.content_sha256[:8]}" in text
        assert "decided by the inspector, the process authority" in text
        assert "DRAFT" not in text
    assert signature.content_sha256 in squeezed(" ".join(texts))
    assert signature.trail_head_sha256 in squeezed(" ".join(texts))
    assert len(signature.trail_head_sha256) == len(signature.content_sha256)
    assert squeezed(planning.MEANING) in squeezed(" ".join(texts))


def test_worksheet_follows_the_flow_and_leaves_out_no_step_and_no_hazard(signature):
    plan = planning.content(signature)["plan"]
    rows = sheet_of(signature).hazards
    titles = {box["step"]: box["title"] for box in plan["flow"]}
    steps = [*dict.fromkeys(row.step for row in rows)]
    assert steps == [*titles.values(), "—"]
    for hazard in plan["analysis"]["hazards"]:
        stands = [row for row in rows if row.hazard == hazard["title"]]
        if hazard["significant"] == "yes":
            told = {titles[one["step"]]: one for one in hazard["measures"]}
            assert {row.step for row in stands} == set(told)
            assert all(told[row.step]["measure"] in row.measure for row in stands)
        else:
            assert len(stands) == 1
    critical = {(row.step, row.hazard) for row in rows if row.is_critical == "yes"}
    assert critical == {
        (titles[measure["step"]], hazard["title"])
        for hazard in plan["analysis"]["hazards"]
        for measure in hazard["measures"]
        if measure["critical"] == "yes"
    }


def test_hazard_that_no_step_controls_says_so(draft, owner):
    version = recording.revise_plan(
        draft,
        edits={
            "decisions": [
                {"hazard": "glass", "significant": "yes", "reason": "We sell in jars."}
            ]
        },
        by=owner,
        at=START,
    )
    sheet = draft_sheet(
        version.producer, version.product_id, paper="", at=timezone.now()
    )
    (row,) = [row for row in sheet.hazards if "We sell in jars." in row.owner]
    assert row.step == "—"
    assert row.measure == "No step of the process controls it."


def test_every_thing_watched_has_its_own_how_and_frequency(signature):
    sheet = sheet_of(signature)
    watched = planning.content(signature)["plan"]["critical_control_points"]
    (brine,) = [row for row in sheet.critical if row.name.startswith("Brine")]
    monitoring = watched[int(brine.number) - 1]["monitoring"]
    assert len(monitoring) > 1
    assert len(brine.what) == len(brine.how_often) == len(monitoring)
    for what, often, row in zip(brine.what, brine.how_often, monitoring, strict=True):
        assert what[:3] == often[:3]
        assert what.endswith(row["what"])
        assert often.endswith(row["how_often"])
    assert len(brine.who) == 1


@pytest.mark.parametrize(("paper", "short"), [("letter", 612), ("a4", 595)])
def test_every_page_is_of_the_paper_that_was_asked_for(signature, paper, short):
    data = io.BytesIO(plan_pdf(sheet_of(signature, paper)).content)
    boxes = [page.mediabox for page in pypdf.PdfReader(data).pages]
    assert {int(min(box.width, box.height)) for box in boxes} == {short}
    assert any(box.width > box.height for box in boxes)


def test_superseded_plan_says_so_on_every_page(signature, owner):
    assert "In force" in " ".join(pages(sheet_of(signature)))
    version = recording.start_plan(
        signature.product, premises=signature.premises, by=owner, at=at(1)
    )
    recording.sign_plan(
        version,
        seen_sha256=seen(version),
        password=PASSWORD,
        title="Ida, owner",
        by=owner,
        at=at(2),
    )
    texts = pages(sheet_of(signature))
    assert all("SUPERSEDED BY V2" in text for text in texts)
    assert "In force" not in " ".join(texts)


def test_draft_says_so_on_every_page(draft):
    sheet = draft_sheet(draft.producer, draft.product_id, paper="", at=timezone.now())
    texts = pages(sheet)
    assert all(text.count("DRAFT, NOT SIGNED") >= 2 for text in texts)
    assert plan_pdf(sheet).name == "plan-v1-draft.pdf"


def test_looser_limit_shows_its_letter_first_and_beside_the_limit(draft, owner):
    kept = letter(owner)
    version = recording.revise_plan(
        draft,
        edits={
            "figures": {HEATING: {"minutes": "20"}},
            "letters": {HEATING: kept.pk},
        },
        by=owner,
        at=START,
    )
    signed = recording.sign_plan(
        version,
        seen_sha256=seen(version),
        password=PASSWORD,
        title="Ida, owner",
        by=owner,
        at=START,
    )
    sheet = sheet_of(signed)
    assert len(sheet.letters) == 1
    said = " ".join(pages(sheet))
    assert "Limits that are looser than published" in said
    assert squeezed(said).count(squeezed("by the letter of Dr Quill Marrowby")) == 2
    (published,) = [
        each["published"]["words"]
        for each in planning.content(signed)["limits"]
        if each["limit"]["id"] == HEATING
    ]
    assert squeezed(said).count(squeezed(f"Published: {published}")) == 2


def test_record_of_a_batch_shows_by_whose_letter_its_plan_is_looser(draft, owner):
    version = recording.revise_plan(
        draft,
        edits={
            "figures": {HEATING: {"minutes": "20"}},
            "letters": {HEATING: letter(owner).pk},
        },
        by=owner,
        at=START,
    )
    signed = recording.sign_plan(
        version,
        seen_sha256=seen(version),
        password=PASSWORD,
        title="Ida, owner",
        by=owner,
        at=START,
    )
    batch = factories.BatchFactory(
        producer=owner.producer,
        product=signed.product,
        premises=signed.premises,
        plan=signed,
    )
    record = batch_record(owner.producer, batch.code, Wish(at=at(9)))
    (line,) = record.looser
    assert "by the letter of Dr Quill Marrowby" in line
    text = record_page(record, {}).content.decode()
    assert "by the letter of Dr Quill Marrowby" in text


def test_pages_are_sent_to_members_of_the_producer_only(client, signature, owner):
    addresses = [
        reverse("plan-html", args=[signature.product_id, 1]),
        reverse("plan-pdf", args=[signature.product_id, 1]) + "?paper=a4",
    ]
    client.force_login(owner.user)
    for address in addresses:
        assert client.get(address).status_code == 200
    assert (
        client.get(reverse("draft-plan-pdf", args=[signature.product_id])).status_code
        == 404
    )
    client.force_login(factories.MemberFactory().user)
    for address in addresses:
        assert client.get(address).status_code == 404


def test_plan_that_is_none_is_not_on_record(draft):
    for number in (1, 9):
        with pytest.raises(NotOnRecord):
            signed_sheet(
                draft.producer, draft.product_id, number, paper="", at=timezone.now()
            )
    with pytest.raises(NotOnRecord):
        draft_sheet(draft.producer, 0, paper="", at=timezone.now())
