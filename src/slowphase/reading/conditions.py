"""What the conditions of a test do to its numbers: medicines, eyes, light, position of the head.

What was written down is matched with ``conditions.toml`` and always quoted, since words such as
"stopped yesterday" are for a person to weigh.
"""

import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

PARTS = re.compile(r"[,;.:/()\n]|\bbut\b|\band\b")  # a "no" reaches to the end of its part


@dataclass(frozen=True, slots=True)
class Influence:
    """One condition that touches numbers: its caution, and which statements carry it."""

    caution: str
    touches: frozenset[str]


@cache
def condition_table() -> Mapping[str, Any]:
    """The table of conditions, as it stands in ``conditions.toml``."""
    return tomllib.loads((files(__package__) / "conditions.toml").read_text(encoding="utf-8"))


def cautions_about(conditions: Mapping[str, str | float], about: Iterable[str]) -> tuple[str, ...]:
    """The cautions that a statement about these things carries under these conditions."""
    own = set(about)
    return tuple(one.caution for one in influences(conditions) if own & one.touches)


def influences(conditions: Mapping[str, str | float]) -> Iterator[Influence]:
    """Everything in the conditions of a session that touches numbers."""
    yield from _medicines(conditions)
    eyes = str(conditions.get("eyes", ""))
    closed = condition_table()["eyes"]["closed"]
    if _holds(eyes, closed["words"]):
        yield _influence("eyes", eyes, closed)
    light = str(conditions.get("light", "")).strip()
    if light and not is_dark(light):
        yield _influence("light", light, condition_table()["light"])
    pitch, entry = conditions.get("head_pitch_deg"), condition_table()["head_pitch"]
    # whether nose up or down is positive differs from clinic to clinic: its size is compared
    if isinstance(pitch, int | float):
        off = abs(abs(pitch) - entry["expected_deg"])
        if off > entry["tolerance_deg"]:
            yield _influence("head_pitch", f"{pitch:g}", entry)


def _influence(kind: str, told: str, entry: Mapping[str, Any], name: str = "") -> Influence:
    text = condition_table()["text"][kind]
    said = text.format(told=told, name=name, effect=entry["effect"], source=entry["source"])
    return Influence(said, frozenset(entry["touches"]))


def _medicines(conditions: Mapping[str, str | float]) -> Iterator[Influence]:
    told = medication(conditions)
    for entry in condition_table()["medicine"].values():
        taken = [word for word in entry["words"] if is_taken(told, word)]
        if taken:
            yield _influence("medicine", told, entry, ", ".join(taken))


def told_conditions(
    notes: Mapping[str, str], conditions: Mapping[str, str | float]
) -> dict[str, str | float]:
    """The conditions with the medication, wherever in the session it was written."""
    told = [str(place["medication"]) for place in (conditions, notes) if place.get("medication")]
    joined = "; ".join(dict.fromkeys(told))
    return {**conditions, "medication": joined} if joined else dict(conditions)


def medication(conditions: Mapping[str, str | float]) -> str:
    """What was written down of medicines; empty where nothing was."""
    return str(conditions.get("medication", "")).strip()


def is_taken(told: str, word: str) -> bool:
    """Whether a medicine is named, in a part of the text that does not deny it before."""
    return any(_affirmed(part, word) for part in PARTS.split(told.casefold()))


def _affirmed(part: str, word: str) -> bool:
    found = re.search(rf"\b{re.escape(word)}\b", part)
    if found is None:
        return False
    return not _holds(part[: found.start()], condition_table()["words"]["not_taken"])


def _holds(text: str, words: Iterable[str]) -> bool:
    return any(re.search(rf"\b{re.escape(word)}\b", text.casefold()) for word in words)


def is_dark(light: str) -> bool:
    """Whether what was written of the light says darkness, and nothing that takes from it."""
    entry, left = condition_table()["light"], light.casefold()
    for phrase in entry["dark"]:
        left = left.replace(phrase, "")
    return _holds(light, entry["dark"]) and not _holds(left, entry["not_dark"])


def unknown_medicine(conditions: Mapping[str, str | float]) -> str:
    """The caution of a medicine that the table does not hold; empty where there is none."""
    told = medication(conditions)
    first = re.match(r"[\w-]+", told.casefold())
    denied = first is None or first[0] in condition_table()["words"]["none"]
    if denied or any(True for _ in _medicines(conditions)):
        return ""
    return str(condition_table()["text"]["unknown_medicine"]).format(told=told)
