"""On which line of a TOML text a key stands, which ``tomllib`` does not tell."""

import re
from collections.abc import Mapping
from dataclasses import dataclass

_TABLE = re.compile(r"^\s*(\[\[?)\s*([^\[\]]+?)\s*\]\]?")
_KEY = re.compile(r"""^\s*(["']?)([\w.\- ]+?)\1\s*=""")


@dataclass(frozen=True, slots=True)
class TomlLines:
    """Line numbers (from 1) by table and key; arrays of tables are numbered from 0."""

    lines: Mapping[tuple[str, int, str], int]

    def of(self, table: str, key: str = "", *, index: int = 0) -> int | None:
        """The line of a key, else of its table's header, else None."""
        return self.lines.get((table, index, key), self.lines.get((table, index, "")))


def find_lines(text: str) -> TomlLines:
    """The line of every table header and key of a TOML text."""
    lines: dict[tuple[str, int, str], int] = {}
    counts: dict[str, int] = {}
    table, index = "", 0
    for number, line in enumerate(text.splitlines(), start=1):
        if header := _TABLE.match(line):
            table, index = _enter(header[1] == "[[", _bare(header[2]), counts)
            lines.setdefault((table, index, ""), number)
        elif key := _KEY.match(line):
            lines.setdefault((table, index, key[2].strip()), number)
    return TomlLines(lines)


def _enter(is_array: bool, name: str, counts: dict[str, int]) -> tuple[str, int]:
    if is_array:
        counts[name] = counts.get(name, -1) + 1
        return name, counts[name]
    return name, max(counts.get(name.split(".", maxsplit=1)[0], 0), 0)


def _bare(name: str) -> str:
    return ".".join(part.strip().strip("\"'") for part in name.split("."))
