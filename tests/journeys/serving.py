"""The real server in a process of its own, as a user starts it."""

import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

ADDRESS = re.compile(r"http://127\.0\.0\.1:(\d+)/#token=(\S+)")
STARTS_S = 60.0


class Served:
    """A server on a store; it can be killed and started again on the same port."""

    def __init__(self, data: Path, *options: str) -> None:
        self.data = data
        self._options = options
        self._log = data.with_name(f"{data.name}.log")
        self.port = 0
        self.start()

    def start(self) -> None:
        """Start it, and wait for the address that it prints."""
        port = ("--port", str(self.port)) if self.port else ()
        command = [sys.executable, "-m", "slowphase", "serve", "--data", str(self.data)]
        self._log.write_bytes(b"")
        with self._log.open("ab") as log:
            self._process = subprocess.Popen(
                [*command, "--no-open", *port, *self._options],
                stdout=log,
                stderr=log,
                env={**os.environ, "PYTHONUNBUFFERED": "1"},
            )
        found = self._awaited_address()
        self.port, self.token = int(found[1]), found[2]

    def _awaited_address(self) -> re.Match[str]:
        until = time.monotonic() + STARTS_S
        while time.monotonic() < until:
            found = ADDRESS.search(self.log)
            if found:
                return found
            if self._process.poll() is not None:
                break
            time.sleep(0.05)
        raise AssertionError(f"the server did not start:\n{self.log}")

    @property
    def log(self) -> str:
        """What it printed."""
        return self._log.read_text(encoding="utf-8")

    @property
    def base(self) -> str:
        """The address without its token."""
        return f"http://127.0.0.1:{self.port}"

    @property
    def address(self) -> str:
        """The address that opens it."""
        return f"{self.base}/#token={self.token}"

    def kill(self) -> None:
        """End it without a word, as a crash would."""
        self._process.kill()
        self._process.wait()

    def stop(self) -> float:
        """End it as Ctrl-C does; returns how many seconds it took."""
        begun = time.monotonic()
        if self._process.poll() is None:
            self._process.send_signal(signal.SIGINT)
            self._process.wait(timeout=10)
        return time.monotonic() - begun
