"""Statements are decided on, the report is looked at, signed, and opened again."""

import re

import pytest
from playwright.sync_api import expect

PASSPHRASE = "four plain words here"
SIGNER = "A. Meyer, audiologist"


@pytest.fixture
def reader(measured_demo, open_page):
    visitor = open_page(measured_demo, name=SIGNER)
    visitor.opens_session("DEMO-TWO-SIDED")
    visitor.follow("Read and sign")
    expect(visitor.page.get_by_role("heading", name=re.compile("Read and sign"))).to_be_visible()
    return visitor


def report(page):
    """The frame that shows the report."""
    return page.frame_locator("iframe[title='The report']")


def becomes_signer(page):
    """Make the signer, unless an earlier journey did."""
    if page.get_by_label("Signer", exact=True).count():
        return
    page.get_by_role("button", name="New signer…").click()
    dialog = page.get_by_role("dialog")
    dialog.get_by_role("textbox", name="Name").fill(SIGNER)
    for field in dialog.get_by_label(re.compile("assphrase")).all():
        field.fill(PASSPHRASE)
    dialog.get_by_role("button", name="Make the signer").click()
    expect(dialog).to_be_hidden()


def signs(page, passphrase=PASSPHRASE):
    expect(page.get_by_text("As it would be signed now.")).to_be_visible()
    page.get_by_label("Passphrase", exact=True).fill(passphrase)
    page.get_by_role("button", name=re.compile(r"^Sign version")).click()


def test_a_reading_is_decided_on_signed_printed_and_signed_anew(reader, tmp_path):
    page = reader.page
    first = page.get_by_role("group", name=re.compile("^Decision on: ")).first
    first.get_by_role("radio", name="Leave out").check()
    page.get_by_label("Reason").first.fill("said in the history")
    page.get_by_role("textbox", name="My remark").fill("seen with Dr Roe; <b>no bold</b>")
    expect(report(page).get_by_text("said in the history")).to_be_visible()
    expect(report(page).get_by_text("<b>no bold</b>")).to_be_visible()

    becomes_signer(page)
    signs(page, "four wrong words here")
    expect(page.get_by_role("alert")).to_be_visible()
    signs(page)
    expect(page.get_by_text("Version 1 is signed.").first).to_be_visible()
    with page.expect_download() as coming:
        page.get_by_role("button", name="Download PDF").click()
    paper = tmp_path / "report.pdf"
    coming.value.save_as(paper)
    assert paper.read_bytes().startswith(b"%PDF-")
    assert len(paper.read_bytes()) > 100_000

    page.get_by_role("button", name="Back to the draft").click()
    page.get_by_role("textbox", name="My remark").fill("seen again")
    signs(page)
    expect(page.get_by_text("Version 2 is signed.").first).to_be_visible()
    versions = reader.asks(f"/sessions/{reader.session_id()}")["versions"]
    assert [version["number"] for version in versions] == [1, 2]


def test_what_was_typed_stays_when_the_page_is_loaded_again(measured_demo, open_page):
    visitor = open_page(measured_demo, name=SIGNER)
    visitor.opens_session("DEMO-HEALTHY")
    visitor.follow("Read and sign")
    page = visitor.page
    page.get_by_role("textbox", name="My remark").fill("half a sentence")
    page.reload()
    expect(page.get_by_role("textbox", name="My remark")).to_have_value("half a sentence")
