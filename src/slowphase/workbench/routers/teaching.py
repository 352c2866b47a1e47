"""The teaching bench: what a lesion does to every trace and number."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Response

from slowphase.workbench.lesson_answer import MEDIA_TYPE, lesson_bytes
from slowphase.workbench.shapes.teaching import LessonAsked, LessonHeader

router = APIRouter(tags=["teaching"])
BINARY: dict[int | str, dict[str, Any]] = {
    200: {
        "content": {MEDIA_TYPE: {"schema": {"type": "string", "format": "binary"}}},
        "description": "A lesson: a header (LessonHeader), then its traces (docs/workbench.md)",
    }
}


@router.post("/teach", response_class=Response, responses=BINARY)
def teach(asked: LessonAsked) -> Response:
    """Traces and true numbers of a person with these labyrinths, storage and alertness."""
    return Response(lesson_bytes(asked), media_type=MEDIA_TYPE)


@router.get("/teach/header", response_model=LessonHeader)
def healthy_lesson_header() -> LessonHeader:
    """The trials and numbers of the healthy, without traces."""
    return LessonHeader.model_validate_json(header_of(lesson_bytes(LessonAsked())))


def header_of(data: bytes) -> bytes:
    """The header of a lesson's bytes."""
    return data[4 : 4 + int.from_bytes(data[:4], "little")]
