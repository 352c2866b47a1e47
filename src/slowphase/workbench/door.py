"""The door of the server: who may come in, how much they may bring, and what every answer says.

It stands before every route, so that no route can forget it:

- only this computer's own names are taken as Host, only this page as Origin;
- everything below ``/api`` needs the token of this start;
- a body over its limit is refused while it comes, before it is held;
- every answer carries the headers that keep other pages out of this one.
"""

from __future__ import annotations

import asyncio
import secrets
from dataclasses import dataclass
from typing import TYPE_CHECKING

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import ClientDisconnect

from slowphase.workbench.refusals import Refusal, incident, refusal_answer

if TYPE_CHECKING:
    from collections.abc import Callable

    from starlette.types import ASGIApp, Message, Receive, Scope, Send

API = "/api"
UPLOADS = "/api/imports/"
BODY_BYTES = 1_000_000
UPLOAD_BYTES = 4_000_000_000
HTTP = 80
SITES = ("same-origin", "none")
POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' blob: data:",
        "connect-src 'self'",
        "font-src 'self'",
        "frame-src blob:",
        "worker-src 'self'",
        "base-uri 'none'",
        "form-action 'none'",
        "frame-ancestors 'none'",
    )
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Embedder-Policy": "require-corp",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=(), interest-cohort=()",
}


@dataclass(frozen=True, slots=True)
class Keys:
    """What opens the door: the token of this start, and the names that lead to this server."""

    token: str
    hosts: tuple[str, ...]

    @classmethod
    def of_port(cls, token: str, port: int) -> Keys:
        """The keys of a server on this computer's own addresses."""
        names = ("127.0.0.1", "localhost", "[::1]")
        plain = names if port == HTTP else ()  # browsers do not say the usual port
        return cls(token, (*plain, *(f"{name}:{port}" for name in names)))


class Door:
    """ASGI middleware around every route and file."""

    def __init__(self, app: ASGIApp, keys: Keys, closing: Callable[[], bool]) -> None:
        self._app = app
        self._keys = keys
        self._closing = closing

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse, or let through with a limit on what comes and headers on what goes."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
        elif scope["type"] == "http":
            await self._answer(scope, receive, _Answer(scope, send))

    async def _answer(self, scope: Scope, receive: Receive, answer: _Answer) -> None:
        try:
            self._check(scope)
            await self._app(scope, _limited(scope, receive), answer)
        except Refusal as refusal:
            await refusal_answer(refusal)(scope, receive, answer)
        except ClientDisconnect:
            return  # nobody is left to be answered
        except asyncio.CancelledError:
            if not self._closing():
                raise
            if not answer.started:
                await refusal_answer(shutting_down())(scope, receive, answer)
        except Exception:
            told = incident(scope["method"], scope["path"])
            if not answer.started:
                await refusal_answer(told)(scope, receive, answer)

    def _check(self, scope: Scope) -> None:
        headers = Headers(scope=scope)
        if self._closing():
            raise shutting_down()
        self._check_sender(headers)
        if "\0" in scope["path"]:
            raise Refusal(400, "bad_path", "The path holds a sign that no path has.")
        if is_api(scope["path"]):
            self._check_token(headers)
        _check_length(headers, body_limit(scope))

    def _check_sender(self, headers: Headers) -> None:
        """The page of this server, by its own name; not another page, not another name."""
        hosts = headers.getlist("host")
        if len(hosts) != 1 or hosts[0].lower() not in self._keys.hosts:
            raise Refusal(
                403, "wrong_host", "The address is not that of this server.",
                expected="the address that the terminal shows",
            )  # fmt: skip
        origins = headers.getlist("origin")
        if any(origin.lower() != f"http://{hosts[0].lower()}" for origin in origins):
            raise Refusal(403, "wrong_origin", "Another page asked; only this server's page may.")
        if any(site not in SITES for site in headers.getlist("sec-fetch-site")):
            raise Refusal(403, "wrong_site", "Another site asked; only this server's page may.")

    def _check_token(self, headers: Headers) -> None:
        told = headers.getlist("authorization")
        scheme, _, token = (told[0] if len(told) == 1 else "").partition(" ")
        right = secrets.compare_digest(token.strip().encode(), self._keys.token.encode())
        if scheme.lower() != "bearer" or not right:
            raise Refusal(
                401, "no_token", "Open the address that the terminal shows.",
                expected="Authorization: Bearer and the token of this start",
                headers={"WWW-Authenticate": "Bearer"},
            )  # fmt: skip


class _Answer:
    """Sends an answer with the headers of the door, and knows whether it has begun."""

    def __init__(self, scope: Scope, send: Send) -> None:
        self.started = False
        self._send = send
        self._cached = "no-store" if is_api(scope["path"]) else "no-cache"

    async def __call__(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            self.started = True
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers[name] = value
            headers.setdefault("Cache-Control", self._cached)
        await self._send(message)


def is_api(path: str) -> bool:
    """Whether a path needs the token."""
    return path == API or path.startswith(f"{API}/")


def body_limit(scope: Scope) -> int:
    """How many bytes a call may bring."""
    upload = scope["method"] == "PUT" and scope["path"].startswith(UPLOADS)
    return UPLOAD_BYTES if upload and "/files/" in scope["path"] else BODY_BYTES


def _check_length(headers: Headers, limit: int) -> None:
    told = headers.get("content-length", "0")
    if not told.isdecimal() or int(told) > limit:
        raise too_large(limit)


def shutting_down() -> Refusal:
    """A call that comes, or still runs, when the server ends: 503."""
    return Refusal(503, "shutting_down", "The server is shutting down.")


def too_large(limit: int) -> Refusal:
    """A body over its limit: 413."""
    return Refusal(
        413, "too_large", f"More than {limit} bytes were sent; nothing was kept.",
        expected=f"at most {limit} bytes", headers={"Connection": "close"},
    )  # fmt: skip


def _limited(scope: Scope, receive: Receive) -> Receive:
    """What comes in, counted; more than the limit ends the call at once."""
    limit, seen = body_limit(scope), 0

    async def counted() -> Message:
        nonlocal seen
        message = await receive()
        seen += len(message.get("body", b""))
        if seen > limit:
            raise too_large(limit)
        return message

    return counted
