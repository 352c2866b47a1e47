"""How a problem is worded: place, what was found, what would be right, what to do."""

from typing import TypedDict, Unpack

from slowphase.foundation.problem import Problem

SESSION_FILE = "session.toml"


class Where(TypedDict, total=False):
    """Where a problem lies."""

    trial: str | None
    file: str | None
    line: int | None
    key: str | None


def make_problem(
    code: str,
    what: str,
    *,
    expected: str,
    remedy: str,
    found: object = None,
    **where: Unpack[Where],
) -> Problem:
    """One problem with its sentence: ``place: what; expected …; remedy.``

    Without a file in ``where`` it lies in session.toml.
    """
    file = where.get("file", SESSION_FILE)
    trial, line, key = where.get("trial"), where.get("line"), where.get("key")
    return Problem(
        code=code,
        message=f"{_place(file, line, trial, key)}: {what}; expected {expected}; {remedy}.",
        trial=trial,
        file=file,
        line=line,
        key=key,
        found=None if found is None else shorten(found),
        expected=expected,
    )


def shorten(found: object, *, limit: int = 80) -> str:
    """``found`` as printable text of at most ``limit`` characters."""
    text = "".join(c if c.isprintable() else "·" for c in str(found)[: limit + 1])
    return text if len(text) <= limit else text[: limit - 1] + "…"


def quote(found: object) -> str:
    """``found`` in quotes when it is text, bare when it is a number."""
    return f'"{shorten(found)}"' if isinstance(found, str) else shorten(found)


def _place(file: str | None, line: int | None, trial: str | None, key: str | None) -> str:
    parts = (
        file,
        None if line is None else f"line {line}",
        None if trial is None else f'trial "{trial}"',
        None if key is None else f'key "{key}"',
    )
    return ", ".join(part for part in parts if part) or "session"
