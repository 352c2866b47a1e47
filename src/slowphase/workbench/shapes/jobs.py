"""Work that takes longer than an answer may."""

from typing import Any, Literal

from slowphase.workbench.shapes.base import Shape
from slowphase.workbench.shapes.errors import ErrorBody

State = Literal["waiting", "running", "done", "failed", "cancelled"]


class JobAnswer(Shape):
    """A job: what it does now, the share that is done (0 to 1), what came of it."""

    id: str
    state: State
    what: str
    share: float
    result: dict[str, Any] | None
    error: ErrorBody | None
