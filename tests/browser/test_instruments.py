"""A failed check on a phone: recorded, what it touches is seen, the drift is drawn."""

import pytest
from playwright.sync_api import expect

from tests.browser.test_show import can_be_hit, stays_inside

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def looks_right(phone):
    stays_inside(phone)
    can_be_hit(phone)


@pytest.mark.parametrize("phone", [True, False], indirect=True, ids=["script", "plain"])
def test_a_failed_check_leads_to_what_it_touches(phone):
    phone.goto("/instruments/")
    looks_right(phone)
    phone.get_by_role("link", name="P2 Core probe").click()
    expect(phone.locator("main")).to_contain_text("grown 4 times in a row")
    expect(phone.locator("main")).to_contain_text("out of use")
    drawn = phone.get_by_role("img", name="How far P2 was off")
    expect(drawn).to_have_js_property("complete", value=True)
    assert drawn.evaluate("image => image.naturalWidth") > 0
    looks_right(phone)
    touches = phone.get_by_role("link", name="What this touches")
    touches.last.click()  # the ice point; the boiling point after it stands above
    sections = phone.locator("section.sheet")
    expect(sections).to_have_count(2)
    looks_right(phone)
    expect(sections.nth(0)).to_contain_text("B10")
    expect(sections.nth(1)).to_contain_text("B11")
    expect(sections.nth(1)).to_contain_text("Heat, P2: met")
    expect(sections.nth(1)).to_contain_text("becomes not shown")


def test_an_adjustment_is_written_down_with_what_was_left(phone):
    phone.goto("/instruments/H1/check/")
    looks_right(phone)
    phone.locator("#id_shown").fill("35.0")
    phone.get_by_label("adjusted it").check()
    phone.get_by_text("After adjusting", exact=True).click()
    phone.get_by_label("After adjusting it showed").fill("32.0")
    phone.get_by_label("minutes later").fill("1")
    phone.get_by_label("Checked at").fill("2025-09-02T07:00")
    looks_right(phone)
    phone.get_by_role("button", name="Record the check").click()
    expect(phone.locator("main")).to_contain_text("What this touches")
    expect(phone.locator("main")).to_contain_text("not accepted")
    phone.get_by_role("link", name="All checks of H1").click()
    expect(phone.locator("main")).to_contain_text("as left")


def test_a_boiling_point_that_shows_nothing_is_asked_about(phone):
    phone.goto("/instruments/H1/check/?method=boiling-point")
    looks_right(phone)
    expect(phone.locator("main")).to_contain_text("Plain water at a rolling boil")
    phone.locator("#id_shown").fill("212.0")
    phone.get_by_role("button", name="Record the check").click()
    expect(phone.locator("main")).to_contain_text("may be within the tolerance or not")
    looks_right(phone)
    phone.get_by_label("The barometer here shows").fill("29.24")
    phone.get_by_role("button", name="Record the check").click()
    expect(phone.locator("main")).to_contain_text("accepted. Recorded")
    phone.goto("/instruments/H1/check/?method=reference")
    looks_right(phone)
    assert phone.complaints == []
