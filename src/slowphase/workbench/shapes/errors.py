"""The one shape of every error."""

from pydantic import Field

from slowphase.workbench.shapes.base import Shape


class ProblemEntry(Shape):
    """One thing that is wrong with what was sent, as in the result document."""

    code: str
    message: str
    trial: str | None = None
    file: str | None = None
    line: int | None = None
    key: str | None = None
    found: str | None = None
    expected: str | None = None


class ErrorBody(Shape):
    """What went wrong: a stable code, one sentence, what was found and what would be right."""

    code: str
    message: str
    found: str | None = None
    expected: str | None = None
    problems: list[ProblemEntry] = Field(default_factory=list)


class ErrorAnswer(Shape):
    """The answer of every call that failed."""

    error: ErrorBody
