"""The teaching bench by keyboard, reference sets and their faults, a course with an event."""

import json
import re
import urllib.request

import pytest
from playwright.sync_api import expect

from slowphase.cli.demo_courses import COURSES, write_demo_course
from slowphase.store import Store
from tests.journeys.serving import Served
from tests.own_reference_set import OWN_SET

LONG_MS = 120_000


@pytest.fixture(scope="module")
def course_server(tmp_path_factory):
    folder = tmp_path_factory.mktemp("course")
    store = Store.open(folder / "data")
    demo = write_demo_course(next(iter(COURSES)), folder)
    for session in sorted(path for path in demo.iterdir() if path.is_dir()):
        store.add_session(session, by="R. Doe")
    store.close()
    server = Served(folder / "data", "--no-demo")
    yield server
    server.stop()


def numbers(page, trial):
    """The healthy value and this person's of the first gain of a trial."""
    table = page.get_by_role("table", name=re.compile("^Numbers of this person"))
    group = table.get_by_role("rowgroup").filter(has_text=re.compile(f"^{re.escape(trial)}"))
    row = group.get_by_role("row").filter(has_text=re.compile("^gain"))
    return [cell.inner_text() for cell in row.first.get_by_role("cell").all()]


def test_the_teaching_bench_answers_the_keyboard_and_says_that_it_is_no_patient(
    empty_server, open_page
):
    page = open_page(empty_server).page
    page.get_by_role("link", name="Teach").click()
    expect(page.get_by_text("teaching – no patient")).to_be_visible()
    steps = page.get_by_role("img", name=re.compile("^Velocity steps, R and L overlaid"))
    expect(steps).to_be_visible()
    healthy, person = numbers(page, "Sinusoidal rotation, 0.08 Hz")
    assert healthy == person

    slider = page.get_by_role("slider", name="Right labyrinth")
    slider.focus()
    for _ in range(4):
        page.keyboard.press("ArrowLeft")
    expect(slider).to_have_attribute("aria-valuetext", re.compile("^0.80 of"))
    page.keyboard.press("Home")
    expect(
        page.get_by_role("status").get_by_text(re.compile("two sides are apart"))
    ).to_be_visible()
    page.wait_for_function("performance.getEntriesByName('lesson drawn').length > 1")
    page.wait_for_timeout(500)
    same, weaker = numbers(page, "Sinusoidal rotation, 0.08 Hz")
    assert same == healthy
    assert float(weaker) < float(healthy)

    drowsy = page.get_by_role("button", name="Drowsy")
    drowsy.focus()
    page.keyboard.press("Enter")
    expect(drowsy).to_have_attribute("aria-pressed", "true")
    page.reload()
    expect(page.get_by_role("slider", name="Alertness")).to_have_value("0.2")


def test_a_patients_traces_are_laid_over_the_lesson(course_server, open_page):
    page = open_page(course_server).page
    page.get_by_role("link", name="Teach").click()
    page.get_by_label("Session", exact=True).select_option(index=1)
    matched = page.get_by_text(re.compile(r"^\d+ trials have their match"))
    expect(matched).to_be_visible(timeout=LONG_MS)
    assert int(matched.inner_text().split()[0]) >= 5
    expect(page.get_by_text(re.compile("no fit to it"))).to_be_visible()


def test_a_set_with_faults_is_refused_by_line_then_added_preferred_and_removed(
    empty_server, open_page
):
    page = open_page(empty_server).page
    page.get_by_role("link", name="References").click()
    page.get_by_label("Name of the file").fill("our own")
    text = page.get_by_label("Text of the set")
    text.fill(OWN_SET.replace("sd = 0.1", "sd = -0.1").replace("gain", "gian"))
    page.get_by_role("button", name="Look at it").click()
    faults = page.get_by_role("list", name="2 faults").get_by_role("listitem")
    expect(faults).to_have_count(2)
    expect(faults.nth(0)).to_contain_text("line 8")
    expect(faults.nth(1)).to_contain_text("line 12")
    expect(page.get_by_role("button", name="Add it", exact=True)).to_be_disabled()

    text.fill(OWN_SET)
    page.get_by_role("button", name="Look at it").click()
    expect(page.get_by_text("It can be read. Own sets with it: our-own.")).to_be_visible()
    page.get_by_role("button", name="Add it", exact=True).click()
    own = page.get_by_role("article", name="our-own")
    expect(own.get_by_text("Own sessions, 2026")).to_be_visible()

    for one in ("su-2000", "our-own"):
        page.get_by_role("combobox", name="Prefer a set…").select_option(one)
    page.get_by_role("button", name="Move our-own up").click()
    page.get_by_role("button", name="Save the order").click()
    expect(own.get_by_text("preferred, place 1")).to_be_visible()

    def takes_out():
        page.get_by_role("button", name="Take our-own.toml out of use").click()
        dialog = page.get_by_role("dialog")
        dialog.get_by_label("Reason").fill("another stimulus")
        dialog.get_by_role("button", name="Take it out").click()
        return dialog

    dialog = takes_out()
    expect(dialog.get_by_role("alert")).to_contain_text("our-own")
    dialog.get_by_role("button", name="Cancel").click()
    page.get_by_role("button", name="Prefer our-own no longer").click()
    page.get_by_role("button", name="Save the order").click()
    expect(own.get_by_text("preferred, place 1")).to_have_count(0)
    expect(takes_out()).to_be_hidden()
    expect(own).to_have_count(0)


def test_a_course_shows_an_event_once_it_is_noted_and_calls_no_change_real_without_retests(
    course_server, open_page
):
    visitor = open_page(course_server)
    page = visitor.page
    patient = asked(course_server, "/patients?find=")[0]
    visitor.follow(patient["code"])
    visitor.follow("Course over the sessions")
    frame = page.frame_locator(f"iframe[title='Course of {patient['code']}']")
    expect(frame.get_by_role("heading", name=re.compile(patient["code"]))).to_be_visible(
        timeout=LONG_MS
    )
    expect(page.get_by_text("Until it has, no difference is called a real change.")).to_be_visible()
    page.get_by_label("Date of the event").fill("2026-03-20")
    page.get_by_label("What happened").fill("first dose <b>high</b>")
    page.get_by_role("button", name="Add the event").click()
    shown = frame.get_by_text("first dose <b>high</b>")
    expect(shown.first).to_be_attached(timeout=LONG_MS)
    kept = asked(course_server, f"/patients/{patient['id']}/events")["events"]
    assert kept == [{"date": "2026-03-20", "label": "first dose <b>high</b>", "kind": "dose"}]

    page.get_by_label("Earlier session").select_option("2")
    page.get_by_label("Later session").select_option("3")
    expect(frame.get_by_role("heading", name="2026-03-06 against 2026-02-06").first).to_be_visible(
        timeout=LONG_MS
    )
    page.get_by_role("button", name=re.compile("^Remove the event first dose")).click()
    expect(page.get_by_text("No event is noted.")).to_be_visible()


def asked(server, path):
    """What the server answers, asked beside the browser."""
    headers = {"Authorization": f"Bearer {server.token}"}
    request = urllib.request.Request(f"{server.base}/api{path}", headers=headers)
    with urllib.request.urlopen(request) as answer:
        return json.load(answer)
