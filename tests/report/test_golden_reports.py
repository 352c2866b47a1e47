"""Golden reports: the text of the page and of the PDF for five sessions, bad and empty ones among
them. The PDF's text is taken out by pypdf, which knows nothing of Slowphase."""

import io
import os
import re
from pathlib import Path

import pypdf
import pytest
from report_cases import CASES, case

from slowphase.report.page import render_page
from slowphase.report.pdf.blocks import blocks_of
from slowphase.report.pdf.figures import taken_out
from slowphase.report.pdf.markup import parse
from slowphase.report.pdf.typeset import typeset

GOLDEN = Path(__file__).parent / "golden"


@pytest.fixture(scope="module", params=CASES)
def made(request, analysis):
    shown, more = case(request.param, analysis)
    page = render_page(shown, **more)
    return request.param, page, typeset(page)


def texts(block):
    """Every text of a block, one line for each run of spans."""
    if isinstance(block, list):
        if block and all(isinstance(part, dict) and "text" in part for part in block):
            yield "".join(part["text"] for part in block)
            return
        for part in block:
            yield from texts(part)
    elif isinstance(block, dict):
        for part in block.values():
            yield from texts(part) if isinstance(part, list | dict) else ()


def page_text(page):
    body = parse(taken_out(page)[0]).first("body")
    return "\n".join(line for line in texts(blocks_of(body)) if line.strip()) + "\n"


def pdf_text(pdf):
    pages = pypdf.PdfReader(io.BytesIO(pdf)).pages
    lines = [line.rstrip() for page in pages for line in page.extract_text().splitlines()]
    return "\n".join(line for line in lines if line) + "\n"


def approve(name, text):
    """Set SLOWPHASE_APPROVE=1 to write the texts anew, then read what changed."""
    file = GOLDEN / name
    if os.environ.get("SLOWPHASE_APPROVE"):
        file.write_text(text, encoding="utf-8")
    assert text == file.read_text(encoding="utf-8")


def test_the_page_says_what_was_approved(made):
    name, page, _ = made
    approve(f"report-{name}.html.txt", page_text(page))


def test_the_pdf_says_what_was_approved(made):
    name, _, pdf = made
    approve(f"report-{name}.pdf.txt", pdf_text(pdf))


@pytest.mark.parametrize("name", ["full", "signed", "bad", "empty"])
def test_every_word_of_the_page_stands_in_the_pdf_too(name, analysis):
    shown, more = case(name, analysis)
    page = render_page(shown, **more)
    printed = set(re.findall(r"\w{4,}", pdf_text(typeset(page))))
    body = parse(taken_out(page)[0]).first("body")
    nav = {word for e in body.walk() if e.name in ("nav", "caption", "style")
           for word in re.findall(r"\w{4,}", e.text())}  # fmt: skip
    words = {w for w in re.findall(r"\w{4,}", page_text(page)) if not re.fullmatch("[a-f0-9_]+", w)}
    assert len(words) > 60
    joined = re.sub(r"\s", "", pdf_text(typeset(page)))
    assert [w for w in sorted(words - printed - nav) if w not in joined] == []
