"""An inspector's link, made on the owner's phone and opened in a fresh browser."""

import pytest
from playwright.sync_api import expect

from batches import models
from tests.browser.conftest import PHONE

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]


@pytest.mark.parametrize("phone", [False], indirect=True, ids=["without script"])
def test_an_inspector_reads_by_a_link_in_a_fresh_browser(
    phone, chromium, season_server
):
    phone.goto("/links/add/")
    phone.get_by_label("For whom").fill("N. N., county health")
    phone.get_by_label("One batch").select_option("B07")
    phone.get_by_role("button", name="Make the link").click()
    expect(phone.locator("svg.qr")).to_be_visible()
    address = phone.get_by_label("The link, to copy").input_value()

    fresh = chromium.new_context(viewport=PHONE, base_url=season_server.url)
    page = fresh.new_page()
    page.goto(address)
    expect(
        page.get_by_text("A read-only copy for N. N., county health")
    ).to_be_visible()
    expect(page.get_by_text("decided by your inspector")).to_be_visible()
    page.get_by_role("link", name="B07 ·").click()
    expect(page.get_by_text("Read-only copy for N. N.")).to_be_visible()
    page.goto("/batches/B08/")
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()

    phone.goto("/links/")
    phone.get_by_role("link", name="N. N., county health").click()
    expect(phone.get_by_text("batch record B07")).to_be_visible()
    phone.get_by_role("button", name="Revoke it").click()
    page.goto(address)
    expect(page.get_by_text("There is nothing at this address")).to_be_visible()
    assert models.LinkView.objects.count() == 2
    fresh.close()
