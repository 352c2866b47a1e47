"""A real browser on the real server; what stands in the way of one is said, in CI it is a fault."""

import os
import shutil
import time

import pytest
from playwright.sync_api import sync_playwright

from tests.journeys.house import Visitor
from tests.journeys.serving import Served

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "microsoft-edge")
QUIET = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
)  # fmt: skip


def browser_path():
    """The distribution's browser; skips (in CI: fails) without one."""
    found = next((path for name in BROWSERS if (path := shutil.which(name))), None)
    if found is None:
        told = "no Chromium on this machine: install the distribution's package chromium"
        if os.environ.get("CI") == "true":
            pytest.fail(told)
        pytest.skip(told)
    return found


@pytest.fixture(scope="session")
def browser():
    path = browser_path()
    with sync_playwright() as playwright:
        yield playwright.chromium.launch(executable_path=path, args=list(QUIET))


@pytest.fixture(scope="session")
def demo_server(tmp_path_factory):
    """A server with the demo patients, for journeys that change nothing or their own trial."""
    server = Served(tmp_path_factory.mktemp("demo") / "data")
    yield server
    server.stop()


@pytest.fixture
def empty_server(tmp_path):
    server = Served(tmp_path / "data", "--no-demo")
    yield server
    server.stop()


@pytest.fixture
def open_page(browser):
    """Open a server in a context of its own; what the page complains of fails the test."""
    contexts, complaints = [], []

    def opened(server, *, name="R. Doe, audiologist", **options):
        usual = {"viewport": {"width": 1280, "height": 720}, "locale": "en-GB"}
        context = browser.new_context(**{**usual, **options})
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: complaints.append(f"error on the page: {error}"))
        page.on("console", lambda said: _complained(said, complaints))
        page.goto(server.address)
        visitor = Visitor(page, server)
        if name:
            visitor.is_called(name)
        return visitor

    yield opened
    for context in contexts:
        context.close()
    assert complaints == []


def _complained(said, complaints):
    """Breaches of the content security policy; refused calls are what some journeys are about."""
    if said.type == "error" and "Failed to load resource" not in said.text:
        complaints.append(said.text)


@pytest.fixture(scope="session")
def measured_demo(demo_server, browser):
    """The same, once the demo patients are in."""
    page = browser.new_page()
    page.goto(demo_server.address)
    until = time.monotonic() + 180.0
    while time.monotonic() < until:
        told = page.evaluate(ABOUT, demo_server.token)
        if told["demo"] and told["demo_job"] is None:
            break
        time.sleep(0.3)
    page.close()
    return demo_server


ABOUT = """token => fetch("/api/about", {headers: {Authorization: `Bearer ${token}`}})
    .then(answer => answer.json())"""
