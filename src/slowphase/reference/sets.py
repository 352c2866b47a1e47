"""Reference sets: what healthy people do, who says so, and for which stimulus.

The values live in ``sets/*.toml``, one file for each source. An entry that cannot honestly be
compared with what Slowphase measures stays in its file, with the reason in ``not_placed``.
"""

import hashlib
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any


@dataclass(frozen=True, slots=True)
class ReferenceEntry:
    """One measure of one group of people for one stimulus.

    ``frequencies_hz`` is the inclusive range that the entry holds for, None where the measure has
    no frequency; ``ages`` the inclusive range in completed years, None where it is not known.
    ``recording`` is ``video`` or ``electrodes`` where the entry holds for one of them only.
    Either ``mean`` and ``sd`` are given, or ``lower`` and ``upper`` (one may be None).
    ``mark`` is a key of ``marks.toml``.
    """

    set: str
    source: str
    bib: str
    mark: str
    population: str
    measure: str
    kind: str
    unit: str
    vision: str | None = None
    of: str | None = None
    definition: str | None = None
    frequencies_hz: tuple[float, float] | None = None
    peak_velocity_deg_s: float | None = None
    recording: str | None = None
    ages: tuple[float, float] | None = None
    n: int | None = None
    mean: float | None = None
    sd: float | None = None
    lower: float | None = None
    upper: float | None = None
    note: str = ""
    not_placed: str = ""

    @property
    def unstated(self) -> tuple[str, ...]:
        """What the source does not tell: the stimulus, the ages; habits have neither."""
        if self.mark == "practice":
            return ()
        stimulus = self.kind == "sinusoid" and self.peak_velocity_deg_s is None
        return (
            *(("stimulus not stated",) if stimulus else ()),
            *(("ages not stated",) if self.ages is None else ()),
        )


@dataclass(frozen=True, slots=True)
class Mark:
    """How a value is known: the words for people, and its rank (low is preferred)."""

    text: str
    rank: int


FREQUENCY_TOLERANCE = 0.05


@cache
def marks() -> dict[str, Mark]:
    """The ways of knowing a value, by code."""
    table = tomllib.loads((files(__package__) / "marks.toml").read_text(encoding="utf-8"))
    return {code: Mark(**entry) for code, entry in table.items()}


@cache
def reference_sets() -> tuple[ReferenceEntry, ...]:
    """Every entry of every set that is shipped, in the order of the files' names."""
    return tuple(entry for file in _set_files() for entry in read_set(file.read_text("utf-8")))


@cache
def reference_digest() -> str:
    """SHA-256 of the shipped sets, names and bytes; it changes when a value changes."""
    digest = hashlib.sha256()
    for file in _set_files():
        digest.update(file.name.encode() + b"\0" + file.read_bytes() + b"\0")
    return digest.hexdigest()


def read_set(text: str) -> tuple[ReferenceEntry, ...]:
    """The entries of one set's TOML text; raises ``KeyError`` when a required key is missing."""
    table = tomllib.loads(text)
    defaults = table.get("defaults", {})
    return tuple(
        _entry(table["set"], {**defaults, **entry}, group)
        for entry in table["entry"]
        for group in entry["groups"]
    )


def _set_files() -> Iterator[Traversable]:
    folder = files(__package__) / "sets"
    found = [file for file in folder.iterdir() if file.name.endswith(".toml")]
    return iter(sorted(found, key=lambda file: file.name))


def _entry(
    head: Mapping[str, str], entry: Mapping[str, object], group: Mapping[str, object]
) -> ReferenceEntry:
    known = ("measure", "kind", "unit", "vision", "of", "definition", "peak_velocity_deg_s",
             "recording")  # fmt: skip
    numbers = ("n", "mean", "sd", "lower", "upper")
    fields: dict[str, Any] = {key: entry[key] for key in known if key in entry}
    fields |= {key: group[key] for key in numbers if key in group}
    return ReferenceEntry(
        set=head["id"],
        source=head["citation"],
        bib=head["bib"],
        mark=head["mark"],
        population=head["population"],
        frequencies_hz=_frequencies_hz(entry),
        ages=_pair(group.get("ages")),
        note=str(entry.get("definition_note", "")),
        not_placed=str(entry.get("not_placed", "")),
        **fields,
    )


def _frequencies_hz(entry: Mapping[str, object]) -> tuple[float, float] | None:
    single = entry.get("frequency_hz")
    if isinstance(single, float):
        return single * (1 - FREQUENCY_TOLERANCE), single * (1 + FREQUENCY_TOLERANCE)
    return _pair(entry.get("frequency_range_hz"))


def _pair(value: object) -> tuple[float, float] | None:
    return (float(value[0]), float(value[1])) if isinstance(value, list) else None
