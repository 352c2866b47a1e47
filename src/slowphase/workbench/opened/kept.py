"""What was made of a session and can be made again: kept beside the store's own files.

A trial's lines are one Parquet file, what is told of it one document, and the session's document
names them all: after an edit only what changed is written anew. Whatever is missing or broken is
made again.
"""

from __future__ import annotations

import contextlib
import logging
import secrets
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from slowphase.store.errors import StoreError
from slowphase.workbench.opened.shown import (
    Shown,
    TrialShown,
    TrialTold,
    grade_counts,
    shown_from,
    told_from,
)
from slowphase.workbench.traces.pyramid import Samples

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from slowphase.store import Store
    from slowphase.workbench.traces.lines import Lines

LOG = logging.getLogger("slowphase.workbench")
KEPT_BYTES = 600_000_000  # of one session; the oldest states go first
ROWS = 131_072  # written at once
HIGH, MISSING = "/high", "/missing"
Json = dict[str, Any]
Drawing = dict[str, str | None]  # its ``svg``, None where there was nothing to draw


@dataclass(frozen=True, slots=True)
class Kept:
    """What is kept of one session."""

    store: Store
    session: str

    def shown(self, key: str) -> Shown | None:
        """What is shown of the session, where all of it is there."""
        kept = self.store.kept_document(self.session, key)
        return None if kept is None else shown_from(key, kept)

    def keep_shown(self, shown: Shown) -> None:
        """Keep what is shown of the session; its trials are kept already."""
        with _told_if_not_kept():
            self.store.keep_document(self.session, shown.key, shown.as_kept())
            brief = {"grade_counts": grade_counts(shown.document)}
            self.store.keep_document(self.session, f"brief-{shown.key}", brief)

    def forget_shown(self, key: str) -> None:
        """Forget a state, parts of which are gone."""
        with _told_if_not_kept():
            self.store.keep_document(self.session, key, None)

    def brief(self, key: str) -> Json | None:
        """What a list of sessions tells of this one."""
        found: Json | None = self.store.kept_document(self.session, f"brief-{key}")
        return found

    def trial(self, name: str) -> TrialTold | None:
        """What is told of a trial."""
        kept = self.store.kept_document(self.session, f"trial-{name}")
        return None if kept is None else told_from(name, kept)

    def keep_trial(self, trial: TrialShown) -> bool:
        """Keep a trial's lines and what is told of it; False where that cannot be."""
        with _told_if_not_kept():
            name = trial.told.name
            file = self._file(name)
            if not file.exists():
                _write_lines(file, trial.lines)
            self.store.keep_document(self.session, f"trial-{name}", trial.told.as_kept())
            return True
        return False

    def samples(self, traces: str, channel: str) -> Samples | None:
        """A channel's samples; None where they are not kept."""
        file = self._file(traces)
        return _read_samples(file, channel) if file.is_file() else None

    def figure(self, key: str, name: str) -> Drawing | None:
        """A figure that was drawn already."""
        found: Drawing | None = self.store.kept_document(self.session, f"figure-{key}-{name}")
        return found

    def keep_figure(self, key: str, name: str, drawing: Drawing) -> None:
        """Keep a figure."""
        with _told_if_not_kept():
            self.store.keep_document(self.session, f"figure-{key}-{name}", drawing)

    def prune(self, limit: int = KEPT_BYTES) -> None:
        """Remove the oldest files while all of them take more than the limit."""
        with _told_if_not_kept():
            files = sorted(_files(self.store.made_folder(self.session)))
            total = sum(size for _, size, _ in files)
            for _, size, file in files:
                if total <= limit:
                    return
                file.unlink(missing_ok=True)
                total -= size

    def _file(self, traces: str) -> Path:
        return self.store.made_folder(self.session) / f"traces-{traces}.parquet"


def _files(folder: Path) -> Sequence[tuple[float, int, Path]]:
    told = []
    for file in folder.iterdir():
        with contextlib.suppress(OSError):
            state = file.stat()
            told.append((state.st_mtime, state.st_size, file))
    return told


class _told_if_not_kept(contextlib.AbstractContextManager[None]):  # noqa: N801
    """Nothing is lost where what can be made again cannot be kept; the log says why."""

    def __exit__(self, kind: object, error: BaseException | None, _: object) -> bool:
        if isinstance(error, OSError | StoreError):
            LOG.warning("what was made cannot be kept: %s", error)
            return True
        return False


def _write_lines(file: Path, lines: Lines) -> None:
    """Write lines as Parquet under another name, then give the file its own."""
    import polars as pl

    columns: dict[str, Any] = {}
    for id_, line in lines.lines.items():
        own = {"": line.samples.low, HIGH: line.samples.high, MISSING: line.samples.missing}
        columns |= {id_ + end: values for end, values in own.items() if values is not None}
    part = file.with_name(f".{secrets.token_hex(6)}.part")
    try:
        pl.DataFrame(columns).write_parquet(
            part, compression="lz4", statistics=False, row_group_size=ROWS
        )
        part.replace(file)
    finally:
        part.unlink(missing_ok=True)


def _read_samples(file: Path, channel: str) -> Samples | None:
    import polars as pl

    try:
        names = pl.read_parquet_schema(file)
        wanted = [channel + end for end in ("", HIGH, MISSING) if channel + end in names]
        table = pl.read_parquet(file, columns=wanted) if wanted else None
    except (OSError, pl.exceptions.PolarsError) as error:
        LOG.warning("traces that were kept cannot be read: %s", type(error).__name__)
        file.unlink(missing_ok=True)
        return None
    if table is None:
        return None
    own = {name.removeprefix(channel): table[name].to_numpy() for name in wanted}
    return Samples(own[""], own.get(HIGH), own.get(MISSING))
