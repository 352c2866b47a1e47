"""Whether the bytes of a file are text at all, and in which encoding."""

from pathlib import Path

from slowphase.recording.readers.layout import HEAD_BYTES, MAX_FILE_BYTES, Fault

_BOMS = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be"))
_CONTROL = bytes(set(range(32)) - set(b"\t\n\r\f\x1a"))
_LOOKS = 5


def read_head(path: Path) -> bytes | Fault:
    """The first 128 KiB of a file, or why it cannot be a trace file."""
    try:
        if not path.is_file():
            return missing_file(path)
        size = path.stat().st_size
        with path.open("rb") as stream:
            head = stream.read(HEAD_BYTES)
    except (OSError, ValueError) as error:
        return unreadable(str(getattr(error, "strerror", None) or error))
    return _size_fault(size) or head


def find_encoding(head: bytes) -> str | Fault:
    """The encoding of a text, from its byte order mark, its zero bytes and its decoding."""
    for mark, encoding in _BOMS:
        if head.startswith(mark):
            return encoding
    if head.startswith(b"PK\x03\x04") or head.startswith(b"\xd0\xcf\x11\xe0"):
        return not_a_trace("the file is a spreadsheet or an archive")
    if b"\0" in head:
        return _utf16_by_zeros(head)
    if _control_share(head) > 0.001:
        return not_a_trace("the file holds binary data")
    return _by_decoding(head)


def check_middle(path: Path, encoding: str) -> Fault | None:
    """Look into a large file at a few places before it is read as a whole."""
    size = path.stat().st_size
    if size <= 4 * HEAD_BYTES or encoding.startswith("utf-16"):
        return None
    with path.open("rb") as stream:
        for look in range(1, _LOOKS + 1):
            stream.seek(size * look // (_LOOKS + 1))
            if fault := _chunk_fault(stream.read(HEAD_BYTES // 2)):
                return fault
    return None


def missing_file(path: Path) -> Fault:
    """The fault of a file that is not there."""
    return Fault(
        "missing_file",
        f"there is no file {path.name}",
        expected="the trace file that the trial names",
        remedy="copy it into the session folder or correct the key file",
        found=path.name,
    )


def unreadable(reason: str) -> Fault:
    """The fault of a file that the system or its own format does not let us read."""
    return Fault(
        "unreadable_file",
        f"the file could not be read ({reason})",
        expected="a trace file that can be opened",
        remedy="export it again or allow reading it",
        found=reason,
    )


def not_a_trace(what: str, *, line: int | None = None) -> Fault:
    """The fault of a file whose content is no table of numbers."""
    return Fault(
        "not_a_trace",
        what,
        expected="a table of numbers as text (.csv .tsv .txt) or Parquet",
        remedy="export the trace as CSV",
        found=what,
        line=line,
    )


def _size_fault(size: int) -> Fault | None:
    if size == 0:
        return Fault(
            "empty_file",
            "the file has 0 bytes",
            expected="samples",
            remedy="export the trace again",
            found="0 bytes",
        )
    if size > MAX_FILE_BYTES:
        return Fault(
            "file_too_large",
            f"the file has {size / 2**20:.0f} MiB",
            expected=f"at most {MAX_FILE_BYTES // 2**20} MiB",
            remedy="export the trial alone, or as Parquet",
            found=f"{size} bytes",
        )
    return None


def _chunk_fault(chunk: bytes) -> Fault | None:
    if b"\0" in chunk or _control_share(chunk) > 0.001:
        return not_a_trace("the file holds binary data after its beginning")
    if b"\n" not in chunk and b"\r" not in chunk:
        return not_a_trace("the file holds a line of more than 64 KiB")
    return None


def _utf16_by_zeros(head: bytes) -> str | Fault:
    even, odd = head[0::2].count(0), head[1::2].count(0)
    half = max(len(head) // 2, 1)
    if odd > 0.7 * half and even < 0.05 * half:
        return "utf-16-le"
    if even > 0.7 * half and odd < 0.05 * half:
        return "utf-16-be"
    return not_a_trace("the file holds binary data")


def _control_share(content: bytes) -> float:
    return (len(content) - len(content.translate(None, _CONTROL))) / max(len(content), 1)


def _by_decoding(head: bytes) -> str:
    try:
        head[: max(len(head) - 4, 1)].decode("utf-8") if len(head) >= HEAD_BYTES else head.decode(
            "utf-8"
        )
    except UnicodeDecodeError as error:
        cut = len(head) >= HEAD_BYTES and error.start > len(head) - 8
        return "utf-8" if cut else "cp1252"
    return "utf-8"
