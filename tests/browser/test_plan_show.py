"""A plan on a phone: from the questions to the signature, and a batch started on it."""

import pytest
from playwright.sync_api import expect

from batches import models
from batches.demo.story import season
from tests.browser.test_show import can_be_hit, stays_inside

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]

NAME = "Hot-smoked coho, 100 g vacuum"
FACTS = {
    "How is it made?": "hot smoked",
    "Does the package keep oxygen out": "yes (vacuum, modified atmosphere, oil)",
    "How is the finished food kept?": "refrigerated",
    "Under which rules do you work?": "seafood processor (21 CFR 123)",
    "Is nitrite added to the cure?": "no",
    "Is the fish fully gutted?": "yes",
    "Is it sliced or handled after cooking": "yes",
    "How does the raw fish arrive?": "frozen",
}


def choose(page, question, answer):
    group = page.locator("fieldset, div.mb-3").filter(has_text=question).last
    group.get_by_label(answer, exact=True).check()


def add_own(page, name, control_point, words, **reading):
    page.get_by_role("link", name="Add a limit of your own").first.click()
    page.get_by_label("A short name for it").fill(name)
    page.get_by_label("Control point").select_option(control_point)
    page.get_by_label("Step in which it is seen").select_option("")
    if reading:
        page.get_by_label("a reading at most").check()
        page.get_by_label("Of what").select_option(reading["quantity"])
        page.get_by_label("Value").fill(reading["value"])
        page.get_by_label("Unit").select_option(reading["unit"])
    else:
        page.get_by_label("that somebody states it for every batch").check()
    page.get_by_label("In words").fill(words)
    page.get_by_role("button", name="Add the limit").click()
    expect(page.get_by_role("status")).to_contain_text("The draft is saved")


@pytest.mark.parametrize("phone", [True, False], indirect=True)
def test_plan_from_questions_to_signature(phone):
    phone.goto("/products/add/")
    phone.get_by_label("Name of the product").fill(NAME)
    phone.get_by_label("Which food is it").fill("coho salmon")
    for question, answer in FACTS.items():
        choose(phone, question, answer)
    phone.get_by_role("button", name="Add the product").click()
    phone.get_by_role("link", name=NAME, exact=True).click()
    expect(phone.get_by_role("button", name="Keep these answers")).to_be_visible()
    stays_inside(phone)
    for question in ("heated in its final", "sawn, injected", "packed in glass",
                     "hold milk, egg", "sulphites or the colour"):  # fmt: skip
        choose(phone, question, "no")
    phone.get_by_role("button", name="Keep these answers").click()
    expect(phone.get_by_text("Still asked")).to_have_count(0)
    phone.get_by_role("button", name="Draft a plan").click()
    expect(phone.get_by_text("Before it can be signed")).to_be_visible()
    stays_inside(phone)
    can_be_hit(phone)
    phone.get_by_role("link", name="Hazard analysis").click()
    expect(phone.get_by_role("heading", name="Parasites that live")).to_be_visible()
    stays_inside(phone)
    phone.get_by_role("link", name="Plan v1").click()
    heat = phone.locator("#heating-heating")
    heat.get_by_role("link", name="Tighten").click()
    phone.get_by_label("Value").fill("150")
    phone.get_by_role("button", name="Keep this").click()
    expect(phone.locator("#heating-heating")).to_contain_text("150 °F")
    add_own(phone, "thickest", "curing", "From our study.",
            quantity="thickness", value="30", unit="mm")  # fmt: skip
    add_own(phone, "dried", "drying", "Dried as the study says.")
    add_own(phone, "label-names-fish", "labelling", "The label names the fish.")
    expect(phone.get_by_text("Nothing is open")).to_be_visible()
    phone.get_by_role("link", name="Sign", exact=True).click()
    expect(phone.get_by_text("I am responsible for this plan")).to_be_visible()
    phone.get_by_label("Your password again").fill(season()["producer"]["password"])
    phone.get_by_role("button", name="Sign the plan").click()
    expect(phone.get_by_role("heading", name="Plan v1")).to_be_visible()
    stays_inside(phone)
    printed = phone.get_by_role("link", name="Plan (PDF)").get_attribute("href")
    assert phone.context.request.get(printed).status == 200
    phone.goto("/batches/start/")
    phone.get_by_label("Product").select_option(label=f"{NAME} (plan v1)")
    phone.get_by_label("Batch code").fill("T09")
    phone.get_by_role("button", name="Start the batch").click()
    expect(phone.get_by_role("link", name="plan v1")).to_be_visible()
    batch = models.Batch.objects.get(code="T09")
    assert batch.plan.product.name == NAME
    assert phone.complaints == []
