"""From the list of patients to a sample, and what a person changes on the way."""

import json
import re
import subprocess
import sys

import pytest
from playwright.sync_api import expect

ONE = "DEMO-ONE-SIDED"


def measure(document, id_):
    (trial,) = [trial for trial in document["trials"] if trial["id"] == id_.partition("/")[0]]
    return next(m for m in trial["measures"] if m["id"] == id_)


def test_without_its_token_the_page_says_what_to_open(measured_demo, browser):
    page = browser.new_page()
    page.goto(measured_demo.base)
    expect(page.get_by_role("heading", name="Open the address")).to_be_visible()
    expect(page.get_by_text(ONE)).to_have_count(0)
    page.close()


def test_the_token_does_not_stay_in_the_address(measured_demo, open_page):
    visitor = open_page(measured_demo)
    assert measured_demo.token not in visitor.page.url


def test_a_statement_leads_to_its_numbers_and_a_number_to_its_trace(measured_demo, open_page):
    visitor = open_page(measured_demo, name=None)
    visitor.opens_session(ONE)
    page = visitor.page
    statement = page.get_by_text(re.compile(r"Rests on \d+ numbers")).first
    statement.click()
    link = page.get_by_role("table", name="Numbers that it rests on").get_by_role("link").first
    link.click()
    expect(page.get_by_role("heading", name=re.compile("^Trial "))).to_be_visible()
    expect(page.get_by_role("group", name=re.compile("^Traces of "))).to_be_visible()


def test_an_interval_is_excluded_by_keyboard_undone_and_done_again(measured_demo, open_page):
    visitor = open_page(measured_demo)
    visitor.opens_session(ONE)
    visitor.opens_trial("sin-0.08")
    page, path = visitor.page, f"/sessions/{visitor.session_id()}"
    before = measure(visitor.asks(path)["document"], "sin-0.08/gain")
    visitor.turns_to("Correct")
    visitor.chooses(20, 46.5)
    visitor.press("Exclude it…")
    visitor.makes_it("coughed")
    changed = page.get_by_role("region", name="What changed")
    expect(changed.get_by_text("gain").first).to_be_visible()
    edited = visitor.asks(path)
    assert measure(edited["document"], "sin-0.08/gain") != before
    assert edited["edits"]["log"][-1]["reason"] == "coughed"

    page.keyboard.press("Control+z")
    expect(page.get_by_role("button", name="Redo")).to_be_enabled()
    assert measure(visitor.asks(path)["document"], "sin-0.08/gain") == before
    page.keyboard.press("Control+y")
    expect(page.get_by_role("tab", name="Edits (1)")).to_be_visible()
    again = measure(visitor.asks(path)["document"], "sin-0.08/gain")
    assert again == measure(edited["document"], "sin-0.08/gain")


def test_edits_that_were_downloaded_give_the_command_line_the_same_numbers(
    measured_demo, open_page, tmp_path
):
    visitor = open_page(measured_demo)
    visitor.opens_session("DEMO-TWO-SIDED")
    visitor.opens_trial("sin-0.16")
    visitor.turns_to("Correct")
    visitor.chooses(30, 35)
    visitor.press("Exclude it…")
    visitor.makes_it("moved")
    expect(visitor.page.get_by_role("tab", name="Edits (1)")).to_be_visible()
    visitor.turns_to("Edits (1)")
    with visitor.page.expect_download() as coming:
        visitor.page.get_by_role("button", name="Download edits.json").click()
    edits = tmp_path / "edits.json"
    coming.value.save_as(edits)
    session = visitor.session_id()
    folder = measured_demo.data / "sessions" / session
    command = [sys.executable, "-m", "slowphase", "analyze", str(folder), "--edits", str(edits)]
    printed = subprocess.run([*command, "--json"], capture_output=True, check=False).stdout
    assert json.loads(printed) == visitor.asks(f"/sessions/{session}")["document"]


@pytest.mark.parametrize(
    ("field", "choice", "button", "kind"),
    [("Now used", "right", "Use this eye…", "eye")],
)
def test_another_eye_is_chosen(measured_demo, open_page, field, choice, button, kind):
    visitor = open_page(measured_demo)
    visitor.opens_session(ONE)
    visitor.opens_trial("sin-0.32")
    visitor.turns_to("Correct")
    visitor.page.get_by_role("radio", name=choice, exact=True).check()
    visitor.press(button)
    visitor.makes_it("the left one slipped")
    log = visitor.asks(f"/sessions/{visitor.session_id()}")["edits"]["log"]
    assert [entry["kind"] for entry in log if entry["trial"] == "sin-0.32"] == [kind]


def test_a_trial_that_is_set_aside_keeps_its_place_with_the_reason(measured_demo, open_page):
    visitor = open_page(measured_demo)
    visitor.opens_session("DEMO-HEALTHY")
    visitor.opens_trial("sin-0.64")
    visitor.turns_to("Correct")
    visitor.press("Set this trial aside…")
    visitor.makes_it("chair stopped early")
    expect(visitor.page.get_by_text("This trial is set aside.")).to_be_visible()
    visitor.follow("Overview")
    table = visitor.page.get_by_role("table", name="Trials with their quality")
    expect(table.get_by_role("link", name="sin-0.64", exact=True)).to_be_visible()


def test_a_change_from_another_tab_is_told_and_what_was_typed_stays(measured_demo, open_page):
    one, other = open_page(measured_demo), open_page(measured_demo, name="S. Roe")
    for visitor in (one, other):
        visitor.opens_session("DEMO-HEALTHY")
        visitor.opens_trial("sin-0.02")
        visitor.turns_to("Correct")
        visitor.chooses(40, 41)
        visitor.press("Exclude it…")
    one.makes_it("first")
    expect(one.page.get_by_role("region", name="What changed")).to_be_visible()
    other.gives_reason("second")
    expect(other.page.get_by_text("Another change came first")).to_be_visible()
    reason = other.page.get_by_role("form", name="Change to be made").get_by_label("Reason")
    expect(reason).to_have_value("second")


def test_a_session_filed_wrongly_is_moved_and_moved_back(measured_demo, open_page):
    visitor = open_page(measured_demo)
    page = visitor.page
    page.get_by_role("button", name=re.compile("Merge DEMO-TWO-SIDED into")).click()
    dialog = page.get_by_role("dialog")
    dialog.get_by_role("radio", name=re.compile("DEMO-HEALTHY")).check()
    dialog.get_by_label("Reason").fill("same person")
    dialog.get_by_role("button", name="Merge", exact=True).click()
    expect(dialog).to_be_hidden()
    expect(page.get_by_role("link", name="DEMO-TWO-SIDED", exact=True)).to_have_count(0)
    visitor.follow("Log")
    page.get_by_role("button", name=re.compile("^Reverse: .*DEMO-TWO-SIDED")).first.click()
    dialog = page.get_by_role("dialog")
    dialog.get_by_label("Reason").fill("they are two people")
    dialog.get_by_role("button", name="Reverse").click()
    expect(dialog).to_be_hidden()
    visitor.follow("Patients")
    expect(page.get_by_role("link", name="DEMO-TWO-SIDED", exact=True)).to_be_visible()
