"""The figures of the report, one at a time."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Response

from slowphase.workbench.figures import figure
from slowphase.workbench.house import Here

router = APIRouter(tags=["figures"])
SVG = "image/svg+xml"
SVG_ANSWER: dict[int | str, dict[str, Any]] = {
    200: {"content": {SVG: {"schema": {"type": "string"}}}, "description": "The figure"}
}


@router.get(
    "/sessions/{session}/figures/{name:path}.svg", response_class=Response, responses=SVG_ANSWER
)
def read_figure(here: Here, session: str, name: str) -> Response:
    """A figure with its title and description; ``figures`` of the session lists their names."""
    return Response(figure(here, session, name), media_type=SVG)
