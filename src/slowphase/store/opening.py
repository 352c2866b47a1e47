"""What happened to a store since it was last open: a migration, a restore, a crash."""

import contextlib
import json
from pathlib import Path

from sqlalchemy import select

from slowphase.store.change import Change
from slowphase.store.database import Database
from slowphase.store.disk import disk_errors_told
from slowphase.store.folder import DataFolder
from slowphase.store.intake import sweep
from slowphase.store.tables import Session


def enter_into_log(change: Change, data: DataFolder, copy: Path | None) -> None:
    """Say that the store was migrated (``copy`` is the earlier database), or restored."""
    if copy is not None:
        text = "brought the store up to date; the earlier database was copied first"
        change.log("store_migrated", text, detail={"copy": copy.name})
    with contextlib.suppress(OSError, ValueError, TypeError, LookupError):
        note = json.loads(data.restored.read_bytes())
        told = {name: str(note[name]) for name in ("backup", "made_at", "restored_at")}
        text = f"restored the store from the backup {told['backup']}, made {told['made_at']}"
        change.log("store_restored", text, detail=told)


def clear_up(data: DataFolder, database: Database) -> None:
    """Take the note of a restore away, and what a crash left of imports."""
    with disk_errors_told("opening the store"):
        data.restored.unlink(missing_ok=True)
    with database.reading() as rows:
        known = set(rows.scalars(select(Session.id)))
    sweep(data, known)
