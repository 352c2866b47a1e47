"""From the text of session.toml to a checked plan of the session."""

import re
import tomllib
from collections.abc import Mapping
from datetime import date, datetime
from pathlib import Path

from slowphase.foundation.errors import InputError
from slowphase.foundation.problem import Problem
from slowphase.recording.check_keys import Place, check_table
from slowphase.recording.columns import MapPlace, parse_columns
from slowphase.recording.keys import is_number, key_tables, value_fits
from slowphase.recording.plan import SessionPlan
from slowphase.recording.plan_trials import TrialDefaults, plan_trials
from slowphase.recording.raw_columns import without_uncalibrated
from slowphase.recording.report_problem import make_problem, quote
from slowphase.recording.session import Patient
from slowphase.recording.toml_lines import TomlLines, find_lines

MAX_SESSION_BYTES = 4 * 2**20
_FIRST_YEAR, _LAST_YEAR = 1950, 2100
_AT_LINE = re.compile(r"at line (\d+)")
_BARE_DATE = re.compile(r"=\s*(\d{4}-\d{1,2}-\d{1,2})(?=\s*(#|$))")


def parse_session_file(content: bytes, folder: Path) -> SessionPlan:
    """The plan of a session. Raises InputError when the file cannot be used at all."""
    text = _decode(content)
    lines = find_lines(text)
    tables = _parse_toml(text)
    _check_schema(tables, lines)
    problems = list(check_table(tables, key_tables()["top"], Place(lines, "")).problems)
    column_table, rate = _rate_of(tables)
    columns, found = parse_columns(column_table, MapPlace(lines, "columns"))
    problems += found
    lost = frozenset(problem.key for problem in found if problem.key)
    day, notes, found = _session_table(tables, lines)
    problems += found
    patient, found = _patient(tables, lines, day)
    problems += found
    defaults = TrialDefaults(columns, lost, rate, folder, lines)
    trials, found = plan_trials(tables.get("trial"), defaults)
    problems += found
    trials, found = without_uncalibrated(trials, lines)
    problems += found
    conditions = _conditions(tables.get("conditions"))
    return SessionPlan(patient, day, trials, notes, conditions, tuple(problems), lines)


def unusable(
    code: str, what: str, *, expected: str, remedy: str, line: int | None = None
) -> InputError:
    """The error for a session of which nothing can be used."""
    return InputError([make_problem(code, what, expected=expected, remedy=remedy, line=line)])


def _decode(content: bytes) -> str:
    if len(content) > MAX_SESSION_BYTES:
        raise unusable(
            "invalid_session_file",
            f"the file has {len(content)} bytes",
            expected=f"a text of at most {MAX_SESSION_BYTES} bytes",
            remedy="keep samples in trace files and only the description here",
        )
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise unusable(
            "invalid_session_file",
            f"byte {content[error.start]:#04x} is no UTF-8 text",
            expected="UTF-8",
            remedy="save the file as UTF-8",
            line=content.count(b"\n", 0, error.start) + 1,
        ) from error


def _parse_toml(text: str) -> dict[str, object]:
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
        return _parse_with_quoted_dates(text, error)


def _parse_with_quoted_dates(text: str, error: Exception) -> dict[str, object]:
    """A date that no calendar has stops the parser; as a text it becomes one plain problem."""
    quoted = "\n".join(_BARE_DATE.sub(_quote_if_impossible, line) for line in text.splitlines())
    try:
        return tomllib.loads(quoted)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError):
        raise _invalid_toml(text, error) from error


def _quote_if_impossible(match: re.Match[str]) -> str:
    try:
        date.fromisoformat(match[1])
    except ValueError:
        return f'= "{match[1]}"'
    return match[0]


def _invalid_toml(text: str, error: Exception) -> InputError:
    found = _AT_LINE.search(str(error))
    line = int(found[1]) if found else text.count("\n") + 1
    lines = text.splitlines()
    content = lines[line - 1].strip() if 0 < line <= len(lines) else "the end of the file"
    return unusable(
        "invalid_session_file",
        f"{quote(content)} is not valid TOML ({str(error).split(' (at')[0]})",
        expected="key = value, [table] or [[trial]]",
        remedy="correct this line",
        line=line,
    )


def _check_schema(tables: Mapping[str, object], lines: TomlLines) -> None:
    schema = tables.get("schema", 1)
    if isinstance(schema, bool) or schema != 1:
        raise unusable(
            "unknown_schema",
            f"found schema {quote(schema)}",
            expected="schema = 1",
            remedy="write the session as docs/session-folder.md says",
            line=lines.of("", "schema"),
        )


def _rate_of(tables: Mapping[str, object]) -> tuple[object, float | None]:
    """The column map, and the sampling rate for files without a time column.

    The rate stands at the top; written under ``[columns]`` it means the same.
    """
    columns, rate = tables.get("columns", {}), tables.get("sampling_hz")
    if isinstance(columns, Mapping) and _is_rate(columns.get("sampling_hz")):
        rate = columns["sampling_hz"] if rate is None else rate
        columns = {role: entry for role, entry in columns.items() if role != "sampling_hz"}
    return columns, float(str(rate)) if _is_rate(rate) else None


def _is_rate(rate: object) -> bool:
    return value_fits(key_tables()["top"].keys["sampling_hz"], rate)


def _session_table(
    tables: Mapping[str, object], lines: TomlLines
) -> tuple[date | None, dict[str, str], tuple[Problem, ...]]:
    checked = check_table(
        tables.get("session", {}),
        key_tables()["session"],
        Place(lines, "session"),
        keep_unknown=True,
    )
    day = _as_date(checked.values.get("date"))
    problems = checked.problems
    if day is not None and not _FIRST_YEAR <= day.year <= _LAST_YEAR:
        problems += (_impossible_date(day, lines),)
    notes = {key: str(value) for key, value in checked.values.items() if key != "date"}
    return day, notes, problems


def _impossible_date(day: date, lines: TomlLines) -> Problem:
    return make_problem(
        "impossible_date",
        f"found {day.isoformat()}",
        expected=f"a day of a test between {_FIRST_YEAR} and {_LAST_YEAR}",
        remedy="correct the date; the trials are read all the same",
        found=day.isoformat(),
        line=lines.of("session", "date"),
        key="date",
    )


def _patient(
    tables: Mapping[str, object], lines: TomlLines, day: date | None
) -> tuple[Patient, tuple[Problem, ...]]:
    place = Place(lines, "patient")
    checked = check_table(tables.get("patient", {}), key_tables()["patient"], place)
    problems = checked.problems
    born = _as_date(checked.values.get("birth_date"))
    age = checked.values.get("age_years")
    if born is not None:
        born_age, found = _age_at(born, day, lines)
        problems += found
        age = born_age if age is None else age
    patient = Patient(
        code=str(checked.values.get("code", "unknown")),
        age_years=None if age is None else float(str(age)),
        sex=str(checked.values.get("sex", "unknown")),
    )
    return patient, problems


def _age_at(
    born: date, day: date | None, lines: TomlLines
) -> tuple[float | None, tuple[Problem, ...]]:
    if day is None:
        return None, ()
    birthday_to_come = (day.month, day.day) < (born.month, born.day)
    age = day.year - born.year - birthday_to_come
    if born <= day and age <= 130:
        return float(age), ()
    problem = make_problem(
        "impossible_age",
        f"born {born.isoformat()} and tested {day.isoformat()} makes an age of {age} years",
        expected="an age from 0 to 130 years",
        remedy="correct birth_date or the date of the session; the trials are read all the same",
        found=born.isoformat(),
        line=lines.of("patient", "birth_date"),
        key="birth_date",
    )
    return None, (problem,)


def _as_date(value: object) -> date | None:
    if isinstance(value, datetime):
        return value.date()
    return value if isinstance(value, date) else None


def _conditions(table: object) -> dict[str, str | float]:
    if not isinstance(table, Mapping):
        return {}
    return {
        str(key): value if isinstance(value, int | float) else str(value)
        for key, value in table.items()
        if not isinstance(value, float) or is_number(value)
    }
