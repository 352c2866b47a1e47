"""A table as text: its encoding, delimiter and decimal mark are found; every row keeps its line."""

import csv
import re
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from slowphase.foundation.errors import InputError
from slowphase.foundation.problem import Problem
from slowphase.recording.readers.encoding import find_encoding, read_head
from slowphase.recording.readers.layout import Fault
from slowphase.recording.report_problem import make_problem, quote

PROBLEM = "invalid_healthy_table"
MISSING = ("", "NA")
DELIMITERS = (";", "\t", ",")
_NUMBER = re.compile(r"[+-]?(\d+[.,]?\d*|[.,]\d+)([eE][+-]?\d+)?")
Cells = dict[str, str | None]
Row = dict[str, Any]


def read_text_rows(file: Path) -> list[tuple[int, Cells]]:
    """Each row with its line in the file: column name to cell, stripped; None where nothing stands.

    The first line names the columns. Raises `InputError` for a file that is no text, and for every
    row with more or fewer cells than columns.
    """
    lines = _text(file).splitlines(keepends=True)
    reader = csv.reader(lines, delimiter=_delimiter(lines[0] if lines else ""))
    try:
        rows = [(reader.line_num, [cell.strip() for cell in row]) for row in reader if any(row)]
    except csv.Error as error:
        what = f"it cannot be read as a table: {error}"
        raise InputError([_problem(file, what, "cells parted by comma, semicolon or tab",
                                   line=reader.line_num)]) from error  # fmt: skip
    names = rows[0][1] if rows else []
    problems = [*_wrong_names(file, names), *_wrong_lengths(file, names, rows[1:])]
    if problems:
        raise InputError(problems)
    return [
        (line, {name: None if cell in MISSING else cell
                for name, cell in zip(names, cells, strict=True)})
        for line, cells in rows[1:]
    ]  # fmt: skip


def decimal_mark(cells: Iterable[str | None]) -> str:
    """The comma where numbers are written with it and none with a point; else the point."""
    numbers = [cell for cell in cells if cell is not None and _NUMBER.fullmatch(cell)]
    commas = any("," in cell for cell in numbers)
    return "," if commas and not any("." in cell for cell in numbers) else "."


def with_numbers(cells: Mapping[str, str | None], numbers: Iterable[str], decimal: str) -> Row:
    """A row with the numbers of the columns ``numbers`` as floats; what is none stays text."""
    wanted = set(numbers)
    return {
        name: _number(cell, decimal) if name in wanted else cell for name, cell in cells.items()
    }


def _number(cell: str | None, decimal: str) -> float | str | None:
    other = "." if decimal == "," else ","
    if cell is None or other in cell or not _NUMBER.fullmatch(cell):
        return cell
    return float(cell.replace(decimal, "."))


def _text(file: Path) -> str:
    head = read_head(file)
    encoding = head if isinstance(head, Fault) else find_encoding(head)
    if isinstance(encoding, Fault):
        raise InputError([_problem(file, encoding.what, "a .csv with a header, as text")])
    try:
        return file.read_text(encoding=encoding).removeprefix("\ufeff")
    except (OSError, UnicodeDecodeError) as error:
        what = f"it cannot be read as a table: {error}"
        raise InputError([_problem(file, what, "a .csv with a header, as text")]) from error


def _delimiter(header: str) -> str:
    """The mark that parts the names of the columns most often; the comma where none does."""
    counts = {mark: len(next(csv.reader([header], delimiter=mark), [])) for mark in DELIMITERS}
    most = max(counts.values())
    return next(mark for mark in reversed(DELIMITERS) if counts[mark] == most)


def _wrong_names(file: Path, names: list[str]) -> Iterator[Problem]:
    for name in dict.fromkeys(names):
        if names.count(name) > 1:
            what = f"{names.count(name)} columns are named {quote(name)}"
            yield _problem(file, what, "a name of its own for each column", line=1)


def _wrong_lengths(
    file: Path, names: list[str], rows: Iterable[tuple[int, list[str]]]
) -> Iterator[Problem]:
    for line, cells in rows:
        if len(cells) != len(names):
            what = f"found {len(cells)} cell{'' if len(cells) == 1 else 's'}"
            yield _problem(file, what, f"{len(names)}, one for each column", line=line)


def _problem(file: Path, what: str, expected: str, *, line: int | None = None) -> Problem:
    return make_problem(
        PROBLEM, what, expected=expected, remedy="correct it", file=file.name, line=line
    )
