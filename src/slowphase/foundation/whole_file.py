"""Writing a file as a whole: a full disk or a crash leaves the old file as it was."""

import contextlib
import os
import secrets
import shutil
from pathlib import Path


def write_whole_file(file: Path, data: bytes) -> None:
    """Write beside the file, then put the new one in its place; raises `OSError`.

    A link is followed. What is no regular file (a pipe, a device) is written straight away.
    """
    target = file.resolve()
    if target.exists() and not target.is_file():
        target.write_bytes(data)
        return
    if target.exists() and not os.access(target, os.W_OK):
        raise PermissionError(13, "the file is write-protected", str(file))
    beside = target.with_name(f".{secrets.token_hex(8)}.part")
    try:
        _write_through(beside, data)
        if target.exists():
            shutil.copymode(target, beside)
        beside.replace(target)
    finally:
        with contextlib.suppress(OSError):
            beside.unlink(missing_ok=True)


def _write_through(file: Path, data: bytes) -> None:
    """Onto the disk, not only into its cache: the old file is given up for it."""
    with file.open("xb") as stream:
        stream.write(data)
        stream.flush()
        os.fsync(stream.fileno())
