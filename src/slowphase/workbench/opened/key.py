"""What makes an analysis the same: kept documents are found by it."""

from __future__ import annotations

import hashlib
import json
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import slowphase
from slowphase.analysis.settings import Settings
from slowphase.edits.file import edit_entry
from slowphase.foundation.version import __version__

if TYPE_CHECKING:
    from slowphase.edits.edit import Edits
    from slowphase.store.rows import SessionRow

SOURCES, STATIC = (".py", ".toml", ".json", ".html"), "static"
LAYOUT = 1  # of what is kept; another one makes all of it again


def analysis_key(session: SessionRow, edits: Edits, reference_digest: str) -> str:
    """The name of everything that is made of a session with these edits and references."""
    told = [
        LAYOUT,
        __version__,
        code_digest(),
        _settings_digest(),
        session.input_digest,
        sorted((file.path, file.sha256) for file in session.files),
        reference_digest,
        [edit_entry(edit) for edit in edits.log],
    ]
    return hashlib.sha256(json.dumps(told, sort_keys=True).encode()).hexdigest()[:40]


@cache
def code_digest() -> str:
    """A digest of every source and table of Slowphase: a version may change while it is made."""
    package = Path(slowphase.__file__).parent
    files = sorted(f for f in package.rglob("*") if f.suffix in SOURCES and STATIC not in f.parts)
    digest = hashlib.sha256()
    for file in files:
        digest.update(f"{file.relative_to(package).as_posix()}\0".encode())
        digest.update(file.read_bytes())
    return digest.hexdigest()


@cache
def _settings_digest() -> str:
    return Settings().digest()
