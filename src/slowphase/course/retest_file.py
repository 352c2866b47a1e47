"""The file of retests (``retest.toml``): read strictly, written from what was built.

``[retest]`` says where the values come from; one ``[[measure]]`` holds each measure, with
``sd_difference``, ``sem`` or ``mdc95`` as a publication gives it; ``[correlation]`` holds the rows
of the correlation of the paired differences, in the order of the measures.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

import numpy as np

from slowphase.course.key import IDENTIFYING, Key, alike, identifying
from slowphase.course.retest import Retest, RetestSet
from slowphase.course.toml_file import FileCheck, read_text
from slowphase.foundation.arrays import FloatArray
from slowphase.measures.interval import Z95
from slowphase.measures.known_words import unknown_words
from slowphase.reference.set_values import LARGEST, is_number
from slowphase.reference.sets import marks

NAMED = ("level", "kind", "name", "unit", "of", "exciting", "definition", "vision")
NEEDED = ("level", "kind", "name", "unit")
SIZES = {"sd_difference": 1.0, "sem": 2.0**0.5, "mdc95": 1.0 / Z95}  # of the SD of differences
SMALLEST = 1e-9  # no measure in any unit is known so finely: squares of less are lost
NUMBERS = ("effect", "n", "measurement_error")
ABOVE_ZERO = ("frequency_hz", "peak_velocity_deg_s")
TRIPLES = ("icc", "bias_slope", "spread_slope")
HEAD = ("source", "mark", "illustration", "settings_digest", "version", "n_pairs", "days_apart")
KNOWN = {*NAMED, *IDENTIFYING, *SIZES, *NUMBERS, *TRIPLES, "range", "source", "mark"}


def read_retest(file: Path) -> RetestSet:
    """The retests of a file; raises ``InputError`` that names the line of what is wrong."""
    return parse_retest(read_text(file), file.name)


def parse_retest(text: str, name: str) -> RetestSet:
    """The retests of a TOML text; raises ``InputError``."""
    check = FileCheck(name, text)
    tables = check.tables(("schema", "retest", "measure", "correlation"))
    head = check.table(tables, "retest", HEAD)
    _check_head(head, check)
    rows = check.rows(tables, "measure", KNOWN)
    entries = tuple(_entry(row, index, head, check) for index, row in enumerate(rows))
    correlation = _correlation(tables.get("correlation"), len(entries), check)
    _check_twice(entries, check)
    check.stop()
    return RetestSet(
        source=str(head.get("source", "")),
        entries=tuple(e for e in entries if e is not None),
        correlation=correlation,
        settings_digest=str(head.get("settings_digest", "")),
        version=str(head.get("version", "")),
        n_pairs=head.get("n_pairs"),
        days_apart=head.get("days_apart"),
    )


def _check_head(head: Mapping[str, Any], check: FileCheck) -> None:
    if not str(head.get("source", "")).strip():
        check.wrong(
            "retest", "source", head.get("source"), "a text that says whose retests these are"
        )
    if head.get("mark") not in marks():
        check.wrong("retest", "mark", head.get("mark"), f"one of {', '.join(marks())}")


def _entry(
    row: Mapping[str, Any], index: int, head: Mapping[str, Any], check: FileCheck
) -> Retest | None:
    sd = _sd_difference(row, index, check)
    lacking = [name for name in NEEDED if not isinstance(row.get(name), str)]
    for name in lacking:
        check.wrong("measure", name, row.get(name), "a text", index=index)
    fine = _numbers_fine(row, index, check)
    unknown = tuple(unknown_words(row, name_key="name"))
    for word in unknown:
        check.wrong("measure", word.key, row[word.key], word.expected, index=index)
    if sd is None or lacking or unknown or not fine:
        return None
    mark = str(row.get("mark", head.get("mark")))
    return Retest(
        key=_key(row),
        sd_difference=sd,
        source=str(row.get("source", head.get("source"))),
        mark=mark,
        effect=float(row.get("effect", 0.0)),
        n=row.get("n"),
        measurement_error=row.get("measurement_error"),
        illustration=bool(head.get("illustration", False)) or mark == "memory",
        index=index,
        **{name: tuple(row[name]) for name in TRIPLES if name in row},
    )


def _check_twice(entries: tuple[Retest | None, ...], check: FileCheck) -> None:
    """Two rows of one measure: which of them is meant cannot be known."""
    earlier: list[tuple[int, Key]] = []
    for index, entry in enumerate(entries):
        if entry is None:
            continue
        first = next((place for place, key in earlier if alike(key, entry.key)), None)
        if first is not None:
            found = f"{entry.key.name} again, as in [[measure]] number {first + 1}"
            check.wrong("measure", "name", found, "each measure once", index=index)
        earlier.append((index, entry.key))


def _key(row: Mapping[str, Any]) -> Key:
    named: dict[str, Any] = {name: row.get(name) for name in NAMED}
    return Key(**named, stimulus=identifying(row))


def _sd_difference(row: Mapping[str, Any], index: int, check: FileCheck) -> float | None:
    """The SD of paired differences from whichever size is given; exactly one must be."""
    given = [name for name in SIZES if name in row]
    value = row.get(given[0]) if len(given) == 1 else None
    if is_number(value) and float(str(value)) >= SMALLEST:
        return float(str(value)) * SIZES[given[0]]
    found = ", ".join(f"{name} = {row[name]}" for name in given) or None
    check.wrong("measure", given[0] if given else "", found,
                f"exactly one of sd_difference, sem, mdc95, above 0 ({SMALLEST:g} to {LARGEST:g})",
                index=index)  # fmt: skip
    return None


def _numbers_fine(row: Mapping[str, Any], index: int, check: FileCheck) -> bool:
    wrong = [name for name in NUMBERS if name in row and not is_number(row[name])]
    wrong += [name for name in ABOVE_ZERO if name in row and not _is_above_zero(row[name])]
    n, error = row.get("n"), row.get("measurement_error")
    if n is not None and (not isinstance(n, int) or n < 2):
        wrong.append("n")
    if is_number(error) and float(str(error)) < 0.0:
        wrong.append("measurement_error")
    wrong += [name for name in TRIPLES if name in row and not _is_triple(row[name])]
    for name in dict.fromkeys(wrong):
        check.wrong("measure", name, row[name], _expected(name), index=index)
    return not wrong


def _expected(name: str) -> str:
    if name in ABOVE_ZERO:
        return "a number above 0"
    if name in TRIPLES:
        return "three numbers: value, low, high"
    return "a whole number of pairs, 2 or more" if name == "n" else "a number, not below 0"


def _is_above_zero(value: object) -> bool:
    return isinstance(value, int | float) and is_number(value) and value > 0


def _is_triple(value: object) -> bool:
    return isinstance(value, list) and len(value) == 3 and all(map(is_number, value))


def _correlation(table: object, count: int, check: FileCheck) -> FloatArray | None:
    if table is None:
        return None
    rows = table.get("rows") if isinstance(table, Mapping) else None
    try:
        matrix = np.array(rows, dtype=float)
    except (TypeError, ValueError):
        matrix = np.zeros(0)
    square = matrix.shape == (count, count)
    if not square or not _is_correlation(matrix):
        shape = "x".join(map(str, matrix.shape))
        check.wrong("correlation", "rows", f"a table of {shape} numbers",
                    f"{count} rows of {count} numbers, symmetric, 1 on the diagonal, none beyond "
                    "±1, no negative variance")  # fmt: skip
        return None
    return matrix


def _is_correlation(matrix: FloatArray) -> bool:
    fine = bool(np.all(np.isfinite(matrix)) and np.all(np.abs(matrix) <= 1.0 + 1e-9))
    return (
        fine
        and np.allclose(matrix, matrix.T)
        and np.allclose(np.diag(matrix), 1.0)
        and float(np.linalg.eigvalsh(matrix).min(initial=1.0)) > -0.01
    )


def retest_text(found: RetestSet, lines: Iterable[str] = ()) -> str:
    """The text of a file of retests; ``lines`` are comments at its top."""
    head = {
        "source": found.source,
        "mark": "local",
        "n_pairs": found.n_pairs,
        "days_apart": found.days_apart,
        "settings_digest": found.settings_digest,
        "version": found.version,
    }
    parts = [*(f"# {line}" for line in lines), "", "schema = 1", "", "[retest]", *_lines(head)]
    for entry in found.entries:
        parts += ["", "[[measure]]", *_lines(_row(entry))]
    if found.correlation is not None:
        rows = ["[" + ", ".join(f"{r:.3f}" for r in row) + "]" for row in found.correlation]
        parts += ["", "[correlation]", "rows = [", *(f"  {row}," for row in rows), "]"]
    return "\n".join(parts).lstrip("\n") + "\n"


def _row(entry: Retest) -> dict[str, object]:
    return {
        **{name: getattr(entry.key, name) for name in NAMED},
        **dict(entry.key.stimulus),
        "n": entry.n,
        "sd_difference": entry.sd_difference,
        "measurement_error": entry.measurement_error,
        "effect": entry.effect,
        "icc": None if entry.icc is None or None in entry.icc else entry.icc,
        "bias_slope": entry.bias_slope,
        "spread_slope": entry.spread_slope,
    }


def _lines(entries: Mapping[str, object]) -> list[str]:
    return [f"{name} = {_toml(value)}" for name, value in entries.items() if value is not None]


def _toml(value: object) -> str:
    if isinstance(value, tuple):
        return "[" + ", ".join(_toml(part) for part in value) + "]"
    if isinstance(value, float):
        text = f"{value:.6g}"
        return text if any(c in text for c in ".en") else f"{text}.0"
    if isinstance(value, int):
        return str(value)
    quoted = str(value).replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if c.isprintable() else " " for c in quoted) + '"'
