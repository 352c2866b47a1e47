"""The pages' style sheet, and the colours that it names for print."""

from __future__ import annotations

import re
from functools import cache
from importlib.resources import files

PRINT = re.compile(r"@media print\{:root\{([^}]*)\}")


@cache
def style_sheet() -> str:
    """The pages' style sheet."""
    return (files("slowphase.report") / "templates" / "page.css").read_text(encoding="utf-8")


@cache
def print_colours() -> dict[str, str]:
    """The colours that the style sheet names for print, by their names in the figures."""
    found = PRINT.search(style_sheet())
    pairs = (entry.split(":", 1) for entry in found[1].split(";")) if found else ()
    return {name.strip().removeprefix("--"): value.strip() for name, value in pairs}
