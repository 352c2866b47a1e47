"""What happened to a store since it was last open: a migration, a restore; it enters the log."""

import contextlib
import json
from pathlib import Path

from sqlalchemy import select
from sqlalchemy.orm import Session as Rows

from slowphase.store.change import Change
from slowphase.store.disk import disk_errors_told
from slowphase.store.folder import DataFolder
from slowphase.store.tables import Session


def log_migration(change: Change, copy: Path | None) -> None:
    """Say that the database was brought up to date, and where the earlier one lies."""
    if copy is not None:
        text = "brought the store up to date; the earlier database was copied first"
        change.log("store_migrated", text, detail={"copy": copy.name})


def log_restore(change: Change, data: DataFolder) -> None:
    """Say that the store was restored, where a restore left its note."""
    with contextlib.suppress(OSError, ValueError, TypeError, LookupError):
        note = json.loads(data.restored.read_bytes())
        told = {name: str(note[name]) for name in ("backup", "made_at", "restored_at")}
        change.log(
            "store_restored",
            f"restored the store from the backup {told['backup']}, made {told['made_at']}",
            detail=told,
        )


def forget_restore(data: DataFolder) -> None:
    """Take the note of a restore away: it stands in the log now."""
    with disk_errors_told("opening the store"):
        data.restored.unlink(missing_ok=True)


def session_ids(rows: Rows) -> set[str]:
    """Every session of the store."""
    return set(rows.scalars(select(Session.id)))
