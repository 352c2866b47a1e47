"""A text file as blocks of whole lines in plain form: UTF-8, Unix line ends, decimal points."""

import codecs
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from slowphase.recording.readers.encoding import not_a_trace
from slowphase.recording.readers.layout import Fault, Layout

BLOCK_BYTES = 16 * 2**20
MAX_LINE_BYTES = 2**20
_QUOTED = re.compile(rb'"([^"\n]*)"')
_COMMENT = re.compile(rb"^[ \t]*#[^\n]*", flags=re.MULTILINE)
_SPACES = re.compile(rb"[ \t]+")


@dataclass(frozen=True, slots=True)
class Block:
    """Whole lines of samples; ``first_line`` (from 1) is that of the first in the file."""

    content: bytes
    first_line: int
    is_last: bool
    ends_open: bool


def read_blocks(path: Path, layout: Layout) -> Iterator[Block | Fault]:
    """The sample lines of a file, block by block; the header is left out.

    A line longer than ``MAX_LINE_BYTES`` ends the reading with a fault.
    """
    to_skip, line = layout.skip_lines, 1
    for content, is_last in _whole_lines(_decoded(path, layout.encoding)):
        if is_last and len(content) > MAX_LINE_BYTES:
            yield not_a_trace("the line is longer than 1 MiB", line=line)
            return
        n_lines = count_lines(content)
        body, skipped = _without_lines(content, to_skip)
        to_skip -= skipped
        if to_skip == 0:
            body = body.rstrip(b"\x1a") if is_last else body
            ends_open = is_last and not body.endswith(b"\n")
            yield Block(make_plain(body, layout), line + skipped, is_last, ends_open)
        line += n_lines


def count_lines(content: bytes) -> int:
    """How many line ends there are; line ends are too near one another to look for each."""
    return int(np.count_nonzero(np.frombuffer(content, dtype=np.uint8) == ord("\n")))


def make_plain(content: bytes, layout: Layout) -> bytes:
    """Lines with decimal points and without quotes, runs of spaces and spaces at delimiters."""
    delimiter = layout.delimiter.encode()
    if b"#" in content:
        content = _COMMENT.sub(b"", content)
    if b'"' in content:
        swap = (delimiter, b"." if layout.decimal == layout.delimiter else b" ")
        content = _QUOTED.sub(
            lambda match: match[1].replace(*swap) if swap[0] else match[1], content
        )
        content = content.replace(b'"', b"")
    if layout.decimal == "," and layout.delimiter != ",":
        content = content.replace(b",", b".")
    return _without_padding(content, delimiter)


def _without_padding(content: bytes, delimiter: bytes) -> bytes:
    if delimiter == b" ":
        content = _SPACES.sub(b" ", content)
        return content.replace(b"\n ", b"\n").replace(b" \n", b"\n").strip(b" ")
    if b" " not in content or not delimiter:
        return content
    while delimiter + b" " in content or b" " + delimiter in content:
        content = content.replace(delimiter + b" ", delimiter).replace(b" " + delimiter, delimiter)
    return content.replace(b"\n ", b"\n").replace(b" \n", b"\n")


def _decoded(path: Path, encoding: str) -> Iterator[bytes]:
    decoder = (
        None if encoding.startswith("utf-8") else codecs.getincrementaldecoder(encoding)("replace")
    )
    with path.open("rb") as stream:
        is_first = True
        while chunk := stream.read(BLOCK_BYTES):
            if decoder is not None:
                chunk = decoder.decode(chunk).encode()
            yield chunk.removeprefix(b"\xef\xbb\xbf") if is_first else chunk
            is_first = False


def _whole_lines(chunks: Iterator[bytes]) -> Iterator[tuple[bytes, bool]]:
    rest = b""
    for chunk in chunks:
        content = rest + chunk
        held = b"\r" if content.endswith(b"\r") else b""
        content = _unix(content[:-1] if held else content)
        cut = content.rfind(b"\n") + 1
        rest = content[cut:] + held
        if cut:
            yield content[:cut], False
        if len(rest) > MAX_LINE_BYTES:
            break
    yield _unix(rest), True


def _unix(content: bytes) -> bytes:
    if b"\r" not in content:
        return content
    return content.replace(b"\r\n", b"\n").replace(b"\r", b"\n")


def _without_lines(content: bytes, count: int) -> tuple[bytes, int]:
    """``content`` without its first ``count`` lines, and how many there were to take."""
    start = 0
    for taken in range(count):
        end = content.find(b"\n", start)
        if end < 0:
            return b"", taken
        start = end + 1
    return content[start:], count
