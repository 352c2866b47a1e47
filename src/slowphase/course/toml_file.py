"""Strict reading of a small TOML file: every mistake with its line, all of them in one error."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from slowphase.foundation.errors import InputError
from slowphase.foundation.problem import Problem
from slowphase.recording.report_problem import make_problem, quote
from slowphase.recording.toml_lines import find_lines

PROBLEM = "invalid_course_file"


def read_text(file: Path) -> str:
    """The text of a file; raises ``InputError`` where there is none in UTF-8."""
    try:
        return file.read_text(encoding="utf-8-sig")
    except OSError as error:
        what = f"cannot be read ({error.strerror or type(error).__name__})"
    except UnicodeDecodeError:
        what = "is no text in UTF-8"
    raise InputError(
        [
            make_problem(
                PROBLEM, what, expected="a TOML file", remedy="name another file", file=file.name
            )
        ]
    )


class FileCheck:
    """Collects what is wrong with one file, so that all of it is said at once."""

    def __init__(self, name: str, text: str) -> None:
        self.name, self.text = name, text
        self.places = find_lines(text)
        self.problems: list[Problem] = []

    def tables(self, known: Iterable[str]) -> dict[str, Any]:
        """The tables of the file; raises ``InputError`` when it is no TOML or another schema."""
        try:
            tables = tomllib.loads(self.text)
        except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
            raise InputError(
                [make_problem(PROBLEM, f"the file is no TOML ({error})", remedy="correct this line",
                              expected="key = value or [[table]]", file=self.name)]
            ) from error  # fmt: skip
        if tables.get("schema", 1) != 1:
            self.wrong("", "schema", tables["schema"], "1")
        self._unknown("", tables, known, 0)
        return tables

    def table(self, tables: Mapping[str, Any], name: str, known: Iterable[str]) -> dict[str, Any]:
        """One table of the file."""
        found = tables.get(name)
        if not isinstance(found, Mapping):
            self.wrong(name, "", found, f"a table [{name}]")
            return {}
        self._unknown(name, found, known, 0)
        return dict(found)

    def rows(
        self, tables: Mapping[str, Any], name: str, known: Iterable[str]
    ) -> list[dict[str, Any]]:
        """An array of tables of the file; at least one."""
        found = tables.get(name)
        if (
            not isinstance(found, list)
            or not found
            or not all(isinstance(r, Mapping) for r in found)
        ):
            self.wrong(name, "", None, f"at least one table [[{name}]]")
            return []
        for index, row in enumerate(found):
            self._unknown(name, row, known, index)
        return [dict(row) for row in found]

    def wrong(self, table: str, key: str, found: object, expected: str, *, index: int = 0) -> None:
        """Note one mistake."""
        what = "nothing was found" if found is None else f"found {quote(found)}"
        self.problems.append(
            make_problem(
                PROBLEM,
                what,
                expected=expected,
                remedy="correct the file",
                found=found,
                file=self.name,
                line=self.places.of(table, key, index=index),
                key=key or None,
            )
        )

    def _unknown(
        self, table: str, row: Mapping[str, Any], known: Iterable[str], index: int
    ) -> None:
        names = sorted(known)
        for key in row:
            if key not in names:
                near = get_close_matches(key, names, n=1)
                hint = f"{near[0]}, or no such key" if near else f"one of {', '.join(names)}"
                self.wrong(table, key, f"the unknown key {key}", hint, index=index)

    def stop(self) -> None:
        """Raise ``InputError`` with everything that was noted; nothing where all was right."""
        if self.problems:
            raise InputError(self.problems)
