"""The rows of the clinic's file of checks, read strictly: an altered row would alter phases."""

from __future__ import annotations

import csv
import io
from datetime import date
from math import isfinite
from typing import TYPE_CHECKING, get_args

from slowphase.foundation.errors import UsageError
from slowphase.foundation.reasons import Grade
from slowphase.recording.eye_delay import DELAY_MAX_S

if TYPE_CHECKING:
    from pathlib import Path

FIELDS = ("date", "recorder", "measure", "value", "low", "high", "unit", "grade", "input_digest")
DELAY = "check/delay"
NUMBERS = ("value", "low", "high")
Row = dict[str, str]


def kept(file: Path) -> list[Row]:
    """Every row of the clinic's file; none where there is no file yet.

    Raises `UsageError` with file, line, what was found and what was expected for the first row
    that was not written so by `--keep`. A byte-order mark, which spreadsheets add, is left out.
    """
    if not file.exists():
        return []
    try:
        text = file.read_text(encoding="utf-8-sig")
        lines = _lines(text)
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise UsageError(f"{file} cannot be read as a file of checks: {error}") from error
    if not lines or tuple(lines[0][1]) != FIELDS:
        raise UsageError(
            f"{file} is no file of checks: its first line is {text[:60].splitlines()[:1]}, "
            f"expected {','.join(FIELDS)}"
        )
    return [_row_of(cells, f"{file}, line {number}") for number, cells in lines[1:]]


def _lines(text: str) -> list[tuple[int, list[str]]]:
    """The cells of each line that is not empty, with its number."""
    reader = csv.reader(io.StringIO(text), strict=True)
    return [(reader.line_num, cells) for cells in reader if cells]


def _row_of(cells: list[str], where: str) -> Row:
    if len(cells) != len(FIELDS):
        raise _wrong(where, f"{len(cells)} cells", f"{len(FIELDS)}: {','.join(FIELDS)}")
    row = dict(zip(FIELDS, cells, strict=True))
    _check_words(row, where)
    _check_numbers(row, where)
    if row["measure"] == DELAY:
        _check_delay(row, where)
    return row


def _check_words(row: Row, where: str) -> None:
    if not _is_date(row["date"]):
        raise _wrong(where, f"the date {row['date']!r}", "year-month-day, such as 2026-03-02")
    if row["grade"] not in get_args(Grade):
        raise _wrong(where, f"the grade {row['grade']!r}", f"one of {', '.join(get_args(Grade))}")
    if not row["measure"].strip():
        raise _wrong(where, "no measure", "one in every row")


def _is_date(text: str) -> bool:
    try:
        return date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def _check_numbers(row: Row, where: str) -> None:
    expected = f"a number of {row['unit']}, with a point, or nothing"
    for name in NUMBERS:
        if row[name] and not _is_number(row[name]):
            raise _wrong(where, f"the {name} {row[name]!r}", expected)
    low, value, high = (row[name] for name in ("low", "value", "high"))
    if low and value and high and not float(low) <= float(value) <= float(high):
        raise _wrong(where, f"the interval {low} to {high} of {value}", "one that holds the value")


def _is_number(text: str) -> bool:
    try:
        return isfinite(float(text)) and "_" not in text
    except ValueError:
        return False


def _check_delay(row: Row, where: str) -> None:
    most = 1e3 * DELAY_MAX_S
    if row["unit"] != "ms":
        raise _wrong(where, f"a delay in {row['unit']!r}", "ms")
    if row["value"] and abs(float(row["value"])) > most:
        raise _wrong(where, f"a delay of {row['value']} ms", f"-{most:g} to {most:g} ms")


def _wrong(where: str, found: str, expected: str) -> UsageError:
    return UsageError(f"{where}: found {found}, expected {expected}")
