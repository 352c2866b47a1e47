"""What can be made again: kept as files, removed freely, never part of a backup."""

import contextlib
import hashlib
import json
import os
import secrets
from pathlib import Path
from typing import Any

from slowphase.store.disk import disk_errors_told, make_folder, open_new, remove_tree, write_all
from slowphase.store.folder import DataFolder, checked_id


def made_folder(data: DataFolder, session: str) -> Path:
    """The folder for what is made of a session."""
    folder = data.made / checked_id(session)
    with disk_errors_told("keeping what was made of a session"):
        make_folder(folder)
    return folder


def kept_document(data: DataFolder, session: str, key: str) -> Any:
    """A document that was kept under a key; None where there is none, or none that is whole."""
    try:
        kept = json.loads(_file(data, session, key).read_bytes())
    except (OSError, ValueError, RecursionError):
        return None
    return kept["document"] if isinstance(kept, dict) and kept.get("key") == key else None


def keep_document(data: DataFolder, session: str, key: str, document: Any) -> None:
    """Keep a document of plain data under a key, in place of an earlier one."""
    text = json.dumps({"key": key, "document": document}, allow_nan=False)
    folder = made_folder(data, session)
    part = folder / f".{secrets.token_hex(6)}.part"
    with disk_errors_told("keeping what was made of a session"):
        try:
            with open_new(part) as number:  # not synced: it can be made again
                write_all(number, text.encode())
            os.replace(part, _file(data, session, key))
        finally:
            with contextlib.suppress(OSError):
                part.unlink(missing_ok=True)


def forget_made(data: DataFolder, session: str) -> None:
    """Remove everything that was made of a session."""
    with disk_errors_told("removing what was made of a session"):
        remove_tree(data.made / checked_id(session))


def _file(data: DataFolder, session: str, key: str) -> Path:
    name = hashlib.sha256(key.encode()).hexdigest()[:32]
    return data.made / checked_id(session) / f"kept-{name}.json"
