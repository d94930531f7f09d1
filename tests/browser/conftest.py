"""A real browser for the pages: Debian's Chromium, driven by Playwright.

Without the browser these tests are skipped, unless `LAYERCUT_BROWSER=required` (as in .ci/run): then they fail with a
sentence that says how to install it. `LAYERCUT_BROWSER` may also hold the path of a Chromium.
"""

import os
import shutil
from collections.abc import Iterator
from dataclasses import dataclass, field
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, Route, sync_playwright

NAMES = ("chromium", "chromium-browser")
HOW_TO = (
    "the browser tests need Chromium, and none was found: install it ('sudo apt-get install chromium' on Debian), or "
    "set LAYERCUT_BROWSER to the path of one"
)
# What a browser does of its own accord is none of the pages' business, and must not disturb their tests.
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
LOCAL_SCHEMES = {"file", "data", "blob", "about"}
LOOPBACK = {"127.0.0.1", "localhost", "::1"}


@dataclass
class Watch:
    """What a page did that it shouldn't have: errors on its console, requests that leave the machine.

    `allowed` holds parts of console errors that a test provokes on purpose.
    """

    errors: list[str] = field(default_factory=list)
    requests: list[str] = field(default_factory=list)
    allowed: list[str] = field(default_factory=list)

    def problems(self) -> list[str]:
        errors = [error for error in self.errors if not any(part in error for part in self.allowed)]
        return errors + [f"outside request: {url}" for url in self.requests]


def _chromium() -> str | None:
    named = os.environ.get("LAYERCUT_BROWSER", "")
    if named not in {"", "required"}:
        return shutil.which(named)
    return next((path for name in NAMES if (path := shutil.which(name))), None)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One Chromium for all tests of a run."""
    path = _chromium()
    if path is None:
        if os.environ.get("LAYERCUT_BROWSER"):
            pytest.fail(HOW_TO, pytrace=False)
        pytest.skip(HOW_TO)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        yield browser
        browser.close()


@pytest.fixture
def watch() -> Watch:
    """What the pages of this test must not do; looked at when the test is over."""
    return Watch()


@pytest.fixture
def context(browser: Browser, watch: Watch) -> Iterator[BrowserContext]:
    """A fresh context, watched: every page opened in it may only talk to this machine and say nothing bad."""
    context = browser.new_context()
    context.set_default_timeout(10_000)
    context.route("**/*", lambda route: _let_through(route, watch))
    context.on("console", lambda message: _heard(message, watch))
    context.on("weberror", lambda error: watch.errors.append(f"uncaught: {error.error}"))
    yield context
    context.close()
    assert watch.problems() == []


@pytest.fixture
def page(context: BrowserContext) -> Page:
    """A fresh page; the test fails in the end if it wrote an error to its console or asked anything outside."""
    return context.new_page()


def _let_through(route: Route, watch: Watch) -> None:
    url = urlsplit(route.request.url)
    if url.scheme in LOCAL_SCHEMES or url.hostname in LOOPBACK:
        route.continue_()
    else:
        watch.requests.append(route.request.url)
        route.abort()


def _heard(message: ConsoleMessage, watch: Watch) -> None:
    if message.type == "error":
        watch.errors.append(f"console: {message.text}")
