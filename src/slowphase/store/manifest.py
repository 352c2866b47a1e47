"""What a backup says it holds: ``backup.json``."""

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass

from slowphase.foundation.problem import Problem
from slowphase.foundation.version import __version__
from slowphase.store.backup_parts import Reader
from slowphase.store.errors import StoreError
from slowphase.store.rows import OriginalFile

FORMAT, SCHEMA = "slowphase backup", 1
MANIFEST, DATABASE = "backup.json", "store.sqlite"


@dataclass(frozen=True, slots=True)
class Manifest:
    """When a backup was made, and every file in it with its size and digest."""

    made_at: str
    files: tuple[OriginalFile, ...]


def manifest_text(at: str, files: Sequence[OriginalFile], problems: Sequence[Problem]) -> str:
    """The manifest of a new backup; ``problems`` are those of the originals."""
    content = {
        "format": FORMAT,
        "schema": SCHEMA,
        "made_at": at,
        "software": __version__,
        "files": [asdict(file) for file in files],
        "problems": [problem.message for problem in problems],
    }
    return json.dumps(content, ensure_ascii=False, indent=1) + "\n"


def read_manifest(opened: Reader, name: str) -> Manifest:
    """What a backup says it holds; raises `StoreError` for what is no backup."""
    try:
        content = json.loads(opened.text(MANIFEST))
        if content["format"] == FORMAT and content["schema"] == SCHEMA:
            return Manifest(str(content["made_at"]), tuple(map(_file, content["files"])))
    except (OSError, LookupError, TypeError, ValueError, RecursionError) as error:
        raise StoreError(
            f"{name} is no backup of Slowphase: expected one with a whole {MANIFEST}"
        ) from error
    raise StoreError(
        f"{name} has another form of backup: expected “{FORMAT}”, form {SCHEMA}; "
        "a newer version of Slowphase may have made it"
    )


def _file(told: dict[str, object]) -> OriginalFile:
    path, size, sha256 = told["path"], told["bytes"], told["sha256"]
    if isinstance(path, str) and isinstance(size, int) and isinstance(sha256, str):
        return OriginalFile(path, size, sha256)
    raise ValueError("the entry names no file")
