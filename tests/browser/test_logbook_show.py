"""The records beside the batches on a phone: a round without script, and everything in one file."""

import io
import zipfile
from pathlib import Path

import pytest
from playwright.sync_api import expect

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]
TAP = 44
PAGES = (
    "/records/",
    "/records/sanitation/add/",
    "/records/complaints/",
    "/records/documents/add/",
    "/records/sanitation/conditions/",
    "/keeping/",
)
TOO_LOW = """least => [...document.querySelectorAll(
    'main .press, main button, main input:not([type=hidden], [type=radio]), main select'
)].map(each => [each.outerHTML.slice(0, 90), each.getBoundingClientRect().height])
.filter(([, height]) => height > 0 && height < least)"""


@pytest.mark.parametrize("phone", [False], indirect=True, ids=["without script"])
def test_round_of_sanitation_asks_what_was_done_only_where_it_was_bad(phone):
    phone.goto("/records/")
    phone.get_by_role("link", name="Add a round of sanitation").click()
    phone.get_by_role("link", name="During work").click()
    hands = phone.get_by_role("group", name="Hand-washing and toilets")
    done = hands.get_by_label("What was wrong, and what was done")
    expect(done).to_be_hidden()
    hands.get_by_label("not good").check(force=True)
    expect(done).to_be_visible()
    phone.get_by_role("group", name="What food touches").get_by_label(
        "good", exact=True
    ).check(force=True)
    phone.get_by_role("button", name="Record").click()
    expect(phone.get_by_text("say what was wrong and what was done")).to_be_visible()
    done.fill("Soap was empty, filled.")
    phone.get_by_role("button", name="Record").click()
    expect(phone.get_by_text("Recorded: During work.")).to_be_visible()
    first = phone.locator("li.rows__row").first
    expect(first).to_contain_text("Hand-washing and toilets: Soap was empty, filled.")
    expect(first).to_contain_text("Not looked at: Raw and ready kept apart")


def test_pages_fit_a_phone_and_are_easy_to_hit(phone):
    for address in PAGES:
        phone.goto(address)
        assert phone.evaluate("document.documentElement.scrollWidth") == 390, address
        assert phone.evaluate(TOO_LOW, TAP) == [], address
        assert phone.complaints == [], address


def test_owner_takes_everything_home(phone):
    phone.goto("/keeping/")
    with phone.expect_download(timeout=120_000) as coming:
        phone.get_by_role("button", name="Export everything").click()
    data = Path(coming.value.path()).read_bytes()
    with zipfile.ZipFile(io.BytesIO(data)) as zipped:
        assert zipped.testzip() is None
        assert "batches/B07.json" in zipped.namelist()
        assert zipped.read("records/B07.pdf").startswith(b"%PDF-")
