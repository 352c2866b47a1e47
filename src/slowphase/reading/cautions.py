"""Cautions: those always shown, and those that a statement names."""

import tomllib
from functools import cache
from importlib.resources import files


@cache
def _table() -> dict[str, dict[str, str]]:
    return tomllib.loads((files(__package__) / "cautions.toml").read_text(encoding="utf-8"))


def standing_cautions() -> tuple[str, ...]:
    """The cautions that go with every reading, whatever it says."""
    return tuple(_table()["always"].values())


def caution(code: str) -> str:
    """One caution of a statement, by its code."""
    return _table()["statement"][code]
