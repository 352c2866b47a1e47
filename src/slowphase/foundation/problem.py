"""One thing that is wrong with the input."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong with the input: where, what was found, what would be right.

    ``code`` is stable and listed in ``docs/problems.md``; ``message`` is one sentence for people
    that repeats the place, what was found and what would be right.
    """

    code: str
    message: str
    trial: str | None = None
    file: str | None = None
    line: int | None = None
    key: str | None = None
    found: str | None = None
    expected: str | None = None
