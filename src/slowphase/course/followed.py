"""Which measures are followed, in which role, and how they are called (``followed.toml``)."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from slowphase.course.key import Key, Wanted

LETTERS = {"right": "R", "left": "L"}
PARTS = {"per": "per-rotatory", "post": "post-rotatory"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Followed(Wanted):
    """One entry: which keys it fits, and what is done with them."""

    short: str
    role: str
    panel: str | None = None


@cache
def followed() -> tuple[Followed, ...]:
    """Everything that is followed, in the order in which it is shown."""
    text = (files(__package__) / "followed.toml").read_text(encoding="utf-8")
    return tuple(Followed(**entry) for entry in tomllib.loads(text)["followed"])


def entry_of(key: Key) -> Followed | None:
    """The entry of a key, None where it is not followed."""
    return next((entry for entry in followed() if entry.fits(key)), None)


def rank(key: Key) -> tuple[int, float, str]:
    """Where a key stands in a table: by entry, frequency, and side."""
    entry = entry_of(key)
    place = followed().index(entry) if entry else len(followed())
    return place, key.number("frequency_hz") or 0.0, f"{key.exciting or ''}{key.of or ''}"


def is_tested(key: Key) -> bool:
    """Whether a measure enters the judgement of the session as a whole."""
    entry = entry_of(key)
    return entry is not None and entry.role == "tested"


def label(key: Key) -> str:
    """What is measured, in a few words: ``gain, 0.04 Hz``; sides as letters."""
    entry = entry_of(key)
    name = entry.short if entry else key.name.replace("_", " ")
    return ", ".join(part for part in (name, *_where(key, entry)) if part)


def _where(key: Key, entry: Followed | None) -> tuple[str, ...]:
    frequency, stimulus = key.number("frequency_hz"), dict(key.stimulus)
    words = (str(stimulus[name]) for name in ("position", "response", "scale") if name in stimulus)
    gaze = key.number("eccentricity_deg")
    irrigated = key.number("temperature_c")
    return (
        "" if key.of is None or (entry and entry.of) else part_words(key.of),
        f"{frequency:g} Hz" if frequency is not None else "",
        f"exciting {LETTERS[key.exciting]}" if key.exciting else "",
        *(LETTERS[str(stimulus[name])] for name in ("ear",) if stimulus.get(name) in LETTERS),
        f"{irrigated:g} °C" if irrigated is not None else "",
        f"{gaze:+g} deg" if gaze is not None else "",
        *words,
        key.vision if key.vision and not (entry and entry.vision) and key.vision != "dark" else "",
    )


def part_words(of: str) -> str:
    """The part of a measure in words, sides as letters."""
    known = PARTS.get(of)
    return known or " ".join(LETTERS.get(word, word) for word in of.replace("/", " ").split())
