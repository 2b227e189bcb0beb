"""The whole job on a phone, with script and without, and that nothing is out of reach."""

import re
from datetime import UTC, datetime, timedelta

import pytest
from playwright.sync_api import expect

from batches import models

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]

READINGS = ("104.5", "118.0", "131.5", "146.2", "147.0")
SMALLEST_TARGET_PX = 24  # WCAG 2.2, 2.5.8
THUMB_PX = 44
MAIN_PX = 60

TARGETS = """
() => [...document.querySelectorAll("a, button, summary, input, select, textarea")]
  .filter(e => e.offsetParent !== null && e.type !== "hidden" && !e.closest(".skip"))
  .map(e => {
    const box = (e.closest("label") || e).getBoundingClientRect();
    return [e.className, (e.innerText || e.name || "").trim(), box.width, box.height];
  })
"""


def logger_file(folder):
    """Write a logger's file of the last hour, in a format that raises one question."""
    start = datetime.now(UTC).replace(second=0, microsecond=0) - timedelta(hours=1)
    lines = ["Time;Core P1"]
    lines += [
        f"{start + timedelta(minutes=10 * row):%Y-%m-%dT%H:%M:%SZ};{40 + 5 * row},0"
        for row in range(6)
    ]
    path = folder / "smoker.csv"
    path.write_text("\n".join(lines) + "\n", "utf-8")
    return path


def stays_inside(page):
    """Nothing is wider than the phone. Ask only once the page that is meant is there."""
    width, seen = page.evaluate(
        "() => [document.documentElement.scrollWidth, window.innerWidth]"
    )
    assert width <= seen, f"{page.url} is {width} px wide on {seen} px"


def can_be_hit(page):
    for kind, text, width, height in page.evaluate(TARGETS):
        least = SMALLEST_TARGET_PX
        if "press--main" in kind or "pad__key" in kind:
            least = MAIN_PX
        elif "press" in kind:
            least = THUMB_PX
        assert height >= least, f"{page.url}: {text!r} is {height} px high"
        assert width >= SMALLEST_TARGET_PX, f"{page.url}: {text!r} is {width} px wide"


def read_why_cooling_failed(page):
    page.get_by_role("link", name="Batches", exact=True).click()
    row = page.locator("li", has_text="B07")
    expect(row.locator(".status")).to_have_text("missed")
    row.get_by_role("link").click()
    say = page.locator(".say--missed").first
    expect(say).to_contain_text("took between 120 and 180 min")
    expect(say).to_contain_text("United States Food and Drug Administration")
    expect(page.get_by_text("decided by your inspector").first).to_be_visible()


def start_a_batch(page):
    page.goto("/")
    page.get_by_role("link", name="Start a batch").click()
    page.get_by_label("Product").select_option(index=1)
    page.get_by_label("Batch code").fill("T01")
    page.get_by_role("button", name="Start the batch").click()
    expect(page.get_by_role("status")).to_contain_text("Batch T01 is started")


def start_heating(page):
    page.goto("/batches/T01/step/?step=heating&edge=start")
    page.get_by_role("button", name="Record").click()
    expect(page.get_by_role("status")).to_contain_text("Heat: start recorded")


def import_the_file(page, path):
    page.get_by_role("link", name="Import a logger’s file").click()
    page.get_by_label("The logger’s file").set_input_files(path)
    page.get_by_role("button", name="Look at it").click()
    expect(page.get_by_text("Nothing is stored yet")).to_be_visible()
    page.get_by_label("°F").check()
    page.get_by_role("button", name="Look again").click()
    expect(page.get_by_label("What it measured")).to_be_visible()
    stays_inside(page)
    page.get_by_label("Step").select_option("heating")
    page.get_by_label("What it measured").select_option("core-temperature")
    page.get_by_role("button", name="Store it").click()
    expect(page.get_by_role("status")).to_contain_text("Stored: 1 series")


def download_the_record(page):
    link = page.get_by_role("link", name="Batch record (PDF)")
    response = page.request.get(link.get_attribute("href"))
    assert response.ok
    assert response.body().startswith(b"%PDF")


def test_the_job_with_script(phone, tmp_path):
    read_why_cooling_failed(phone)
    stays_inside(phone)
    can_be_hit(phone)
    phone.wait_for_function(
        "() => document.querySelector('.curve__image').naturalWidth > 0"
    )
    start_a_batch(phone)
    start_heating(phone)
    stays_inside(phone)
    phone.locator(".bar").get_by_role("link", name="Record").click()
    for value in READINGS:
        for key in value:
            name = "decimal point" if key == "." else key
            phone.get_by_role("button", name=name, exact=True).click()
        expect(phone.get_by_label("Core temperature")).to_have_value(value)
        phone.get_by_role("button", name="Record").click()
        expect(phone.get_by_role("status")).to_contain_text(f"Recorded {value} °F")
        expect(phone.get_by_label("Core temperature")).to_have_value("")
    stays_inside(phone)
    can_be_hit(phone)
    phone.get_by_role("link", name="T01").click()
    import_the_file(phone, logger_file(tmp_path))
    download_the_record(phone)
    assert phone.complaints == []
    batch = models.Batch.objects.get(code="T01")
    typed = [row.typed for row in batch.readings.order_by("pk")]
    assert typed == list(READINGS)
    assert batch.traces.get().count == 6


@pytest.mark.parametrize("phone", [False], indirect=True)
def test_the_job_without_script(phone, tmp_path):
    read_why_cooling_failed(phone)
    start_a_batch(phone)
    start_heating(phone)
    phone.locator(".bar").get_by_role("link", name="Record").click()
    expect(phone.locator("[data-pad]")).to_be_hidden()
    for value in READINGS:
        phone.get_by_label("Core temperature").fill(value)
        phone.get_by_role("button", name="Record").click()
        expect(phone.get_by_role("status")).to_contain_text(f"Recorded {value} °F")
    phone.get_by_role("link", name="T01").click()
    import_the_file(phone, logger_file(tmp_path))
    download_the_record(phone)
    assert models.Batch.objects.get(code="T01").readings.count() == len(READINGS)


def test_a_slip_is_refused_in_place_and_the_figure_is_still_there(phone):
    start_a_batch(phone)
    phone.goto("/batches/T01/record/heating/core-temperature/")
    for key in "1450":
        phone.get_by_role("button", name=key, exact=True).click()
    phone.get_by_role("button", name="Record").click()
    expect(phone.get_by_role("alert")).to_contain_text("Check the decimal point")
    expect(phone.get_by_label("Core temperature")).to_have_value("1450")
    phone.get_by_role("button", name="delete the last digit").click()
    expect(phone.get_by_label("Core temperature")).to_have_value("145")
    phone.get_by_role("button", name="Record").click()
    expect(phone.get_by_role("status")).to_contain_text("Recorded 145 °F")
    phone.get_by_role("button", name=re.compile("Take back 145 °F")).click()
    expect(phone.get_by_role("status")).to_contain_text("Taken back")
    assert models.Reading.objects.filter(batch__code="T01").count() == 2
    assert not models.Reading.objects.filter(batch__code="T01").current().exists()


def test_without_signal_it_says_that_nothing_was_recorded(phone):
    start_a_batch(phone)
    phone.goto("/batches/T01/record/heating/core-temperature/")
    phone.get_by_label("Core temperature").fill("131.5")
    phone.context.set_offline(True)
    phone.get_by_role("button", name="Record").click()
    expect(phone.get_by_role("status")).to_contain_text("nothing was recorded")
    expect(phone.get_by_label("Core temperature")).to_have_value("131.5")
    phone.context.set_offline(False)
    phone.get_by_role("button", name="Record").click()
    expect(phone.get_by_role("status")).to_contain_text("Recorded 131.5 °F")
    assert models.Reading.objects.filter(batch__code="T01").count() == 1


def test_one_tap_turns_on_the_colours_for_sunlight(phone):
    phone.get_by_role("button", name="High contrast for sunlight").click()
    expect(phone.locator("html")).to_have_attribute("data-theme", "sun")
    ground = "() => getComputedStyle(document.body).backgroundColor"
    assert phone.evaluate(ground) == "rgb(255, 255, 255)"
    phone.get_by_role("button", name="Back to the paper colours").click()
    expect(phone.locator("html")).to_have_attribute("data-theme", "paper")


def test_no_page_is_wider_than_the_phone_or_too_small_to_hit(phone):
    for path in [
        "/",
        "/batches/",
        "/batches/start/",
        "/batches/B07/",
        "/batches/B10/",
        "/batches/B07/statement/",
        "/batches/B07/lab-result/",
        "/batches/B07/import/",
        "/batches/B07/record/cooling/core-temperature/",
        "/lots/",
        "/lots/receive/",
        "/products/",
        "/products/add/",
        "/instruments/",
        "/instruments/add/",
        "/instruments/H1/check/",
    ]:
        phone.goto(path)
        stays_inside(phone)
        can_be_hit(phone)
    assert phone.complaints == []
