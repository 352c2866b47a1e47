"""An import read as it is described now: its trials' lines, and what is wrong."""

from __future__ import annotations

import hashlib
import threading
from collections import OrderedDict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from slowphase.foundation.errors import InputError
from slowphase.recording.read import read_session
from slowphase.workbench.refusals import not_found
from slowphase.workbench.traces.lines import lines_of
from slowphase.workbench.traces.pyramid import make_pyramid
from slowphase.workbench.traces.window import window_bytes

if TYPE_CHECKING:
    from collections.abc import Sequence

    from slowphase.foundation.problem import Problem
    from slowphase.workbench.bringing.arriving import Arrived
    from slowphase.workbench.traces.lines import Lines
    from slowphase.workbench.traces.pyramid import Pyramid

KEPT = 2  # imports whose traces stay in memory


@dataclass(slots=True)
class Preview:
    """The lines of every trial by its id; ``usable`` says whether the session can be read."""

    key: str
    lines: dict[str, Lines]
    problems: tuple[Problem, ...]
    usable: bool
    pyramids: dict[tuple[str, str], Pyramid] = field(default_factory=dict)

    def window(
        self, trial: str, channels: Sequence[str], span: tuple[float | None, float | None], n: int
    ) -> bytes:
        """A window of some channels of a trial in ``n`` columns; 404 for what is not there."""
        own = self.lines.get(trial)
        if own is None:
            raise not_found("trial", trial, ", ".join(self.lines) or "none")
        unknown = next((channel for channel in channels if channel not in own.lines), None)
        if unknown is not None:
            raise not_found("channel", unknown, ", ".join(own.lines))
        shown = {channel: self._pyramid(trial, channel) for channel in channels}
        start, stop = span
        whole = (
            own.grid.start_s if start is None else start,
            own.grid.stop_s if stop is None else stop,
        )
        return window_bytes(own.grid, shown, whole, n)

    def _pyramid(self, trial: str, channel: str) -> Pyramid:
        key = trial, channel
        if key not in self.pyramids:
            self.pyramids[key] = make_pyramid(self.lines[trial].lines[channel].samples)
        return self.pyramids[key]


class Previews:
    """The last imports that were looked at, by their ids."""

    def __init__(self) -> None:
        self._kept: OrderedDict[str, Preview] = OrderedDict()
        self._lock = threading.Lock()

    def of(self, import_id: str, found: Arrived, text: str | None) -> Preview:
        """The preview of an import; ``text`` stands for a session.toml that did not come."""
        key = _key(found, text)
        with self._lock:
            known = self._kept.get(import_id)
            if known is None or known.key != key:
                known = self._kept[import_id] = _read(key, found, text)
            self._kept.move_to_end(import_id)
            while len(self._kept) > KEPT:
                self._kept.popitem(last=False)
            return known

    def forget(self, import_id: str) -> None:
        """Let go of an import's traces."""
        with self._lock:
            self._kept.pop(import_id, None)


def _key(found: Arrived, text: str | None) -> str:
    told = [(path, size, (found.root / path).stat().st_mtime_ns) for path, size in found.files]
    return hashlib.sha256(repr((told, text)).encode()).hexdigest()


def _read(key: str, found: Arrived, text: str | None) -> Preview:
    try:
        session = read_session(found.root, text=text)
    except InputError as error:
        return Preview(key, {}, error.problems, usable=False)
    lines = {trial.id: lines_of(trial, None) for trial in session.trials}
    drawn = {id_: own for id_, own in lines.items() if own.lines}
    return Preview(key, drawn, session.problems, usable=True)
