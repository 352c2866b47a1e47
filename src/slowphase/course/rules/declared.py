"""Rules as they are declared in the TOML files beside this one."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Literal

Goes = Literal["rises", "falls", "toward_zero", "away_from_zero", "is_left"]
Need = Literal["any", "all", "lowest", "two_neighbours"]


@dataclass(frozen=True, slots=True)
class Clause:
    """One condition: which measures, where they must go, and at how many stimuli.

    ``goes`` is ``rises``, ``falls``, ``toward_zero``, ``away_from_zero`` (each beyond its limit) or
    ``is_left`` (the later value is above 0, its interval too). ``need`` is ``any``, ``all``, the
    ``lowest`` frequency, or ``two_neighbours`` of the compared frequencies.
    """

    kind: str
    name: str
    goes: Goes
    need: Need
    of: str | None = None
    vision: str = "dark"
    between_hz: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class CourseRule:
    """One rule: stable code, what it takes, its sentences, what it does not show, its source.

    ``combine`` is ``all`` or ``any`` of the clauses. ``confirms`` names a rule that must hold twice
    in place of clauses. ``texts`` maps a verdict to its sentence.
    """

    code: str
    set: str
    set_title: str
    title: str
    condition: str
    source: str
    mark: str
    does_not_show: str
    texts: Mapping[str, str]
    combine: Literal["all", "any"] = "all"
    clauses: tuple[Clause, ...] = ()
    confirms: str | None = None


@cache
def course_rules() -> tuple[CourseRule, ...]:
    """Every rule of every set, in the order of the files' names."""
    found = [file for file in files(__package__).iterdir() if file.name.endswith(".toml")]
    tables = (tomllib.loads(f.read_text("utf-8")) for f in sorted(found, key=lambda f: f.name))
    return tuple(_rule(table["set"], rule) for table in tables for rule in table["rule"])


def _rule(head: Mapping[str, str], rule: Mapping[str, Any]) -> CourseRule:
    texts = {name: rule[name] for name in ("holds", "does_not_hold", "cannot_tell")}
    own = {key: value for key, value in rule.items() if key not in (*texts, "when")}
    clauses = tuple(_clause(entry) for entry in rule.get("when", ()))
    return CourseRule(set=head["id"], set_title=head["title"], texts=texts, clauses=clauses, **own)


def _clause(entry: Mapping[str, Any]) -> Clause:
    band = entry.get("between_hz")
    return Clause(**{**entry, "between_hz": tuple(band) if band else None})
