"""The report as PDF: what it claims to be, the same bytes again, no text that becomes markup."""

import base64
import io
import re
from dataclasses import replace

import pypdf
import pytest
from PIL import Image
from report_cases import CASES, FOREIGN, HOSTILE, case

from slowphase.foundation.errors import UsageError
from slowphase.report.clinic import Clinic, logo_from
from slowphase.report.drawing import _VARIABLES
from slowphase.report.page import render_page
from slowphase.report.page_style import print_colours
from slowphase.report.pdf.figures import taken_out
from slowphase.report.pdf.glyphs import with_codes
from slowphase.report.pdf.typeset import typeset

LOGO = (
    b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 30">'
    b'<rect width="60" height="30"/></svg>'
)
SMALL = "<title>{t}</title></head><body><header><h1>{t}</h1></header><main></main></body>"
SMALL_PAGE = "<html><head><title>t</title></head><body>{}<main></main></body></html>"
# Page sizes in points: ISO 216 A4, 210 mm × 297 mm; ANSI A (letter), 8.5 in × 11 in.
PAPERS = {"a4": (595.28, 841.89), "letter": (612.0, 792.0)}


@pytest.fixture(scope="module")
def page(analysis):
    return render_page(analysis)


@pytest.fixture(scope="module")
def pdf(page):
    return pypdf.PdfReader(io.BytesIO(typeset(page)))


def small(text):
    return typeset(f"<html><head>{SMALL.format(t=text)}</html>")


def objects(reader):
    """Every dictionary of the file."""
    for number in range(1, len(reader.xref[0]) + len(reader.xref_objStm) + 1):
        found = reader.get_object(pypdf.generic.IndirectObject(number, 0, reader))
        if isinstance(found, pypdf.generic.DictionaryObject):
            yield found


def fonts(reader):
    return [o for o in objects(reader) if o.get("/Type") == "/Font"]


def test_claims_pdf_a_2b_and_pdf_ua_1(pdf):
    # ISO 19005-2 (identification schema pdfaid) and ISO 14289-1 (pdfuaid); both from memory
    metadata = pdf.root_object["/Metadata"].get_object().get_data().decode()
    assert re.search(r"pdfaid:part>2<", metadata)
    assert re.search(r"pdfaid:conformance>B<", metadata)
    assert re.search(r"pdfuaid:part>1<", metadata)


def test_is_tagged_titled_and_in_a_language(pdf):
    root = pdf.root_object
    assert root["/MarkInfo"]["/Marked"].value is True
    assert root["/Lang"].startswith("en")
    assert "/StructTreeRoot" in root
    assert pdf.metadata.title.startswith("K-0417 2026-03-02")
    assert root["/ViewerPreferences"]["/DisplayDocTitle"].value is True


def test_every_picture_has_words_in_its_place(pdf, page):
    figures = [o for o in objects(pdf) if o.get("/S") == "/Figure"]
    assert len(figures) == len(taken_out(page)[1])
    assert all(len(str(figure.get("/Alt", ""))) > 40 for figure in figures)


def test_pictures_are_drawn_as_lines_and_letters_not_as_pixels(pdf):
    assert [o for o in objects(pdf) if o.get("/Subtype") == "/Image"] == []


def test_every_font_is_in_the_file(pdf):
    inner = [f for f in fonts(pdf) if "/FontDescriptor" in f]
    assert len(inner) >= 3
    for font in inner:
        descriptor = font["/FontDescriptor"].get_object()
        assert {"/FontFile2", "/FontFile3"} & set(descriptor)


def test_runs_nothing_and_asks_for_nothing_outside(pdf):
    for found in objects(pdf):
        assert not {"/JS", "/JavaScript", "/OpenAction", "/AA", "/EmbeddedFiles"} & set(found)
        assert found.get("/S") not in ("/URI", "/Launch", "/JavaScript", "/SubmitForm")


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_has_the_size_of_its_paper(page, paper):
    box = pypdf.PdfReader(io.BytesIO(typeset(page, paper=paper))).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx(PAPERS[paper], abs=0.5)


def test_an_unknown_paper_is_an_error_that_names_the_known_ones(page):
    with pytest.raises(UsageError, match="write a4 or letter"):
        typeset(page, paper="a5")


@pytest.mark.parametrize("name", CASES)
def test_the_same_page_gives_the_same_bytes(name, analysis):
    shown, more = case(name, analysis)
    page = render_page(shown, **more)
    assert page == render_page(shown, **more)
    assert typeset(page) == typeset(page)


def test_the_date_in_the_file_is_that_of_the_session_or_of_the_signing(pdf, analysis):
    assert pdf.metadata.creation_date.date() == analysis.date
    shown, more = case("signed", analysis)
    signed = pypdf.PdfReader(io.BytesIO(typeset(render_page(shown, **more))))
    assert signed.metadata.creation_date.date().isoformat() == "2026-03-04"


def test_every_page_of_a_draft_says_so_in_words(pdf):
    for page in pdf.pages:
        assert page.extract_text().count("Draft, not signed") >= 2


def test_every_page_of_a_signed_report_says_who_and_which_version(analysis):
    shown, more = case("signed", analysis)
    reader = pypdf.PdfReader(io.BytesIO(typeset(render_page(shown, **more))))
    for page in reader.pages:
        text = " ".join(page.extract_text().split())
        assert "Signed by A. Meyer, audiologist on 2026-03-04, version 2" in text
        assert "Draft" not in text


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_summary_with_numbers_and_picture_fits_the_first_page(page, paper):
    first, second, *_ = pypdf.PdfReader(io.BytesIO(typeset(page, paper=paper))).pages
    text = first.extract_text()
    for words in ("In short", "Pattern:", "Key numbers", "Figure 1."):
        assert words in text
    assert "For the patient" in second.extract_text()


def test_text_that_the_typesetter_could_read_as_markup_is_shown_as_it_is():
    plain = HOSTILE.replace("<", "&lt;").replace("&l>", "&l&gt;")
    text = " ".join(pypdf.PdfReader(io.BytesIO(small(plain))).pages[0].extract_text().split())
    for piece in ("#eval(", "$x$ ]", "*b* _i_ `c` @l", "// /*", "{{ }}", "@preview/x:1.0.0"):
        assert piece.replace(" ", "") in text.replace(" ", "")


def test_names_in_other_scripts_do_not_break_it():
    reader = pypdf.PdfReader(io.BytesIO(small(FOREIGN)))
    text = reader.pages[0].extract_text()
    assert "王小明" in text
    assert "Zoë Ångström" in text
    names = {str(font["/BaseFont"]) for font in fonts(reader)}
    assert any("DroidSansFallback" in name for name in names)


def test_a_character_without_a_glyph_is_shown_as_its_code():
    # U+1F9D1 (adult) and Thai are in none of the fonts, U+6751 and U+D55C are in the eastern one
    assert with_codes("a🧑b") == "a[U+1F9D1]b"
    assert with_codes("ไ") == "[U+0E44]"
    assert with_codes("村한 Ωж é −") == "村한 Ωж é −"
    assert with_codes("\x07") == "[U+0007]"


def test_characters_that_turn_the_text_around_them_are_shown_as_codes():
    assert with_codes("a\u202eb\u2066c") == "a[U+202E]b[U+2066]c"


@pytest.mark.parametrize("block", [0x0020, 0x0100, 0x0600, 0x2000, 0x3040, 0x4E00, 0xAC00, 0x1F600])
def test_any_character_can_stand_in_a_name(block):
    text = "".join(chr(code) for code in range(block, block + 0x60) if chr(code) not in "<&>")
    assert small(text).startswith(b"%PDF")
    bold_and_code = f"<b>{text}</b><span class='code'>{text}</span><span class='why'>{text}</span>"
    assert small(bold_and_code).startswith(b"%PDF")


def test_a_picture_with_foreign_letters_does_not_break_it(analysis):
    trial = replace(analysis.trials[2], id=FOREIGN)
    changed = replace(analysis, trials=(trial,), pairs=(), placements={}, statements=())
    assert typeset(render_page(changed)).startswith(b"%PDF")


def test_colours_of_print_are_known_for_every_name_that_figures_use(page):
    assert set(_VARIABLES.values()) <= set(print_colours())
    assert all(b"var(--" not in picture for picture in taken_out(page)[1].values())


def test_the_logo_is_shown_on_both_faces(analysis):
    clinic = Clinic("Example Balance Clinic", ("1 Invented Street",), logo_from("l.svg", LOGO))
    page = render_page(analysis, clinic=clinic)
    assert 'src="data:image/svg+xml;base64,' in page
    reader = pypdf.PdfReader(io.BytesIO(typeset(page)))
    alts = [str(o.get("/Alt")) for o in objects(reader) if o.get("/S") == "/Figure"]
    assert "Logo of Example Balance Clinic" in alts
    assert "1 Invented Street" in reader.pages[0].extract_text()


@pytest.mark.parametrize("ending", ["png", "jpg"])
def test_a_logo_of_pixels_is_shown_in_its_own_size(ending):
    picture = io.BytesIO()
    Image.new("RGB", (64, 32), (200, 30, 30)).save(picture, {"png": "PNG", "jpg": "JPEG"}[ending])
    logo = logo_from(f"l.{ending}", picture.getvalue())
    page = f'<header><img src="{logo.uri}" alt="logo"></header>'
    shown = pypdf.PdfReader(io.BytesIO(typeset(SMALL_PAGE.format(page))))
    [image] = shown.pages[0].images
    assert image.image.size == (64, 32)
    red, green, _ = image.image.convert("RGB").getpixel((32, 16))
    assert (red, green) == pytest.approx((200, 30), abs=3)


def test_a_word_longer_than_a_line_is_broken_and_loses_no_letter(analysis):
    shown, more = case("signed", analysis)
    decisions = replace(more["signed"].decisions, remark="W" * 5000)
    more = {**more, "signed": replace(more["signed"], decisions=decisions)}
    reader = pypdf.PdfReader(io.BytesIO(typeset(render_page(shown, **more))))
    lines = "\n".join(page.extract_text() for page in reader.pages).splitlines()
    runs = [line.count("W") for line in lines if "WWWW" in line]
    assert sum(runs) >= 5000
    # 178 mm of a line hold no more than 60 of these letters (0.94 em of 10 points, 504 points)
    assert max(runs) <= 60


def test_a_control_sign_without_a_glyph_is_shown_as_its_code():
    shown = pypdf.PdfReader(io.BytesIO(small("P\0Q")))
    assert "P[U+0000]Q" in shown.pages[0].extract_text()


def test_what_the_typesetter_cannot_take_is_one_error_that_says_so():
    damaged = base64.b64encode(b"\x89PNG\r\n\x1a\n\xff").decode()
    page = f'<header><img src="data:image/png;base64,{damaged}" alt="logo"></header>'
    with pytest.raises(UsageError, match="PDF cannot be typeset: failed to decode image"):
        typeset(SMALL_PAGE.format(page))


def test_the_remark_of_a_signer_may_be_longer_than_a_page(analysis):
    shown, more = case("signed", analysis)
    decisions = replace(more["signed"].decisions, remark="A long remark, invented. " * 600)
    more = {**more, "signed": replace(more["signed"], decisions=decisions)}
    reader = pypdf.PdfReader(io.BytesIO(typeset(render_page(shown, **more))))
    text = "".join(page.extract_text() for page in reader.pages)
    assert text.count("invented.") == 600
