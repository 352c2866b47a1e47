"""What every route works with: the store, the jobs and the sessions that are open."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, cast

from fastapi import Depends, Request

if TYPE_CHECKING:
    from slowphase.workbench.jobs import Jobs


@dataclass(slots=True)
class House:
    """The store and what is open of it."""

    store: Any
    jobs: Jobs


async def house(request: Request) -> House:
    """The house of the app that serves a request."""
    return cast("House", request.app.state.house)


Here = Annotated[House, Depends(house)]
