"""The one shape of every error, whatever went wrong and wherever.

    Refusal        a call that cannot be answered: status, code, sentence, found, expected
    others         become one here: what FastAPI, the store and the layers below raise

A fault of the server itself answers with the number of an incident; what happened stands in the
server's log, never in the answer.
"""

from __future__ import annotations

import json
import logging
import secrets
from http import HTTPStatus
from typing import TYPE_CHECKING, Any

from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import Response

from slowphase.analysis.document import problem_entry
from slowphase.foundation.errors import InputError, UsageError
from slowphase.foundation.problem import Problem
from slowphase.recording.report_problem import shorten
from slowphase.store.errors import SignerLocked, StoreConflict, StoreError, StoreMissing

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from fastapi import FastAPI, Request

LOG = logging.getLogger("slowphase.workbench")
SECRET = ("passphrase", "token")
CODES = {  # of refusals that come without a code of their own
    400: "bad_call",
    401: "no_token",
    403: "refused",
    404: "not_found",
    405: "wrong_method",
    409: "conflict",
    413: "too_large",
    422: "invalid_call",
    423: "signing_locked",
    503: "shutting_down",
}


class Refusal(HTTPException):
    """A call that cannot be answered, and how it is told."""

    def __init__(
        self,
        status: int,
        code: str,
        message: str,
        *,
        found: str | None = None,
        expected: str | None = None,
        problems: Sequence[Problem] = (),
        headers: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(status, message, dict(headers or {}))
        self.code, self.message = code, message
        self.found, self.expected, self.problems = found, expected, tuple(problems)

    def body(self) -> dict[str, Any]:
        """The refusal as plain data, all of it text that can be sent."""
        return {
            "code": self.code,
            "message": _sendable(self.message),
            "found": _sendable(self.found),
            "expected": _sendable(self.expected),
            "problems": [problem_entry(problem) for problem in self.problems],
        }


def _sendable(text: str | None) -> str | None:
    """A text without half of a surrogate pair, which no encoding has."""
    return None if text is None else text.encode("utf-8", "replace").decode()


def not_found(what: str, id_: str, expected: str | None = None) -> Refusal:
    """There is no such thing: 404."""
    found = shorten(id_)
    message = f"There is no {what} “{found}”."
    return Refusal(404, "not_found", message, found=found, expected=expected)


def refusal_answer(refusal: Refusal) -> Response:
    """A refusal as it is sent."""
    text = json.dumps({"error": refusal.body()}, ensure_ascii=True, allow_nan=False)
    return Response(
        text,
        refusal.status_code,
        headers=refusal.headers,
        media_type="application/json",
    )


def incident(method: str, path: str) -> Refusal:
    """A fault of the server: its traceback goes to the log, under the number that is told."""
    number = secrets.token_hex(4)
    LOG.exception("incident %s in %s %s", number, method, shorten(path))
    return Refusal(
        500,
        "internal_error",
        f"Something went wrong here; nothing was changed. Incident {number} in the server's log.",
        found=number,
    )


def refusal_of(error: Exception) -> Refusal:
    """What an exception of the layers below means for the caller."""
    if isinstance(error, Refusal):
        return error
    if isinstance(error, InputError):
        return _of_problems(error.problems[0].code, error.problems)
    for kind, status in STATUS.items():
        if isinstance(error, kind):
            return Refusal(status, CODES[status], shorten(error, limit=1000))
    raise error


STATUS: Mapping[type[Exception], int] = {
    StoreMissing: 404,
    StoreConflict: 409,
    SignerLocked: 423,
    StoreError: 422,
    UsageError: 422,
}


def add_refusals(app: FastAPI) -> None:
    """Give every error of the app the one shape."""
    for kind in (Refusal, InputError, *STATUS):
        app.add_exception_handler(kind, _on_known)
    app.add_exception_handler(HTTPException, _on_http)
    app.add_exception_handler(RequestValidationError, _on_invalid)


async def _on_known(_: Request, error: Exception) -> Response:
    return refusal_answer(refusal_of(error))


async def _on_http(request: Request, error: Exception) -> Response:
    status = error.status_code if isinstance(error, HTTPException) else 500
    headers = (error.headers if isinstance(error, HTTPException) else None) or {}
    phrase = HTTPStatus(status).phrase.lower()
    message = f"{request.method} {shorten(request.url.path)}: {phrase}."
    return refusal_answer(
        Refusal(status, CODES.get(status, "refused"), message, headers=dict(headers))
    )


async def _on_invalid(_: Request, error: Exception) -> Response:
    told = error.errors() if isinstance(error, RequestValidationError) else ()
    nothing = Problem("invalid_call", "The call is not valid.")
    return refusal_answer(_of_problems("invalid_call", tuple(_problems(told)) or (nothing,)))


def _of_problems(code: str, problems: Sequence[Problem]) -> Refusal:
    """A refusal for everything that is wrong; the sentence is that of the first."""
    first, more = problems[0], f" ({len(problems) - 1} more)" if len(problems) > 1 else ""
    return Refusal(
        422, code, first.message + more,
        found=first.found, expected=first.expected, problems=problems,
    )  # fmt: skip


def _problems(told: Sequence[Any]) -> Iterator[Problem]:
    """Each fault that was found in a call; what is secret is not repeated."""
    for error in told:
        where = ".".join(str(part) for part in error["loc"])
        said = str(error["msg"])
        found = _shown(error, where)
        yield Problem(
            code="invalid_call",
            message=f"{shorten(where)}: {shorten(said, limit=300)}",
            key=shorten(where),
            found=found,
            expected=shorten(said, limit=300),
        )


def _shown(error: Mapping[str, Any], where: str) -> str | None:
    told = error.get("input")
    secret = any(word in where for word in SECRET)
    shown = isinstance(told, str | int | float | bool) and not secret
    return shorten(told) if shown and error["type"] != "json_invalid" else None
