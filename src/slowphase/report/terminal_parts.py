"""What every text on a terminal is made of: headings, paragraphs, tables, cells."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slowphase.reading.words import interval
from slowphase.report.labels import number_text

if TYPE_CHECKING:
    from rich.console import RenderableType
    from rich.table import Table

    from slowphase.measures.measure import Measure


def heading(text: str) -> RenderableType:
    """A line of bold text after an empty one."""
    from rich.text import Text

    return Text(f"\n{text}", style="bold")


def plain(text: str, indent: int = 0, style: str = "") -> RenderableType:
    """Text that folds within the screen, indented."""
    from rich.padding import Padding
    from rich.text import Text

    return Padding(Text(text, style=style), (0, 0, 0, indent), expand=False)


def table(columns: tuple[str, ...], rows: list[list[str]], *, left: int) -> Table:
    """A plain table; the first ``left`` columns are text that may fold, the others numbers."""
    from rich.table import Table

    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False, header_style="underline")
    for index, name in enumerate(columns):
        table.add_column(name, justify="left" if index < left else "right", overflow="fold")
    for row in rows:
        table.add_row(*row)
    return table


def cell(measure: Measure | None) -> str:
    """Value and interval without the unit; ``*`` marks a number that is not sound."""
    if measure is None or measure.value is None:
        return "–"
    if measure.grade == "unusable":
        return f"{number_text(measure)}*"
    spread = interval(measure.low, measure.high, measure.unit)
    value = number_text(measure)
    return (f"{value} ({spread})" if spread else value) + star(measure)


def star(measure: Measure) -> str:
    """A mark behind a number that is not sound."""
    return "" if measure.grade == "sound" or measure.value is None else "*"
