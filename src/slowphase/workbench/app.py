"""The server as one app: the door, the routes, the page's files."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING

from fastapi import FastAPI
from starlette.exceptions import HTTPException
from starlette.staticfiles import StaticFiles

from slowphase.workbench.door import Door, Keys
from slowphase.workbench.house import House
from slowphase.workbench.refusals import add_refusals
from slowphase.workbench.routes import api

if TYPE_CHECKING:
    from starlette.responses import Response
    from starlette.types import Scope

    from slowphase.store import Store


def create_app(store: Store, token: str, *, port: int, static: Path | None = None) -> FastAPI:
    """The app around an open store.

    ``token`` is what every call below ``/api`` must bring, ``port`` the one that it is served on,
    ``static`` the folder of the page's files (the built ones when None). ``app.state.house`` is
    what the routes work with.
    """
    house = House.of(store)
    app = FastAPI(openapi_url=None, docs_url=None, redoc_url=None, redirect_slashes=False)
    app.state.house = house
    app.include_router(api())
    app.router.default = PageFiles(static or built_page())
    add_refusals(app)
    app.add_middleware(Door, keys=Keys.of_port(token, port), closing=lambda: house.closing)
    return app


def built_page() -> Path:
    """The folder of the built page."""
    return Path(str(files("slowphase.workbench"))) / "static"


# The first part of each address that the page itself reads; all of them are answered with it.
PLACES = frozenset({"patients", "sessions", "log", "bring-in", "course", "references", "teach"})


class PageFiles(StaticFiles):
    """The page's files, none of which holds anything of a patient."""

    def __init__(self, folder: Path) -> None:
        super().__init__(directory=folder, html=True, check_dir=False)
        self._folder = folder

    async def check_config(self) -> None:
        """A page that was not built is not found; it is no fault of the call."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        """A file of the page; raises `HTTPException` (404) for anything else."""
        if not self._folder.is_dir():
            raise HTTPException(404)
        first = path.split("/", 1)[0]
        return await super().get_response("index.html" if first in PLACES else path, scope)
