"""The limits that statements are held against, from ``limits.toml``."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from slowphase.reading.words import quantity

UNSOURCED = {"practice": "habit of the trade, no source", "memory": "from memory, unverified"}


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit with its unit, what it limits, who says so, and how that is known."""

    code: str
    value: float
    unit: str
    label: str
    source: str
    mark: str

    @property
    def text(self) -> str:
        """The limit as a bare quantity."""
        return quantity(self.value, self.unit)

    @property
    def sourced(self) -> bool:
        """Whether somebody can be named who says so."""
        return self.mark not in UNSOURCED

    @property
    def cited(self) -> str:
        """The limit as it stands in a sentence: where it has no source, that is said with it."""
        return self.text if self.sourced else f"{self.text} ({self.known})"

    @property
    def known(self) -> str:
        """How the limit is known, as a remark in brackets."""
        return f"limit: {UNSOURCED.get(self.mark, self.source)}"

    @property
    def told(self) -> str:
        """The source, and how it is known where the source does not say it."""
        known = UNSOURCED.get(self.mark, self.mark)
        said = self.mark in self.source or known.split(", ")[-1] in self.source
        return self.source if said else f"{self.source} ({known})"


@cache
def limits() -> dict[str, Limit]:
    """Every limit by its code."""
    table = tomllib.loads((files(__package__) / "limits.toml").read_text(encoding="utf-8"))
    return {code: Limit(code=code, **entry) for code, entry in table.items()}
