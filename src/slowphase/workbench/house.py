"""What every route works with: the store, the jobs and the sessions that are open."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, cast

from fastapi import Depends, Request

from slowphase.workbench.jobs import Jobs
from slowphase.workbench.opened.room import Room

if TYPE_CHECKING:
    from slowphase.store import Store


@dataclass(slots=True)
class House:
    """The store and what is open of it; ``closing`` once the server is shutting down."""

    store: Store
    jobs: Jobs
    room: Room
    closing: bool = False

    @classmethod
    def of(cls, store: Store) -> House:
        """A house around a store."""
        jobs = Jobs()
        return cls(store, jobs, Room(store, jobs))

    def close(self) -> None:
        """Answer nothing more, and stop what runs; what was made waits for no one."""
        self.closing = True
        self.jobs.cancel_all()


async def house(request: Request) -> House:
    """The house of the app that serves a request."""
    return cast("House", request.app.state.house)


Here = Annotated[House, Depends(house)]
