"""A page of the report as a PDF: PDF/A-2b, tagged after PDF/UA-1, the same bytes for the same page.

Nothing but the page decides: no clock, no system font, no network. The date in the file is the one
that the page names (of the session, or of the signing).
"""

from __future__ import annotations

import json
from datetime import datetime
from importlib.resources import files
from typing import TYPE_CHECKING, Any, Literal

from slowphase.foundation.errors import UsageError
from slowphase.report.page_style import print_colours
from slowphase.report.pdf.blocks import blocks_of
from slowphase.report.pdf.figures import taken_out
from slowphase.report.pdf.glyphs import font_folders, with_codes
from slowphase.report.pdf.markup import parse

if TYPE_CHECKING:
    from slowphase.report.pdf.markup import Element

Paper = Literal["a4", "letter"]
PAPERS = {"a4": "a4", "letter": "us-letter"}
STANDARDS: tuple[Literal["a-2b"], Literal["ua-1"]] = ("a-2b", "ua-1")
TEMPLATE = "report.typ"
UNKNOWN_DAY = "1970-01-01"  # PDF/A demands a date in the file; the page says that it is unknown


def typeset(page: str, *, paper: Paper = "a4") -> bytes:
    """The PDF of a page that ``render_page`` has written.

    ``paper`` is ``"a4"`` or ``"letter"``. Raises `UsageError` for another paper, and where a
    picture of the clinic cannot be drawn.
    """
    if paper not in PAPERS:
        raise UsageError(f"paper {paper!r} is not known; write a4 or letter")
    text, pictures = taken_out(with_codes(page))
    drawn, pixels = _parted(pictures)
    told = json.dumps({**_document(parse(text), paper), "pixels": pixels}, ensure_ascii=False)
    return _compiled({"data.json": told.encode(), **drawn})


def _parted(pictures: dict[str, bytes]) -> tuple[dict[str, bytes], dict[str, list[int]]]:
    """Drawings as files, pictures of pixels as numbers: files in memory must be UTF-8 text."""
    drawn = {name: data for name, data in pictures.items() if name.endswith(".svg")}
    return drawn, {name: list(data) for name, data in pictures.items() if name not in drawn}


def _document(root: Element, paper: Paper) -> dict[str, Any]:
    """What the template is told: everything in it is data."""
    told = {e.attributes["name"]: e.attributes.get("content", "")
            for e in root.walk() if e.name == "meta" and "name" in e.attributes}  # fmt: skip
    title, body = root.first("title"), root.first("body")
    day = datetime.fromisoformat(told.get("date") or UNKNOWN_DAY)
    return {
        "paper": PAPERS[paper],
        "title": title.text() if title else "",
        "status": told.get("status", ""),
        "made_by": told.get("generator", ""),
        "date": [day.year, day.month, day.day],
        "colours": print_colours(),
        "blocks": blocks_of(body) if body else [],
    }


def _compiled(data: dict[str, bytes]) -> bytes:
    """What typst makes of the template and these files, which exist in memory only."""
    import typst

    template = (files(__package__) / TEMPLATE).read_bytes()
    compiled: Any = typst.compile  # its stubs do not know that it takes files by name
    try:
        return bytes(
            compiled(
                {"main.typ": template, **data},
                font_paths=[str(folder) for folder in font_folders()],
                ignore_system_fonts=True,
                format="pdf",
                pdf_standards=list(STANDARDS),
            )
        )
    except RuntimeError as error:  # a TypstError among them
        told = getattr(error, "message", None) or str(error)
        raise UsageError(
            f"the PDF cannot be typeset: {told}. If the clinic's logo is new, try without "
            "it; else please report this."
        ) from error
