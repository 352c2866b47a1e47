"""Memory: what is kept of open sessions is bounded in bytes, and what is let go is given back."""

from __future__ import annotations

import ctypes
import gc
import os
import sys
import threading
from collections import OrderedDict
from functools import cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable

    from slowphase.workbench.traces.pyramid import Pyramid

TRACE_BYTES = 60_000_000
TABLES_ALLOCATOR = "_RJEM_MALLOC_CONF"
ARENA_MAX, POOLS = -8, 2  # M_ARENA_MAX of malloc.h
MMAP_THRESHOLD, LARGE_BYTES = -3, 2_000_000  # M_MMAP_THRESHOLD: so large a block goes back at once

Key = tuple[str, str]


class TraceMemory:
    """Pyramids by picture and channel, those used last; ``limit`` bytes of them.

    The picture that was asked for last is held whole, whatever its size: it is being looked at.
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
        looked_at = next(reversed(self._held))[0]
        for key in [key for key in self._held if key[0] != looked_at]:
            if held <= self.limit:
                return
            held -= self._held.pop(key).nbytes


def give_back() -> None:
    """Let the operating system have what is no longer used; numbers alone do not come back."""
    gc.collect()
    libc = _libc()
    if libc is not None:
        libc.malloc_trim(0)


def hold_little() -> None:
    """Have all threads share a few pools of memory, and large blocks stand outside them.

    A pool for each thread, and blocks of a whole trial among small ones, hold much that nobody
    uses. The reader of tables, which is loaded later, has an allocator of its own, and reads its
    settings then.
    """
    os.environ.setdefault(TABLES_ALLOCATOR, "dirty_decay_ms:0,muzzy_decay_ms:0")
    libc = _libc()
    if libc is not None:
        libc.mallopt(ARENA_MAX, POOLS)
        libc.mallopt(MMAP_THRESHOLD, LARGE_BYTES)


@cache
def _libc() -> Any:
    """The allocator's own switches, where there are any."""
    if not sys.platform.startswith("linux"):
        return None
    try:
        libc = ctypes.CDLL("libc.so.6")
        return libc if libc.malloc_trim and libc.mallopt else None
    except (OSError, AttributeError):
        return None
