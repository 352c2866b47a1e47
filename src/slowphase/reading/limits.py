"""The limits that statements are held against, from ``limits.toml``."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from slowphase.reading.words import quantity


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
        """The limit as it stands in a sentence."""
        return quantity(self.value, self.unit)


@cache
def limits() -> dict[str, Limit]:
    """Every limit by its code."""
    table = tomllib.loads((files(__package__) / "limits.toml").read_text(encoding="utf-8"))
    return {code: Limit(code=code, **entry) for code, entry in table.items()}
