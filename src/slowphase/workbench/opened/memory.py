"""Memory: what is kept of open sessions is bounded in bytes, and what is let go is given back."""

from __future__ import annotations

import ctypes
import gc
import sys
import threading
from collections import OrderedDict
from functools import cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable

    from slowphase.workbench.traces.pyramid import Pyramid

TRACE_BYTES = 120_000_000

Key = tuple[str, str]


class TraceMemory:
    """Pyramids by trace and channel, those used last; never more than ``limit`` bytes of them.

    The pyramid that was asked for last is kept whatever its size.
    """

    def __init__(self, limit: int = TRACE_BYTES) -> None:
        self.limit = limit
        self._held: OrderedDict[Key, Pyramid] = OrderedDict()
        self._lock = threading.Lock()

    @property
    def nbytes(self) -> int:
        """Memory held."""
        with self._lock:
            return sum(pyramid.nbytes for pyramid in self._held.values())

    def get(self, key: Key, make: Callable[[], Pyramid | None]) -> Pyramid | None:
        """The pyramid of a key, made where it is not held; None where it cannot be made."""
        with self._lock:
            if key in self._held:
                self._held.move_to_end(key)
                return self._held[key]
        made = make()
        if made is None:
            return None
        with self._lock:
            self._held[key] = made
            self._held.move_to_end(key)
            self._let_go()
        return made

    def _let_go(self) -> None:
        held = sum(pyramid.nbytes for pyramid in self._held.values())
        while held > self.limit and len(self._held) > 1:
            held -= self._held.popitem(last=False)[1].nbytes


def give_back() -> None:
    """Let the operating system have what is no longer used; numbers alone do not come back."""
    gc.collect()
    trim = _trim()
    if trim is not None:
        trim(0)


@cache
def _trim() -> Any:
    """The allocator's own way of giving memory back, where there is one."""
    if not sys.platform.startswith("linux"):
        return None
    try:
        return ctypes.CDLL("libc.so.6").malloc_trim
    except (OSError, AttributeError):
        return None
