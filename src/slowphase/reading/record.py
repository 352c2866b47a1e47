"""The record of a rule: its words, when each outcome arises, limits, sources and version.

Records stand in ``statements/*.toml``. The rule decides; everything that people read is here.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from typing import Any

from slowphase.reading.limits import limits
from slowphase.reading.statement import Verdict

FILES = (
    "nystagmus",
    "rotation",
    "suppression",
    "caloric",
    "impulse",
    "targets",
    "recorder",
)


@dataclass(frozen=True, slots=True)
class Record:
    """One rule as people read it.

    ``verdicts`` names the outcomes of each verdict, ``never`` says why a verdict has none. ``when``
    and ``text`` are by outcome; ``shown`` by outcome or verdict. ``limits`` are codes of
    ``limits.toml``; ``about`` says what the conditions of a test would change. ``version`` rises
    with every change of what the rule says.
    """

    code: str
    title: str
    finding: str
    version: int
    about: tuple[str, ...]
    condition: str
    limits: tuple[str, ...]
    sources: tuple[str, ...]
    does_not_show: tuple[str, ...]
    verdicts: Mapping[str, tuple[str, ...]]
    when: Mapping[str, str]
    text: Mapping[str, str]
    never: Mapping[str, str] = field(default_factory=dict)
    shown: Mapping[str, str] = field(default_factory=dict)

    def verdict(self, outcome: str) -> str:
        """The verdict of an outcome."""
        return next(verdict for verdict, names in self.verdicts.items() if outcome in names)

    def shown_as(self, outcome: str, verdict: Verdict) -> str:
        """The verdict in words: those of the outcome, of the verdict, or the usual ones."""
        own = self.shown.get(outcome) or self.shown.get(verdict)
        return own or usual_words()[verdict]

    @property
    def all_sources(self) -> tuple[str, ...]:
        """Its own sources, then those of its limits with how each is known."""
        held = (limits()[code] for code in self.limits)
        return (*self.sources, *(f"{one.label}, {one.text}: {one.told}" for one in held))


def _read(name: str) -> dict[str, Any]:
    file = files(__package__) / "statements" / f"{name}.toml"
    return tomllib.loads(file.read_text(encoding="utf-8"))


@cache
def usual_words() -> Mapping[str, str]:
    """How a verdict is shown where a rule has no words of its own."""
    words: Mapping[str, str] = _read("shown")["shown"]
    return words


@cache
def records() -> Mapping[str, Record]:
    """Every record by its code."""
    tables = [_read(name) for name in FILES]
    return {code: _record(code, entry) for table in tables for code, entry in table.items()}


def _record(code: str, entry: dict[str, Any]) -> Record:
    lists = ("about", "limits", "sources", "does_not_show")
    verdicts = {verdict: tuple(names) for verdict, names in entry["verdicts"].items()}
    fixed = {name: tuple(entry[name]) for name in lists} | {"verdicts": verdicts}
    return Record(**{**entry, **fixed, "code": code})
