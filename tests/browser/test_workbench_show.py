"""The workbench on a phone, without script: asked, answered, shared, kept beside a batch."""

import re

import pytest
from playwright.sync_api import expect

from batches.workbench.told import calculators
from tests.browser.conftest import PATIENCE_MS, PHONE

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.browser]

LEAST_PX = 44
ESTIMATE = "Planning estimate, not evidence."


@pytest.fixture
def stranger(chromium, season_server):
    """Open a page on a phone without script, signed in to nothing."""
    context = chromium.new_context(
        viewport=PHONE, java_script_enabled=False, base_url=season_server.url
    )
    context.set_default_timeout(PATIENCE_MS)
    yield context.new_page()
    context.close()


def stays_inside(page):
    return page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]


def test_a_stranger_works_something_out_and_shares_it(stranger):
    stranger.goto("/workbench/")
    expect(stranger.get_by_role("heading", name="Workbench")).to_be_visible()
    assert stays_inside(stranger)
    for told in calculators():
        stranger.goto("/workbench/")
        stranger.get_by_role("link", name=told.title, exact=True).click()
        heading = stranger.get_by_role("heading", name=told.title, exact=True)
        expect(heading).to_be_visible()
        button = stranger.get_by_role("button", name="Work it out")
        button.click()
        expect(stranger.get_by_text(ESTIMATE)).to_be_visible()
        assert stays_inside(stranger), told.slug
        assert button.bounding_box()["height"] >= LEAST_PX
        for field in stranger.locator("form.ask input:visible, form.ask select").all():
            assert field.bounding_box()["height"] >= LEAST_PX, told.slug
        said = stranger.locator(".estimate__figure").first.inner_text()
        stranger.goto(stranger.url)
        expect(stranger.locator(".estimate__figure").first).to_have_text(said)


def test_what_makes_no_sense_is_refused_in_a_sentence(stranger):
    stranger.goto("/workbench/slab/")
    stranger.get_by_label("Thickness of the thickest piece", exact=True).fill("-5")
    stranger.get_by_role("button", name="Work it out").click()
    expect(stranger.get_by_text("What makes sense is 2 to 150 mm.")).to_be_visible()
    expect(stranger.get_by_text(ESTIMATE)).to_have_count(0)


def test_a_member_keeps_an_estimate_beside_a_batch(phone):
    phone.goto("/workbench/boiling-point/")
    phone.get_by_label("Elevation above the sea", exact=True).fill("5000")
    phone.get_by_label("Unit: Elevation above the sea").select_option("ft")
    phone.get_by_role("button", name="Work it out").click()
    expect(phone.get_by_text(ESTIMATE)).to_be_visible()
    phone.get_by_role("button", name="Keep it").click()
    kept = phone.get_by_role("heading", name="Estimates, not evidence")
    expect(kept).to_be_visible()
    expect(phone.get_by_text(re.compile("about 202.8 °F"))).to_be_visible()
    assert phone.complaints == []
