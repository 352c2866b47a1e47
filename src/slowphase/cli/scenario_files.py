"""Scenario files: those that are shipped, and those of a user."""

import tomllib
from collections.abc import Mapping
from difflib import get_close_matches
from importlib.resources import files
from pathlib import Path
from typing import Any

from slowphase.foundation.errors import UsageError

SHIPPED = files("slowphase.cli") / "scenarios"


def shipped_names() -> tuple[str, ...]:
    """The names of the shipped scenarios, in alphabetical order."""
    entries = (Path(entry.name) for entry in SHIPPED.iterdir())
    return tuple(sorted(entry.stem for entry in entries if entry.suffix == ".toml"))


def shipped(name: str) -> dict[str, Any]:
    """The table of a shipped scenario."""
    return tomllib.loads((SHIPPED / f"{name}.toml").read_text(encoding="utf-8"))


def scenario_lines() -> tuple[str, ...]:
    """Name and one line of each shipped scenario."""
    names = shipped_names()
    width = max(map(len, names))
    return tuple(f"{name:<{width}}  {shipped(name)['about']}" for name in names)


def load_scenario(asked: str) -> tuple[str, Mapping[str, Any], str]:
    """Name, table and what to call it in a message.

    A word without a path and ending is the name of a shipped scenario. Raises ``UsageError``.
    """
    if Path(asked).name == asked and not asked.endswith(".toml"):
        return asked, _shipped(asked), f"scenario {asked}"
    file = Path(asked)
    try:
        return file.stem, tomllib.loads(file.read_text(encoding="utf-8")), str(file)
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise UsageError(f"{file} cannot be read: {reason}.") from error
    except UnicodeDecodeError as error:
        raise UsageError(f"{file} is no text in UTF-8.") from error
    except tomllib.TOMLDecodeError as error:
        raise UsageError(f"{file} is no TOML: {error}.") from error


def _shipped(name: str) -> dict[str, Any]:
    names = shipped_names()
    if name in names:
        return shipped(name)
    near = get_close_matches(name, names, n=1)
    hint = f" Did you mean {near[0]}?" if near else ""
    raise UsageError(
        f"no shipped scenario is called {name!r}.{hint} There are: {', '.join(names)}. "
        "A file of your own ends in .toml."
    )
