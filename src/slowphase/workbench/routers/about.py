"""What the page needs once: version, words, limits; and the description of this interface."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter

from slowphase.workbench.house import Here
from slowphase.workbench.openapi import openapi_document
from slowphase.workbench.shapes.about import AboutAnswer
from slowphase.workbench.words import about_answer

router = APIRouter(tags=["about"])


@router.get("/about")
def read_about(here: Here) -> AboutAnswer:
    """Version, words and limits of this server."""
    return about_answer(here)


@router.get("/openapi.json")
def read_openapi() -> dict[str, Any]:
    """The description of this interface (OpenAPI 3.1)."""
    return openapi_document()
