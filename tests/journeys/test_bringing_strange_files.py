"""Files of a recorder that nobody knows, and files that mean harm."""

import re

from playwright.sync_api import expect

from tests.journeys.exports import write_exports

HOSTILE = 'Z-9 <img src=x onerror="document.title=1">'


def begins(visitor, paths):
    visitor.follow("Bring in")
    visitor.page.get_by_label("Choose files").set_input_files([str(path) for path in paths])
    recognised = visitor.page.get_by_role("heading", name=re.compile(r"trials? recognised"))
    expect(recognised).to_be_visible()


def says_who(page, code="Z-9", day="2026-04-01"):
    page.get_by_label("Patient’s code").fill(code)
    page.get_by_label("Date").fill(day)


def maps_columns(page):
    for name, role, unit in (
        ("Zeit", "time", "ms"),
        ("Stuhl", "head_velocity", "deg/s"),
        ("Auge rechts h", "eye_h_right", "deg"),
    ):
        page.get_by_label(f"What column {name} is").select_option(role)
        page.get_by_label(f"Unit of {name}").select_option(unit)


def brings_in(page, *, save_as=""):
    page.get_by_role("button", name="Bring it in…").click()
    dialog = page.get_by_role("dialog")
    dialog.get_by_label(re.compile("Save the columns as a map")).fill(save_as)
    dialog.get_by_role("button", name="Bring it in", exact=True).click()
    expect(page.get_by_role("heading", name="Statements")).to_be_visible(timeout=90_000)


def signs(page):
    page.get_by_role("link", name="Read and sign").first.click()
    page.get_by_role("button", name="New signer…").click()
    dialog = page.get_by_role("dialog")
    for field in dialog.get_by_label(re.compile("assphrase")).all():
        field.fill("four plain words here")
    dialog.get_by_role("button", name="Make the signer").click()
    made = page.get_by_text("As it would be signed now.")
    expect(made).to_be_visible(timeout=120_000)
    page.get_by_label("Passphrase", exact=True).fill("four plain words here")
    page.get_by_role("button", name=re.compile("^Sign version")).click()
    expect(page.get_by_text("Version 1 is signed.").first).to_be_visible(timeout=120_000)


def test_a_strange_export_goes_from_a_drop_to_a_signed_pdf_and_its_map_serves_again(
    empty_server, open_page, tmp_path
):
    visitor = open_page(empty_server)
    page, paths = visitor.page, write_exports(tmp_path)
    begins(visitor, paths)
    maps_columns(page)
    says_who(page)
    page.get_by_label("Direction in which Stuhl counts up").select_option("left")
    page.get_by_label("Direction in which Stuhl counts up").select_option("right")
    page.get_by_role("button", name="sine", exact=True).click()
    page.get_by_label("Vision").select_option("dark")
    expect(page.get_by_role("group", name="Traces of sine")).to_be_visible()
    expect(page.get_by_text("Everything needed is there.")).to_be_visible()
    page.reload()
    expect(page.get_by_label("Patient’s code")).to_have_value("Z-9")
    expect(page.get_by_label("Unit of Zeit")).to_have_value("ms")
    brings_in(page, save_as="old chair")

    signs(page)
    with page.expect_download(timeout=120_000) as coming:
        page.get_by_role("button", name="Download PDF").click()
    coming.value.save_as(tmp_path / "signed.pdf")
    assert (tmp_path / "signed.pdf").read_bytes().startswith(b"%PDF-")

    begins(visitor, paths[:1])
    expect(page.get_by_label("Map", exact=True)).to_have_value("old chair")
    expect(page.get_by_label("What column Zeit is")).to_have_value("time")


def test_hostile_files_are_refused_by_name_and_markup_in_a_code_stays_text(
    empty_server, open_page, tmp_path
):
    visitor = open_page(empty_server)
    page = visitor.page
    (tmp_path / "odd.csv").write_bytes(b"hello")
    (tmp_path / "run.exe").write_bytes(b"MZ")
    (tmp_path / "CON.csv").write_bytes(b"t,x\n1,2\n")
    bad = [tmp_path / name for name in ("odd.csv", "run.exe", "CON.csv")]
    begins(visitor, [*write_exports(tmp_path), *bad])
    refused = page.get_by_role("region", name="2 files were not taken")
    expect(refused.get_by_text("run.exe", exact=True)).to_be_visible()
    expect(refused.get_by_text("CON.csv", exact=True)).to_be_visible()
    wrong = page.get_by_role("region", name=re.compile(r"^\d+ problems?$"))
    expect(wrong.get_by_text(re.compile("odd.csv"))).not_to_have_count(0)

    maps_columns(page)
    says_who(page, HOSTILE)
    expect(page.get_by_text("Everything needed is there.")).to_be_visible()
    expect(wrong.get_by_text(re.compile("odd.csv"))).not_to_have_count(0)
    brings_in(page)
    expect(page.get_by_role("heading", name=re.compile("Z-9 <img src=x"))).to_be_visible()
    visitor.follow("Patients")
    expect(page.get_by_role("link", name=HOSTILE, exact=True)).to_be_visible()
    assert page.title() == "Patients – Slowphase"
    assert page.locator("img[src='x']").count() == 0


def test_leaving_asks_first_and_what_was_left_is_found_again(empty_server, open_page, tmp_path):
    visitor = open_page(empty_server)
    page = visitor.page
    asked = []
    page.on("dialog", lambda dialog: (asked.append(dialog.message), dialog.accept()))
    begins(visitor, write_exports(tmp_path))
    visitor.follow("Patients")
    expect(page.get_by_role("heading", name="Patients")).to_be_visible()
    assert len(asked) == 1
    visitor.follow("Bring in")
    table = page.get_by_role("table", name="Not confirmed yet")
    table.get_by_role("link", name=re.compile("^Import ")).click()
    page.get_by_role("button", name="Discard").click()
    expect(page.get_by_text("Nothing waits.")).to_be_visible()
