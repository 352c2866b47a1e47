"""All routes below ``/api``, each with the one shape of errors in its description."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fastapi import APIRouter

from slowphase.workbench.openapi import operation_id
from slowphase.workbench.routers import ROUTERS
from slowphase.workbench.shapes.errors import ErrorAnswer

if TYPE_CHECKING:
    from starlette.routing import BaseRoute

ERRORS: dict[int | str, dict[str, Any]] = {
    "4XX": {"model": ErrorAnswer, "description": "What was wrong with the call"},
    "5XX": {"model": ErrorAnswer, "description": "What went wrong here"},
}


def api() -> APIRouter:
    """Every route, below ``/api``."""
    whole = APIRouter(prefix="/api", responses=ERRORS, generate_unique_id_function=operation_id)
    for router in ROUTERS:
        whole.include_router(router, generate_unique_id_function=operation_id)
    return whole


def routes() -> list[BaseRoute]:
    """The routes themselves, for their description and for tests that walk them."""
    return list(api().routes)
