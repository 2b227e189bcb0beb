"""The record that stands up, on a phone: a probe fails, food is held, decided, read, signed."""

import io
import re

import pytest
from django.core.management import call_command
from django.db import connection
from playwright.sync_api import expect

from batches import models
from batches.demo.story import season
from tests.browser.conftest import PHONE
from tests.browser.test_show import can_be_hit, stays_inside
from tests.lowered import lowered

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]

WHO_DECIDES = "decided by your inspector"
IN_DOUBT = ("B11R", "B12")  # read with P3 between its checks of 28 July and 4 August
PAGES = (
    "/",
    "/more/",
    "/deviations/",
    "/deviations/8/",
    "/deviations/8/answer/evidence/",
    "/batches/B10/release/",
    "/batches/B10/hold/",
    "/batches/B10/deviation/",
    "/review/",
    "/batches/B11/review/",
    "/review/weeks/2025-08-25/",
    "/laboratory/",
    "/instruments/P2/",
    "/instruments/P3/check/",
    "/instruments/P3/use/",
    "/records/",
    "/records/sanitation/add/",
    "/records/training/add/",
    "/trail/",
    "/trail/verified/",
    "/people/",
    "/people/add/",
    "/me/",
    "/links/",
    "/links/add/",
    "/keeping/",
)
DISCLOSURES = """() => [...document.querySelectorAll("main summary")]
  .filter(each => each.offsetParent !== null)
  .map(each => [each.innerText, each.getBoundingClientRect().height])
  .filter(([, height]) => height < 44)"""


def looks_right(page):
    stays_inside(page)
    can_be_hit(page)
    assert page.evaluate(DISCLOSURES) == [], page.url


def fail_the_ice_point(phone):
    phone.goto("/instruments/P3/check/")
    looks_right(phone)
    phone.locator("#id_shown").fill("35.2")
    phone.get_by_label("Checked at").fill("2025-08-01T06:40")
    phone.get_by_role("button", name="Record the check").click()
    expect(phone.get_by_role("heading", name="What this touches")).to_be_visible()
    expect(phone.locator(".subtitle")).to_contain_text("not accepted")


def see_which_batches_reopen(phone):
    sections = phone.locator("section.sheet")
    expect(sections).to_have_count(len(IN_DOUBT))
    for section, code in zip(sections.all(), IN_DOUBT, strict=True):
        expect(section.get_by_role("heading")).to_contain_text(code)
        expect(section).to_contain_text("Instruments, P3: met")
    expect(phone.get_by_text("becomes missed")).to_have_count(len(IN_DOUBT))
    expect(phone.get_by_text(WHO_DECIDES)).to_be_visible()
    looks_right(phone)


def contain_by_one_tap(phone):
    phone.get_by_role("button", name="Contain B12").click()
    expect(phone.get_by_role("status")).to_contain_text("Contained: B12")
    expect(phone.get_by_role("button", name="Contain B12")).to_have_count(0)
    phone.get_by_role("button", name="Contain all that are in doubt").click()
    expect(phone.get_by_role("status")).to_contain_text("B11R, B12")
    expect(phone.get_by_role("button", name=re.compile("Contain"))).to_have_count(0)
    looks_right(phone)
    phone.goto("/")
    expect(phone.locator("h2").first).to_have_text("Deviations")
    for code in IN_DOUBT:
        held = phone.locator("li", has_text=f"{code} ·").first
        expect(held).to_contain_text("on hold")
    looks_right(phone)


def decide_and_close(phone):
    """Decide about the food of B12, find the cause, and close its deviation."""
    phone.locator("li", has_text="B12 ·").first.get_by_role("link").last.click()
    expect(phone.locator(".subtitle")).to_contain_text("Batch B12")
    address = phone.url
    looks_right(phone)
    close_it(phone, "Too early.")
    expect(phone.get_by_role("alert")).to_be_visible()
    phone.goto(f"{address}answer/containment/")
    phone.get_by_label("What was done or found").fill("Counted in the cooler.")
    phone.get_by_label("Packages").fill("19")
    phone.get_by_role("button", name="Record").click()
    expect(phone.get_by_role("status")).to_contain_text("It is on record")
    phone.get_by_role("link", name="Decide", exact=True).click()
    phone.get_by_label("Destroy").check(force=True)
    phone.get_by_label("Packages").fill("19")
    phone.locator("#id_reason").fill("The cold spot is not shown.")
    looks_right(phone)
    phone.get_by_role("button", name="Record the decision").click()
    expect(phone.get_by_role("status")).to_contain_text("The decision is on record")
    for kind, text in (
        ("disposition", "19 packages bleached and thrown away."),
        ("cause", "A kinked cable, replaced."),
    ):
        phone.goto(f"{address}answer/{kind}/")
        phone.get_by_label("What was done or found").fill(text)
        looks_right(phone)
        phone.get_by_role("button", name="Record").click()
        expect(phone.get_by_role("status")).to_contain_text("It is on record")
    close_it(phone, "Destroyed, and the cable is new.")
    expect(phone.get_by_role("status")).to_contain_text("is closed")
    expect(phone.locator(".subtitle")).to_contain_text("closed")
    expect(phone.get_by_text("Decided: destroy")).to_be_visible()
    looks_right(phone)


def close_it(phone, why):
    phone.get_by_role("link", name="Close it", exact=True).first.click()
    phone.get_by_label("yes", exact=True).check(force=True)
    phone.get_by_label("Why it can be closed").fill(why)
    looks_right(phone)
    phone.get_by_role("button", name="Close it").click()


def sign_the_review(phone, path):
    """A wrong password signs nothing; the right one does."""
    phone.goto(path)
    looks_right(phone)
    expect(phone.get_by_text(WHO_DECIDES)).to_be_visible()
    already = models.Review.objects.count()
    for password, signed in (("wrong", already), (_password(), already + 1)):
        phone.get_by_label("Your name and function").fill("Ida Fenwarren, owner")
        phone.get_by_label("Your password again").fill(password)
        phone.get_by_role("button", name="Sign the review").click()
        if signed == already:
            says_what_is_wrong(phone)
        else:
            expect(phone.get_by_role("status").first).to_contain_text("signed")
        assert models.Review.objects.count() == signed
        looks_right(phone)


def says_what_is_wrong(phone):
    """It is said above everything, holds the focus, and leads to the field."""
    wrong = phone.locator("#wrong")
    expect(wrong).to_contain_text("This is not your password")
    expect(wrong).to_be_focused()
    expect(wrong).to_be_in_viewport()
    wrong.get_by_role("link", name="This is not your password").click()
    field = phone.get_by_label("Your password again")
    expect(field).to_be_focused()
    expect(field).to_be_in_viewport()


def _password():
    return season()["producer"]["password"]


def test_a_failed_check_is_contained_decided_reviewed_and_signed(phone):
    fail_the_ice_point(phone)
    see_which_batches_reopen(phone)
    contain_by_one_tap(phone)
    decide_and_close(phone)
    sign_the_review(phone, "/batches/B12/review/")
    sign_the_review(phone, "/review/weeks/2025-08-25/")
    assert "as it was written" in verified()
    left = [
        line for line in phone.complaints if "400" not in line and "422" not in line
    ]
    assert left == []


@pytest.mark.parametrize("phone", [False], indirect=True)
def test_without_script_too_what_is_wrong_is_said_above_everything(phone):
    sign_the_review(phone, "/batches/B15/review/")


def verified(*, exits=None):
    """Return what ``verify_trail`` prints, and hold it to the way it ends."""
    said = io.StringIO()
    if exits is None:
        call_command("verify_trail", stdout=said)
    else:
        with pytest.raises(SystemExit) as ended:
            call_command("verify_trail", stdout=said)
        assert ended.value.code == exits
    return said.getvalue()


def test_an_edit_by_hand_is_named_on_the_phone_and_at_the_terminal(phone):
    assert "as it was written" in verified()
    phone.goto("/trail/verified/")
    expect(phone.locator(".say--met")).to_contain_text("Every row is as it was written")
    row = models.Reading.objects.filter(batch__code="B12", step="heating").first()
    with lowered(), connection.cursor() as cursor:
        cursor.execute(
            "UPDATE batches_reading SET value = '199.9' WHERE id = %s", [row.pk]
        )
        assert cursor.rowcount == 1
    said = verified(exits=1)
    assert "BROKEN in 1 place" in said
    assert f"batches.Reading {row.pk}" in said
    assert "199.9" in said
    phone.reload()
    expect(phone.locator(".say--missed")).to_contain_text("1 thing does not fit")
    expect(phone.locator(".rows")).to_contain_text(f"batches.Reading {row.pk}")
    looks_right(phone)


def test_an_inspector_reads_by_a_link_and_does_nothing_else(
    phone, chromium, season_server
):
    phone.goto("/links/add/")
    phone.get_by_label("For whom").fill("N. N., county health")
    phone.get_by_label("One batch").select_option("B11")
    phone.get_by_role("button", name="Make the link").click()
    link = phone.get_by_label("The link, to copy")
    expect(link).to_be_visible()
    looks_right(phone)
    address = link.input_value()
    fresh = chromium.new_context(
        viewport=PHONE, base_url=season_server.url, has_touch=True, is_mobile=True
    )
    page = fresh.new_page()
    page.goto(address)
    looks_right(page)
    expect(page.get_by_text(WHO_DECIDES)).to_be_visible()
    expect(page.locator("main form")).to_have_count(0)
    page.get_by_role("link", name="B11 ·").click()
    expect(
        page.get_by_role("heading", name="Deviations and what was done")
    ).to_be_visible()
    stays_inside(page)
    expect(page.locator("form, button, input")).to_have_count(0)
    for path in (*PAGES, "/batches/B11/"):
        page.goto(path)
        expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
    fresh.close()


@pytest.mark.parametrize("theme", ["paper", "sun"])
def test_every_page_of_the_record_fits_a_phone_and_says_who_decides(phone, theme):
    if theme == "sun":
        phone.get_by_role("button", name="High contrast for sunlight").click()
        expect(phone.locator("html")).to_have_attribute("data-theme", "sun")
    product = models.Batch.objects.get(code="B01").product
    for path in (*PAGES, f"/products/{product.pk}/salt/"):
        response = phone.goto(path)
        assert response.status == 200, path
        looks_right(phone)
        expect(phone.get_by_text(WHO_DECIDES).first).to_be_visible()
    assert phone.complaints == []
