"""Find out how a text trace is written: delimiter, decimal mark, header, units, first sample.

Each pair of delimiter and decimal mark is tried on the last lines of the head of the file, where
there are only samples; the pair that makes most cells numbers wins. The first sample is then the
first line whose cells are numbers, and the line above it, which has words, the header.
"""

import csv
import re
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from slowphase.recording.readers.encoding import (
    check_middle,
    find_encoding,
    not_a_trace,
    read_head,
    unreadable,
)
from slowphase.recording.readers.layout import HEAD_BYTES, MISSING_MARKS, Fault, Layout
from slowphase.recording.units import unit_of_text

_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")
_CLOCK = re.compile(r"(\d{4}-\d\d?-\d\d?[T ])?\d{1,2}:\d\d(:\d\d([.,]\d+)?)?Z?")
_BLANK = re.compile(r'\n[\s,;|"]*(?:\n|\Z)')  # finds whatever may be a blank line
_COMMENT_MARKS = ("#", "%", "//", "!")
_DELIMITERS = (",", ";", "\t", "|", " ")
_BODY_LINES = 40


@dataclass(frozen=True, slots=True)
class _Dialect:
    delimiter: str
    decimal: str

    def split(self, line: str) -> list[str]:
        if self.delimiter == " ":
            return [cell.strip("\"'") for cell in line.split()]
        if not self.delimiter:
            return [line.strip().strip("\"'")]
        if '"' in line:
            return [cell.strip() for cell in next(csv.reader([line], delimiter=self.delimiter))]
        return [cell.strip() for cell in line.split(self.delimiter)]

    def is_number(self, cell: str) -> bool:
        text = cell if self.decimal == "." else cell.replace(",", ".")
        wrong = self.decimal == "," and "." in cell
        return not wrong and _NUMBER.fullmatch(text) is not None


@dataclass(frozen=True, slots=True)
class _Body:
    """What the sample lines look like in a dialect."""

    n_columns: int
    numbers_per_line: float
    ragged: bool
    filled: int


def sniff(path: Path) -> Layout | Fault:
    """How the trace file at ``path`` is written, or why it is none."""
    head = read_head(path)
    if isinstance(head, Fault):
        return head
    if head.startswith(b"PAR1") or path.suffix.lower() == ".parquet":
        return _parquet_layout(path)
    encoding = find_encoding(head)
    if isinstance(encoding, Fault):
        return encoding
    return check_middle(path, encoding) or sniff_text(head, encoding)


def sniff_text(head: bytes, encoding: str) -> Layout | Fault:
    """The layout of a text from its first bytes."""
    text = head.decode(encoding, errors="replace").removeprefix("\ufeff")
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    lines = text.split("\n")
    if len(head) >= HEAD_BYTES:
        lines = lines[:-1]
    if not lines:
        return not_a_trace("the first line has more than 128 KiB", line=1)
    filled = (
        lines if not _BLANK.search("\n" + text) else [line for line in lines if _is_filled(line)]
    )
    if not filled:
        return Fault(
            "empty_file",
            "the file holds only blank lines",
            expected="samples",
            remedy="export the trace again",
            found="blank lines",
        )
    return _layout(lines, filled, encoding)


def _is_filled(line: str) -> bool:
    return bool(line.strip().strip(' \t,;|"'))


def _layout(lines: list[str], filled: list[str], encoding: str) -> Layout | Fault:
    dialect, body = _best_dialect(_body_sample(filled))
    if body.numbers_per_line < 0.5:
        return _no_numbers(lines)
    first = _first_sample(lines, dialect, body)
    if first is None:
        return _no_numbers(lines)
    names, units = _header(lines[:first], dialect, body.n_columns)
    return Layout(
        names=names,
        units=units,
        n_columns=max(body.n_columns, len(names)),
        encoding=encoding,
        delimiter=dialect.delimiter,
        decimal=dialect.decimal,
        skip_lines=first,
        marks=_marks(lines[first : first + 200], dialect),
        ragged=body.ragged,
        unnamed=max(body.filled - len(names), 0) if names else 0,
    )


def _body_sample(filled: list[str]) -> list[str]:
    """Lines from all but the first fifth, where the header is, and without the last ones."""
    body = filled[len(filled) // 5 :]
    body = body[:-2] if len(body) > _BODY_LINES else body
    return body[:: max(len(body) // _BODY_LINES, 1)]


def _no_numbers(lines: list[str]) -> Fault:
    line = next(number for number, line in enumerate(lines, start=1) if line.strip())
    return Fault(
        "not_a_trace",
        f'no table of numbers was found; the file begins with "{lines[line - 1].strip()[:60]}"',
        expected="lines of numbers parted by comma, semicolon, tab, bar or spaces",
        remedy="export the trace as CSV",
        found=lines[line - 1].strip()[:60],
        line=line,
    )


def _best_dialect(sample: list[str]) -> tuple[_Dialect, _Body]:
    dialects = [_Dialect(d, ".") for d in _DELIMITERS]
    dialects += [_Dialect(d, ",") for d in (";", "\t", "|", " ", ",")]
    dialects += [_Dialect("", "."), _Dialect("", ",")]
    text = "\n".join(sample)
    judged = [(d, _body(sample, d)) for d in dialects if _may_part(text, d.delimiter)]
    best = max(judged, key=_numbers_per_line, default=None)
    if best is not None and _numbers_per_line(best) > 1.0:
        return best  # where nothing is parted, a line holds one number at most
    return max(((d, _body(sample, d)) for d in dialects), key=_numbers_per_line)


def _may_part(text: str, delimiter: str) -> bool:
    """Whether a delimiter stands in the lines; for a space, any white space does."""
    if delimiter == " ":
        return any(len(line.split()) > 1 for line in text.split("\n"))
    return bool(delimiter) and delimiter in text


def _numbers_per_line(judged: tuple[_Dialect, _Body]) -> float:
    return judged[1].numbers_per_line


def _body(sample: list[str], dialect: _Dialect) -> _Body:
    rows = [dialect.split(line) for line in sample]
    widths = Counter(len(row) for row in rows)
    common = [width for width, count in widths.items() if count >= max(0.1 * len(rows), 2)]
    n_columns = max(common, default=widths.most_common(1)[0][0])
    others = [cell for row in rows for cell in row if not dialect.is_number(cell)]
    numbers = sum(map(len, rows)) - len(others)
    texts = sum(not _is_known(cell, dialect) for cell in others)
    return _Body(
        n_columns=n_columns,
        numbers_per_line=(numbers - 0.5 * texts) / len(rows),
        ragged=widths[n_columns] < 0.9 * len(rows),
        filled=int(np.median([_filled_width(row) for row in rows])),
    )


def _filled_width(cells: list[str]) -> int:
    """How many cells there are up to the last that is not empty."""
    return max((place for place, cell in enumerate(cells, start=1) if cell), default=0)


def _is_known(cell: str, dialect: _Dialect) -> bool:
    return (
        dialect.is_number(cell)
        or cell.casefold() in MISSING_MARKS
        or _CLOCK.fullmatch(cell) is not None
    )


def _first_sample(lines: list[str], dialect: _Dialect, body: _Body) -> int | None:
    for index, line in enumerate(lines):
        if _is_sample(line, dialect, body):
            following = [other for other in lines[index : index + 50] if other.strip()][:6]
            like = sum(_is_sample(other, dialect, body) for other in following)
            if like > len(following) / 2:
                return index
    return None


def _is_sample(line: str, dialect: _Dialect, body: _Body) -> bool:
    cells = dialect.split(line) if line.strip() else []
    numbers = sum(dialect.is_number(cell) for cell in cells)
    if numbers and len(cells) >= body.n_columns and all(_is_known(c, dialect) for c in cells):
        return True
    clocks = sum(_CLOCK.fullmatch(cell) is not None for cell in cells)
    return numbers + clocks >= max(0.5 * body.numbers_per_line, 0.5) and (
        body.n_columns - len(cells) <= max(body.n_columns // 2, 0)
    )


def _header(
    above: list[str], dialect: _Dialect, n_columns: int
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    filled = [line for line in above if line.strip()]
    if not filled:
        return (), ()
    last = _header_cells(filled[-1], dialect, n_columns)
    if not last:
        return (), ()
    if len(filled) > 1 and _is_units_row(last):
        names = _header_cells(filled[-2], dialect, n_columns)
        if names:
            return names, last
    return last, ()


def _header_cells(line: str, dialect: _Dialect, n_columns: int) -> tuple[str, ...]:
    """The cells of a header line, if it has as many as the samples (or words for most)."""
    for text in (line, _without_comment_mark(line)):
        cells = dialect.split(text)
        while len(cells) > n_columns and not cells[-1]:
            cells.pop()
        if len(cells) == n_columns and (text is not line or not _is_comment(line)):
            return tuple(cell.strip().strip("\"'") for cell in cells)
    cells = dialect.split(_without_comment_mark(line))
    enough = n_columns > 2 and len(cells) >= 2 and abs(len(cells) - n_columns) <= n_columns // 2
    return tuple(cell.strip().strip("\"'") for cell in cells) if enough else ()


def _is_comment(line: str) -> bool:
    return line.lstrip().startswith(_COMMENT_MARKS)


def _without_comment_mark(line: str) -> str:
    text = line.strip("\r\n") if not _is_comment(line) else line.lstrip()
    for mark in _COMMENT_MARKS:
        text = text.removeprefix(mark)
    return text.lstrip(" ") if _is_comment(line) else text


def _is_units_row(cells: tuple[str, ...]) -> bool:
    words = [cell for cell in cells if cell.strip("[]()- ")]
    known = sum(unit_of_text(cell) is not None for cell in words)
    return bool(words) and known >= max(0.5 * len(words), 1)


def _marks(lines: list[str], dialect: _Dialect) -> tuple[str, ...]:
    cells = {cell for line in lines if line.strip() for cell in dialect.split(line)}
    return tuple(sorted(c for c in cells if c and c.casefold() in MISSING_MARKS))


def _parquet_layout(path: Path) -> Layout | Fault:
    import polars as pl

    try:
        names = tuple(pl.read_parquet_schema(path))
    except (pl.exceptions.PolarsError, OSError, ValueError) as error:
        return unreadable(f"not a whole Parquet file: {str(error)[:80]}")
    return Layout(names=names, n_columns=len(names), is_parquet=True)
