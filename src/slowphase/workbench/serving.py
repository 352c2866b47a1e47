"""Starting and ending the server: a socket on this computer alone, a token for this start."""

from __future__ import annotations

import contextlib
import logging
import os
import secrets
import signal
import socket
import threading
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import uvicorn

from slowphase.foundation.errors import UsageError
from slowphase.workbench.app import create_app
from slowphase.workbench.opened.memory import hold_little

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from slowphase.store import Store
    from slowphase.workbench.house import House

    Ready = Callable[[str, House], None]

LOOPBACK = "127.0.0.1"
END_S = 1  # that a call may still take after Ctrl-C
LAST_S = 1.7  # then the process ends, whatever still runs: the store keeps nothing half done
WAITING = 128  # connections


@dataclass(frozen=True, slots=True)
class Place:
    """Where the server listens, and the token of this start."""

    listening: socket.socket
    token: str

    @property
    def port(self) -> int:
        """The port."""
        return int(self.listening.getsockname()[1])

    @property
    def address(self) -> str:
        """The address to open; what follows the # is never sent to any server."""
        return f"http://{LOOPBACK}:{self.port}/#token={self.token}"


def take_place(port: int) -> Place:
    """Listen on a port of this computer alone, a free one for 0; raises `UsageError`."""
    # The protocol is named so that answers are not held back to be sent together (TCP_NODELAY).
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    if os.name == "posix":  # a port that just ended may be taken again
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((LOOPBACK, port))
        listening.listen(WAITING)
    except (OSError, OverflowError) as error:
        listening.close()
        reason = getattr(error, "strerror", None) or str(error)
        raise UsageError(f"port {port} cannot be used: {reason}; choose another --port") from error
    return Place(listening, secrets.token_urlsafe(32))


def serve(store: Store, place: Place, ready: Ready) -> None:
    """Answer until the process is asked to end; ``ready`` is told the address, and what runs."""
    hold_little()
    logging.getLogger("slowphase.workbench").addHandler(logging.StreamHandler())
    server = Server.around(store, place)
    threading.Thread(target=server.house.room.load, name="slowphase-load", daemon=True).start()
    ready(place.address, server.house)
    server.run(sockets=[place.listening])


class Server(uvicorn.Server):
    """Ends within two seconds of being asked to, and does not ask itself again."""

    @classmethod
    def around(cls, store: Store, place: Place) -> Server:
        """A server of an open store, not running yet."""
        app = create_app(store, place.token, port=place.port)
        config = uvicorn.Config(
            app, log_config=None, access_log=False, server_header=False, proxy_headers=False,
            ws="none", lifespan="off", timeout_graceful_shutdown=END_S,
        )  # fmt: skip
        return cls(config, app.state.house)

    def __init__(self, config: uvicorn.Config, house: House) -> None:
        super().__init__(config)
        self.house = house

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        """Take what ends a process, while the server runs."""
        ending = [signal.SIGINT, signal.SIGTERM]
        if threading.current_thread() is not threading.main_thread():
            yield
            return
        before = {one: signal.signal(one, self.handle_exit) for one in ending}
        try:
            yield
        finally:
            for one, handler in before.items():
                signal.signal(one, handler)

    def handle_exit(self, sig: int, frame: Any) -> None:
        """Answer nothing more; the last resort is a process that ends by itself."""
        if not self.house.closing:
            self.house.close()
            last = threading.Timer(LAST_S, os._exit, (0,))
            last.daemon = True
            last.start()
        super().handle_exit(sig, frame)
