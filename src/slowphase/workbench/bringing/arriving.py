"""Files that come in: each to its place in the import's folder, and to no other."""

from __future__ import annotations

import contextlib
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from slowphase.recording.read import TRACE_SUFFIXES
from slowphase.recording.write import RESERVED
from slowphase.store.disk import disk_errors_told
from slowphase.workbench.refusals import Refusal

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Iterator

FILES, SESSION_FILE = "files", "session.toml"
TAKEN = (*sorted(TRACE_SUFFIXES), ".toml")
PART = ".part"
DEEPEST, LONGEST = 8, 200
FORBIDDEN = set('<>:"|?*\\')
FILES_MOST = 2000


@dataclass(frozen=True, slots=True)
class Arrived:
    """The files of an import: ``root`` is the folder that will be the session's."""

    root: Path
    files: tuple[tuple[str, int], ...]

    @property
    def described(self) -> bool:
        """Whether a session.toml came with them."""
        return (self.root / SESSION_FILE).is_file()

    @property
    def traces(self) -> tuple[str, ...]:
        """The trace files, relative to the root."""
        return tuple(path for path, _ in self.files if Path(path).suffix.lower() in TRACE_SUFFIXES)


def checked_path(path: str) -> str:
    """A path below the import's folder; raises `Refusal` (422) for one that leads elsewhere."""
    parts = path.split("/")
    fine = (
        0 < len(parts) <= DEEPEST and all(_is_name(part) for part in parts) and len(path) <= LONGEST
    )
    if not fine:
        raise Refusal(
            422, "bad_file_name", "This is no path that a file of a session may have.",
            found=path[:LONGEST], expected="names of files and folders, parted by /",
        )  # fmt: skip
    if not path.lower().endswith(TAKEN):
        raise Refusal(
            422, "file_type", f"{parts[-1]} is no recording and no session.toml.",
            found=Path(path).suffix or "no suffix", expected=", ".join(TAKEN),
        )  # fmt: skip
    return path


def _is_name(part: str) -> bool:
    """Whether a part of a path is a plain name on every system."""
    plain = part.isprintable() and not FORBIDDEN & set(part) and part.strip(" .") == part
    return bool(part) and plain and part.split(".", maxsplit=1)[0].upper() not in RESERVED


async def take(folder: Path, path: str, body: AsyncIterator[bytes]) -> int:
    """Write a file as it comes; nothing is left of one that broke off. Returns its size."""
    target = folder / FILES / checked_path(path)
    part, size = target.with_name(target.name + PART), 0
    _check_room(folder, target)
    with disk_errors_told(f"taking in {target.name}"):
        target.parent.mkdir(parents=True, exist_ok=True)
        try:
            with part.open("wb") as opened:
                async for piece in body:
                    opened.write(piece)
                    size += len(piece)
            part.replace(target)
        finally:
            with contextlib.suppress(OSError):
                part.unlink(missing_ok=True)
    return size


def _check_room(folder: Path, target: Path) -> None:
    files = folder / FILES
    there = [path for path in files.rglob("*") if path.is_file()] if files.is_dir() else []
    if len(there) >= FILES_MOST and target not in there:
        raise Refusal(
            422, "too_many_files", f"An import holds at most {FILES_MOST} files.",
            expected="the files of one session",
        )  # fmt: skip
    same = [path for path in there if str(path).casefold() == str(target).casefold()]
    if same and target not in same:
        raise Refusal(
            422, "bad_file_name", f"{target.name} differs from another file only in case.",
            expected="names that differ in more", found=target.name,
        )  # fmt: skip


def check_removable(folder: Path) -> None:
    """Raise `Refusal` (409) for the files of a session that lost its place in the database."""
    if (folder / SESSION_FILE).exists():
        raise Refusal(
            409, "kept", "These are the files of a session that the database does not know.",
            expected="the database as it was: put it back, or bring the folder in again by hand",
        )  # fmt: skip


def arrived(folder: Path) -> Arrived:
    """What has come; raises `Refusal` (422) where it is more than one session."""
    files = folder / FILES
    files.mkdir(exist_ok=True)
    told = [path.parent for path in files.rglob(SESSION_FILE) if path.is_file()]
    if len(told) > 1:
        raise Refusal(
            422, "several_sessions", f"{len(told)} session.toml came.",
            expected="one session at a time: one session.toml with its files",
        )  # fmt: skip
    root = told[0] if told else files
    return Arrived(root, tuple(_listed(root)))


def _listed(root: Path) -> Iterator[tuple[str, int]]:
    for path in sorted(root.rglob("*")):
        if path.is_file() and not path.name.endswith(PART):
            yield path.relative_to(root).as_posix(), path.stat().st_size
