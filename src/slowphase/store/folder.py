"""The data folder: where what lies, ids, and who may read it."""

import os
import secrets
from dataclasses import dataclass
from pathlib import Path

from slowphase.store.disk import disk_errors_told, make_folder
from slowphase.store.errors import StoreError, StoreMissing

ID_SIGNS = "abcdefghijkmnpqrstuvwxyz23456789"  # none that is read for another
ID_LENGTH = 10
PATH_LONGEST = 480  # SQLite opens none of more than about 500


@dataclass(frozen=True, slots=True)
class DataFolder:
    """The places of one store."""

    root: Path

    @property
    def database(self) -> Path:
        """The database, which holds the truth."""
        return self.root / "store.sqlite"

    @property
    def lock(self) -> Path:
        """Held while a store is open for writing."""
        return self.root / "store.lock"

    @property
    def holder(self) -> Path:
        """Says who holds the lock."""
        return self.lock.with_suffix(".holder")

    @property
    def restored(self) -> Path:
        """Left by a restore, until it stands in the log."""
        return self.root / "restored.json"

    @property
    def sessions(self) -> Path:
        """The files of the sessions as they came."""
        return self.root / "sessions"

    @property
    def made(self) -> Path:
        """What can be made again."""
        return self.root / "made"

    @property
    def incoming(self) -> Path:
        """Files of imports that are not confirmed."""
        return self.root / "incoming"

    @property
    def before_migration(self) -> Path:
        """Copies of the database before each migration."""
        return self.root / "before-migration"

    def make(self) -> None:
        """Make the folders that are missing; only their owner may look into them."""
        for folder in (self.root, self.sessions, self.made, self.incoming, self.before_migration):
            make_folder(folder)

    def check_ours(self) -> None:
        """Raise `StoreError` for a folder in which something else lies, or the database lacks."""
        if len(os.fsencode(self.database)) > PATH_LONGEST:
            raise StoreError(f"{self.root}: expected a path of at most {PATH_LONGEST} bytes")
        if self.root.exists() and not self.root.is_dir():
            raise StoreError(f"{self.root} is no folder: expected a new, empty or store folder")
        if not self.root.is_dir():
            return
        there = self.database.exists()
        lost = not there or self.database.stat().st_size == 0
        if lost and self.sessions.is_dir() and any(self.sessions.iterdir()):
            raise StoreError(
                f"{self.root} holds sessions and no {self.database.name}: put the database back, "
                "or restore the store from a backup into another folder"
            )
        if there:
            return
        ours = (self.lock, self.holder, self.sessions, self.made, self.incoming,
                self.before_migration)  # fmt: skip
        others = sorted(path.name for path in self.root.iterdir() if path not in ours)
        if others:
            raise StoreError(
                f"{self.root} holds {others[0]} and no store: expected a new or empty folder"
            )

    def imports(self) -> tuple[str, ...]:
        """The ids of all imports that are not confirmed."""
        return tuple(sorted(path.name for path in folders_of_ids(self.incoming)))

    def new_import(self) -> str:
        """Make a folder for files that come in; returns its id."""
        made = new_id()
        with disk_errors_told("beginning an import"):
            make_folder(self.incoming / made)
        return made

    def import_folder(self, import_id: str) -> Path:
        """The folder of an import; raises `StoreMissing` without one."""
        folder = self.incoming / checked_id(import_id)
        if not folder.is_dir():
            raise StoreMissing(f"there is no import {import_id} in the store")
        return folder


def new_id() -> str:
    """A short random id that may stand in a path and an address."""
    return "".join(secrets.choice(ID_SIGNS) for _ in range(ID_LENGTH))


def is_id(text: str) -> bool:
    """Whether a text is an id, and may stand in a path."""
    return len(text) == ID_LENGTH and set(text) <= set(ID_SIGNS)


def folders_of_ids(folder: Path) -> list[Path]:
    """The folders whose names are ids; what a system puts beside them is not ours."""
    return [path for path in folder.iterdir() if is_id(path.name) and path.is_dir()]


def checked_id(text: str) -> str:
    """An id as it may stand in a path; raises `StoreMissing`."""
    if not is_id(text):
        raise StoreMissing(f"{text[:40]!r} is no id: expected {ID_LENGTH} letters and digits")
    return text
