"""The declared patterns: every variant of each, and what it expects of every sign."""

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from slowphase.reading.signs import Sign

OTHER = {"right": "left", "left": "right"}
NORMAL = "normal"


@dataclass(frozen=True, slots=True)
class Weighed:
    """A sign as a pattern sees it: how it was expected, and the points that it earned."""

    sign: Sign
    expected: str
    points: float


@dataclass(frozen=True, slots=True)
class Row:
    """One variant of one pattern with what it expects of every sign.

    Of ``needs`` one must have been tested, else the pattern cannot be read at all; for a side one
    must be more likely there than not.
    """

    entry: Mapping[str, Any]
    code: str
    side: str | None
    variant: str
    title: str
    expects: Mapping[str, str]
    needs: tuple[str, ...]


@cache
def pattern_table() -> Mapping[str, Any]:
    """The declared patterns, as they stand in ``patterns.toml``."""
    return tomllib.loads((files(__package__) / "patterns.toml").read_text(encoding="utf-8"))


@cache
def rows() -> tuple[Row, ...]:
    """Every variant of every pattern, sided ones once for each side."""
    return tuple(row for entry in pattern_table()["pattern"] for row in _rows_of(entry))


def _rows_of(entry: Mapping[str, Any]) -> Iterator[Row]:
    for side in ("right", "left") if entry.get("sided") else (None,):
        names = {"side": side or "", "other": OTHER.get(side or "", "")}
        for variant in entry["variants"]:
            own = {key.format(**names): word for key, word in variant["expects"].items()}
            title = entry["title"].format(**names)
            title = f"{title}, {variant['title']}" if variant["title"] else title
            yield Row(
                entry=entry,
                code=entry["code"].format(**names),
                side=side,
                variant=variant["code"],
                title=title,
                expects={**pattern_table()["healthy"], **own},
                needs=tuple(code.format(**names) for code in entry["needs"]),
            )
