"""The reading: draft, preview, signing, and the pages of signed versions."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Response
from fastapi.responses import HTMLResponse

from slowphase.workbench.house import Here
from slowphase.workbench.shapes.sessions import (
    DraftAnswer,
    DraftAsked,
    SignAnswer,
    SignAsked,
)
from slowphase.workbench.signing import Shown, report_page, report_pdf, save_draft, sign_reading

router = APIRouter(tags=["reading"])
DIGEST = "Slowphase-Reading-Digest"
PDF = "application/pdf"
HEADER = {DIGEST: {"schema": {"type": "string"}, "description": "What a signature would name"}}
HTML_ANSWER: dict[int | str, dict[str, Any]] = {
    200: {
        "content": {"text/html": {"schema": {"type": "string"}}},
        "headers": HEADER,
        "description": "The report, one page without script",
    }
}
PDF_ANSWER: dict[int | str, dict[str, Any]] = {
    200: {
        "content": {PDF: {"schema": {"type": "string", "format": "binary"}}},
        "headers": HEADER,
        "description": "The report as PDF/A and PDF/UA",
    }
}
Version = Annotated[int | None, Query(ge=1, le=1_000_000)]


@router.put("/sessions/{session}/draft")
def write_draft(here: Here, session: str, asked: DraftAsked) -> DraftAnswer:
    """Keep the signer's decisions so far; 422 where one fits no statement."""
    return save_draft(here, session, asked)


@router.get("/sessions/{session}/report.html", response_class=Response, responses=HTML_ANSWER)
def read_report(here: Here, session: str, version: Version = None) -> Response:
    """The draft as it would be signed, or a signed version as it was signed."""
    shown = report_page(here, session, version)
    return HTMLResponse(shown.page, headers=_named(shown))


@router.get("/sessions/{session}/report.pdf", response_class=Response, responses=PDF_ANSWER)
def read_report_pdf(
    here: Here, session: str, version: Version = None, paper: Literal["a4", "letter"] = "a4"
) -> Response:
    """The same page as PDF."""
    shown = report_page(here, session, version)
    return Response(report_pdf(shown, paper), media_type=PDF, headers=_named(shown))


@router.post("/sessions/{session}/sign")
def sign_session(here: Here, session: str, asked: SignAsked) -> SignAnswer:
    """Sign what was shown: 403 for a wrong passphrase, 409 where the reading is another now."""
    return sign_reading(here, session, asked)


def _named(shown: Shown) -> dict[str, str]:
    return {DIGEST: shown.reading_digest}
