"""A real Chromium on a live server. Pages are opened as a person and checked with axe."""

import logging
import os
import shutil
from collections.abc import Callable
from time import monotonic

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from django.contrib.staticfiles.handlers import StaticFilesHandler
from django.test import Client
from playwright.sync_api import BrowserContext, Page, sync_playwright
from playwright.sync_api import Error as PageError
from whitenoise import WhiteNoise

from core.services import jobs
from fieldwork.views import phone
from tests.needs import missing

# The one without windows draws pages alike and opens each in a third of the time.
CHROMIUM = next(
    filter(None, map(shutil.which, ("chromium-headless-shell", "chromium", "chromium-browser"))), None
)
ARGUMENTS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
PHONE = {"width": 390, "height": 844}
DESK = {"width": 1280, "height": 900}
PASSWORD = "a-long-password-1"
COLOURS = {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}
# What else axe tells of is a hundred times as much, to be carried here from the page each time.
VIOLATIONS = """async (options) =>
  (await axe.run(options)).violations.map(({ id, nodes }) => ({
    id, html: nodes.slice(0, 3).map(({ html }) => html.slice(0, 120)),
  }))"""
FAILED = pytest.StashKey[bool]()
logger = logging.getLogger(__name__)
PATIENCE_MS = 300_000  # what a loaded machine may take; nothing waits so long unless something is wrong

WATCHED_MS = 5_000  # so long do clocks on a page run as they are drawn

# The browser's driver keeps an event loop in the test's thread; the tests still use the database there.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"


def pytest_collection_modifyitems(items):
    for item in items:
        if "/browser/" in str(item.path):
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def chromium():
    """The system's Chromium; its absence fails where CI=true and skips elsewhere."""
    if CHROMIUM is None:
        missing("Chromium (package chromium-headless-shell)")
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=list(ARGUMENTS), timeout=PATIENCE_MS)
        yield browser
        browser.close()


@pytest.fixture(autouse=True, scope="session")
def files_are_kept():
    """Let the browser keep what it once fetched of our static files, as it does with those a firm's server names by
    their contents. The tests' clock is months behind the browser's, so it takes nothing for fresh by itself, and
    would ask again for each of some fifty files with each page.
    """
    serve = StaticFilesHandler.serve

    def kept(self, request):
        response = serve(self, request)
        response["Cache-Control"] = f"max-age={WhiteNoise.FOREVER}, public, immutable"
        return response

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(StaticFilesHandler, "serve", kept)
        yield


@pytest.fixture
def keeps_pages():
    """For tests that go where there is no signal: what a phone keeps is listed as it is."""


@pytest.fixture(autouse=True)
def kept_where_asked(request, monkeypatch):
    """Elsewhere a browser hears that nothing is to be kept: a new one takes three seconds of a core to fetch it all."""
    if "keeps_pages" not in request.fixturenames:
        monkeypatch.setattr(phone, "kept_pages", lambda *asked: [])
        monkeypatch.setattr(phone, "shell_files", tuple)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item, call):
    report = yield
    if call.when == "call":
        item.stash[FAILED] = report.failed
    return report


@pytest.fixture
def open_page(chromium, live_server, request):
    """Opens a page as a person (None: as a stranger), on a phone unless told otherwise; errors on it fail the test."""
    contexts, troubles = [], []

    def opened(user=None, path="/", *, size=PHONE, **options) -> Page:
        given = {"locale": "en-GB", "timezone_id": "UTC"} | options  # else those of the machine
        context = chromium.new_context(base_url=live_server.url, viewport=size, **given)
        context.set_default_timeout(PATIENCE_MS)
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: troubles.append(str(error)))
        if user is not None:
            let_in(context, user, live_server.url)
        page.goto(path)
        if options.get("java_script_enabled", True):
            settle(page)
        return page

    yield opened
    if request.node.stash.get(FAILED, True):
        tell_what_was_open(contexts)
    for context in contexts:
        context.close()
    assert troubles == []


def tell_what_was_open(contexts) -> None:
    """Log address and words of every page: on another machine they are all there is to see why a test failed."""
    for page in [page for context in contexts for page in context.pages]:
        logger.error("open at the end: %s\n%s", page.url, page.locator("body").inner_text()[:3000])


@pytest.fixture
def workers_elsewhere(monkeypatch):
    """What is asked for waits for a worker, as in a firm's server: nobody who saves waits for a forecast."""
    monkeypatch.setattr(jobs, "_deliver", [lambda label, pk: None])
    monkeypatch.setattr(jobs, "_deliver_beside", [lambda label, pk: None])


def settle(page: Page) -> None:
    """Wait until the page is whole and its scripts have taken hold of it."""
    page.wait_for_load_state("load")
    page.locator("html[data-ready]").wait_for(state="attached")


def until(page: Page, expression: str, arg: object = None) -> None:
    """Wait for a condition of the page. Playwright's own way evaluates a text in the page, which our policy forbids."""
    end = monotonic() + PATIENCE_MS / 1000
    while not _holds(page, expression, arg):
        assert monotonic() < end, f"Not within {PATIENCE_MS / 1000:g} s: {expression}"
        page.wait_for_timeout(50)


def _holds(page: Page, expression: str, arg: object) -> bool:
    """Whether it does; not yet where the page gives way to the next one while it is asked."""
    try:
        return bool(page.evaluate(expression, arg))
    except PageError as error:
        if "Execution context was destroyed" in error.message:
            return False
        raise


def press(page: Page, name: str, role: str = "button") -> None:
    """Press what leads to another page, and wait until that one is whole."""
    with page.expect_navigation():
        page.get_by_role(role, name=name).click()


def sit_out(page: Page, seconds: float) -> None:
    """Let time pass by the page's own clock: first as a phone that sleeps in the pocket, then as one that is watched.

    To draw every tenth of a second of ten minutes takes a browser longer than all else that a test does with it.
    """
    all_ms = round(seconds * 1000)
    asleep_ms = max(0, all_ms - WATCHED_MS)
    if asleep_ms:
        page.clock.fast_forward(asleep_ms)
    page.clock.run_for(all_ms - asleep_ms)


def to_step(page: Page, name: str | None = None) -> None:
    """To a step of a long form by its name, or to the last one, where the form is sent."""
    settle(page)
    names = page.get_by_role("navigation", name="Steps of this form").get_by_role("button")
    (names.filter(has_text=name) if name else names.last).click()


def let_in(context: BrowserContext, user, url: str) -> None:
    """Give the browser the session of somebody who has signed in; test_sign_in_again.py goes through the form."""
    client = Client()
    client.force_login(user)
    name = settings.SESSION_COOKIE_NAME
    context.add_cookies([{"name": name, "value": client.cookies[name].value, "url": url}])


def sign_in(page: Page, user, password: str = PASSWORD) -> None:
    """Through the form, as a person does it."""
    page.get_by_label("Email").first.fill(user.email)
    page.get_by_label("Password", exact=True).fill(password)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(lambda url: "/login" not in url)


@pytest.fixture
def accessible() -> Callable[[Page], None]:
    """Fails with what axe finds on a page as it stands now."""
    script = f"'axe' in window || (() => {{ {Axe().axe_script} }})()"  # once is enough for each page

    def check(page: Page, **options) -> None:
        settle(page)
        page.evaluate(script)
        found = page.evaluate(VIOLATIONS, {"resultTypes": ["violations"]} | options)
        assert [f"{v['id']}: {v['html']}" for v in found] == [], page.url

    return check


@pytest.fixture
def accessible_by_day_and_night(accessible) -> Callable[[Page], None]:
    """The same in the colours of both schemes, which one page shows one after the other."""

    def check(page: Page) -> None:
        # Without motion, so that no colour is on its way to another while axe looks.
        page.emulate_media(color_scheme="light", reduced_motion="reduce")
        accessible(page)
        page.emulate_media(color_scheme="dark", reduced_motion="reduce")
        accessible(page, runOnly=COLOURS)  # nothing else differs

    return check
