"""A table of healthy people's measures: one row for each person, and a file that explains it.

``healthy.csv`` (or ``.parquet``) holds ``person`` and, where known, ``age_years``, ``sex`` and
``date`` (2026-03-02); every further column is one measure, named as the clinic likes. Beside it,
``healthy.toml`` says what each column is:

    [columns."sin-0.01/gain"]
    measure = "gain"
    kind = "sinusoid"
    unit = "1"
    vision = "dark"
    definition = "steady_state"
    frequency_hz = 0.01
    peak_velocity_deg_s = 60

An empty cell (or NA) is a measure that this person does not have. Comma, semicolon or tab part the
cells; numbers have a decimal point, or all of them a comma.
"""

import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import fields
from datetime import date
from pathlib import Path
from typing import Any

from slowphase.foundation.errors import InputError
from slowphase.foundation.problem import Problem
from slowphase.measures.known_words import unknown_words
from slowphase.recording.report_problem import make_problem, quote
from slowphase.reference.intervals.healthy import HealthySession, MeasureKey, Reading
from slowphase.reference.intervals.table_text import (
    PROBLEM,
    decimal_mark,
    read_text_rows,
    with_numbers,
)
from slowphase.reference.set_values import LARGEST, is_age, is_number

PERSON, AGE, SEX, DATE = "person", "age_years", "sex", "date"
SEXES = ("female", "male", "other", "unknown")
NUMBERS = ("frequency_hz", "peak_velocity_deg_s")
REQUIRED = ("measure", "kind", "unit")
Row = dict[str, Any]


def read_table(file: Path) -> tuple[HealthySession, ...]:
    """One session for each row. Raises `InputError` with every problem of table and explanation."""
    keys = _keys(file.with_suffix(".toml"))
    numbered = _rows(file, keys)
    rows = [row for _, row in numbered]
    problems = [*_wrong_columns(file, rows, keys)]
    if not problems:
        problems = [p for line, row in numbered for p in _wrong_row(file, line, row, keys)]
        problems += _near_codes(file, numbered)
    if problems:
        raise InputError(problems)
    return tuple(_session(row, keys) for row in rows)


def _rows(file: Path, keys: Iterable[str]) -> list[tuple[int, Row]]:
    """Each row with its line (of Parquet: as if it were text), numbers as numbers."""
    numbers = (AGE, *keys)
    if file.suffix.lower() == ".parquet":
        return list(enumerate(_parquet_rows(file), 2))
    found = read_text_rows(file)
    decimal = decimal_mark(cells.get(name) for _, cells in found for name in numbers)
    return [(line, with_numbers(cells, numbers, decimal)) for line, cells in found]


def _parquet_rows(file: Path) -> list[Row]:
    import polars as pl

    try:
        return pl.read_parquet(file).to_dicts()
    except (OSError, pl.exceptions.PolarsError) as error:
        what = f"it cannot be read as a table: {str(error).splitlines()[0]}"
        raise InputError([_problem(file, what, "a .csv with a header, or a .parquet")]) from error


def _keys(file: Path) -> dict[str, MeasureKey]:
    try:
        table = tomllib.loads(file.read_text(encoding="utf-8"))
    except OSError as error:
        problem = _problem(
            file,
            "the file that explains the columns is missing",
            '[columns."NAME"] with measure, kind and unit',
        )
        raise InputError([problem]) from error
    except (ValueError, RecursionError) as error:
        raise InputError([_problem(file, f"this is not valid TOML: {error}", "TOML")]) from error
    columns = table.get("columns", {})
    for name in table.keys() - {"columns"}:
        expected = '[columns."NAME"] and no other table'
        raise InputError([_problem(file, f"{quote(name)} is not known", expected, name)])
    if not isinstance(columns, dict):
        expected = 'a table [columns."NAME"] for each column'
        raise InputError([_problem(file, f"found {quote(columns)}", expected, "columns")])
    problems = [p for name, about in columns.items() for p in _wrong_key(file, name, about)]
    if problems:
        raise InputError(problems)
    return {name: _key(about) for name, about in columns.items()}


def _key(about: Mapping[str, Any]) -> MeasureKey:
    fitted: dict[str, Any] = {k: float(v) if k in NUMBERS else v for k, v in about.items()}
    return MeasureKey(**fitted)


def _wrong_key(file: Path, column: str, about: object) -> Iterator[Problem]:
    if not isinstance(about, Mapping):
        yield _problem(file, f"found {quote(about)}", "a table of keys", column)
        return
    known = [field.name for field in fields(MeasureKey)]
    for name in REQUIRED:
        if name not in about:
            yield _problem(file, f"{name} is missing", f'{name} = "…"', column)
    for name, value in about.items():
        positive = isinstance(value, int | float) and is_number(value) and value > 0
        sound = positive if name in NUMBERS else isinstance(value, str)
        if name not in known:
            yield _problem(
                file, f"{quote(name)} is not known", f"one of {', '.join(known)}", column
            )
        elif not sound:
            expected = "a number above 0" if name in NUMBERS else "a text in quotes"
            yield _problem(file, f"{name} is {quote(value)}", expected, column)
    for word in unknown_words(about, name_key="measure"):
        what = f"no measure has {word.key} {quote(about[word.key])}"
        yield _problem(file, what, word.expected, column)


def _wrong_columns(
    file: Path, rows: list[Row], keys: Mapping[str, MeasureKey]
) -> Iterator[Problem]:
    if not rows:
        yield _problem(file, "there are no rows", "one row for each person")
        return
    if PERSON not in rows[0]:
        yield _problem(file, "there is no such column", "a pseudonym for each person", PERSON)
    for name in rows[0]:
        if name not in (PERSON, AGE, SEX, DATE, *keys):
            explained = f'a table [columns."{name}"] in {file.with_suffix(".toml").name}'
            yield _problem(file, "nothing says what this column is", explained, name)
    for name in keys:
        if name not in rows[0]:
            yield _problem(file, "the table has no such column", "its name as in the table", name)


def _wrong_row(
    file: Path, line: int, row: Row, keys: Mapping[str, MeasureKey]
) -> Iterator[Problem]:
    if row[PERSON] is None or not str(row[PERSON]).strip():
        yield _problem(file, "there is no pseudonym", "a code for each person", PERSON, line)
    wanted = f"a number to {LARGEST:g}, or nothing"
    for name in (AGE, *keys):
        value = row.get(name)
        if value is not None and not is_number(value):
            yield _problem(file, f"found {quote(value)}", wanted, name, line)
        elif name == AGE and value is not None and not is_age(value):
            yield _problem(file, f"found {quote(value)}", "an age from 0 to 130", name, line)
    if row.get(SEX) not in (None, *SEXES):
        expected = "one of " + ", ".join(SEXES)
        yield _problem(file, f"found {quote(row[SEX])}", expected, SEX, line)
    if _date(row.get(DATE)) is None and row.get(DATE) is not None:
        yield _problem(file, f"found {quote(row[DATE])}", "a day such as 2026-03-02", DATE, line)


def _near_codes(file: Path, rows: Iterable[tuple[int, Row]]) -> Iterator[Problem]:
    """Codes that differ by case or spaces alone: one person typed in two ways, most likely."""
    known: dict[str, tuple[int, str]] = {}
    for line, row in rows:
        code = str(row[PERSON] or "").strip()
        first, spelt = known.setdefault("".join(code.casefold().split()), (line, code))
        if spelt != code:
            what = f"{quote(code)} is {quote(spelt)} of line {first} but for case or spaces"
            yield _problem(file, what, "one code for each person", PERSON, line)


def _session(row: Row, keys: Mapping[str, MeasureKey]) -> HealthySession:
    age = row.get(AGE)
    return HealthySession(
        str(row[PERSON]).strip(),
        tuple(
            Reading(name, key, float(row[name]))
            for name, key in keys.items()
            if row[name] is not None
        ),
        None if age is None else float(age),
        row.get(SEX) or "unknown",
        _date(row.get(DATE)),
    )


def _date(value: object) -> date | None:
    if isinstance(value, date):
        return value
    try:
        return date.fromisoformat(str(value))
    except ValueError:
        return None


def _problem(
    file: Path, what: str, expected: str, key: str | None = None, line: int | None = None
) -> Problem:
    return make_problem(
        PROBLEM, what, expected=expected, remedy="correct it", file=file.name, key=key, line=line
    )
