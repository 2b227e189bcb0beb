"""A phone: Debian's Chromium at the size of one, signed in to the demo season."""

import os
import shutil

import pytest
from playwright.sync_api import expect, sync_playwright

from batches.demo.load import load_demo
from batches.demo.story import season

# Playwright runs an event loop in this thread; the database is asked outside of it.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")

PHONE = {"width": 390, "height": 844}
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"]
PATIENCE_MS = 20_000


@pytest.fixture(scope="session")
def chromium():
    """Start the browser once; without one the tests fail and say what to type."""
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    if found is None:
        pytest.fail("No Chromium here. Type: apt-get install -y chromium")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=found, args=ARGUMENTS)
        yield browser
        browser.close()


@pytest.fixture
def season_server(live_server):
    """Serve the demo season."""
    load_demo()
    return live_server


@pytest.fixture
def phone(chromium, season_server, request):
    """Open a page on a phone, signed in; what the console says against us is kept."""
    has_script = getattr(request, "param", True)
    context = chromium.new_context(
        viewport=PHONE,
        java_script_enabled=has_script,
        has_touch=True,
        is_mobile=True,
        base_url=season_server.url,
        accept_downloads=True,
    )
    context.set_default_timeout(PATIENCE_MS)
    expect.set_options(timeout=PATIENCE_MS)
    page = context.new_page()
    page.complaints = []
    page.on("console", lambda said: _note(page, said))
    page.on("pageerror", lambda error: page.complaints.append(str(error)))
    sign_in(page)
    yield page
    context.close()


def _note(page, said):
    if said.type in {"error", "warning"}:
        page.complaints.append(said.text)


def sign_in(page):
    """Sign in as the owner of the demo season."""
    told = season()["producer"]
    page.goto("/")
    page.get_by_label("Sign-in name").fill(told["username"])
    page.get_by_label("Password").fill(told["password"])
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("heading", name="Now", exact=True)).to_be_visible()
