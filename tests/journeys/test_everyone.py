"""Pages that everyone can use: no serious finding of axe-core, and nothing but the keyboard.

axe-core (Deque, MPL-2.0) comes with the package axe-playwright-python; its rules are of WCAG 2.
"""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

PAGES = ("", "log", "bring-in", "references", "teach")
OF_A_SESSION = ("", "/trials/sin-0.04", "/trials/step-right", "/read")
GRAVE = ("serious", "critical")
DIFFICULT = "DEMO-TWO-SIDED"


def findings(page):
    """What axe-core finds that is serious, each with the first element."""
    answer = Axe().run(page)
    return [
        f"{one['id']}: {one['help']}: {one['nodes'][0]['html'][:200]}"
        for one in answer.response["violations"]
        if one["impact"] in GRAVE
    ]


def settled(page):
    expect(page.get_by_role("main")).to_be_visible()
    page.wait_for_load_state("networkidle")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("path", PAGES)
def test_no_page_has_a_serious_fault(measured_demo, open_page, path, scheme):
    visitor = open_page(measured_demo, color_scheme=scheme)
    visitor.page.goto(f"{measured_demo.base}/{path}")
    settled(visitor.page)
    assert findings(visitor.page) == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_page_of_a_difficult_session_has_a_serious_fault(measured_demo, open_page, scheme):
    visitor = open_page(measured_demo, color_scheme=scheme)
    visitor.opens_session(DIFFICULT)
    session = f"{measured_demo.base}/sessions/{visitor.session_id()}"
    for path in OF_A_SESSION:
        visitor.page.goto(session + path)
        settled(visitor.page)
        assert (path, findings(visitor.page)) == (path, [])
    for tab in ("Correct", re.compile("Edits")):
        visitor.page.goto(f"{session}/trials/sin-0.04")
        visitor.page.get_by_role("tab", name=tab).click()
        assert findings(visitor.page) == []


def test_a_session_is_reached_and_its_traces_moved_by_keyboard_alone(measured_demo, open_page):
    visitor = open_page(measured_demo, name=None)
    page = visitor.page
    link = page.get_by_role("table", name=f"Sessions of {DIFFICULT}").get_by_role("link")
    expect(link.first).to_be_visible()
    for _ in range(60):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.getAttribute('href') || ''").startswith("/sess"):
            break
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Statements")).to_be_visible()
    visitor.opens_trial("sin-0.04")
    in_view = page.get_by_text(re.compile("in view")).locator("..")
    whole = in_view.inner_text()
    page.keyboard.press("+")
    page.keyboard.press("+")
    expect(in_view).not_to_have_text(whole)


@pytest.mark.parametrize("size", [(1280, 720), (3840, 2160)])
def test_no_page_scrolls_sideways(measured_demo, open_page, size):
    visitor = open_page(measured_demo, name=None)
    visitor.page.set_viewport_size({"width": size[0], "height": size[1]})
    visitor.opens_session(DIFFICULT)
    session = f"/sessions/{visitor.session_id()}"
    for path in ("/", "/log", session, f"{session}/trials/sin-0.04", f"{session}/read"):
        visitor.page.goto(measured_demo.base + path)
        settled(visitor.page)
        wide = visitor.page.evaluate("document.documentElement.scrollWidth - innerWidth")
        assert (path, wide) == (path, min(wide, 0))


def test_dates_and_decimals_follow_the_reader_s_language(measured_demo, open_page):
    visitor = open_page(measured_demo, name=None, locale="de-DE")
    visitor.opens_session(DIFFICULT)
    visitor.opens_trial("sin-0.04")
    page = visitor.page
    expect(page.get_by_role("table", name="Measures of sin-0.04")).to_contain_text(
        re.compile(r"\d,\d")
    )
