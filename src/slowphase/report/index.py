"""A page that leads to several reports."""

from __future__ import annotations

from dataclasses import dataclass

from slowphase.reading.cautions import standing_cautions
from slowphase.report.page_style import style_sheet


@dataclass(frozen=True, slots=True)
class IndexEntry:
    """One report: its link (relative), its title, what was looked for, and further files.

    ``found``, ``not_found`` and ``cannot_tell`` are findings by how they came out;
    ``files`` holds pairs of a name and a relative link.
    """

    href: str
    title: str
    found: tuple[str, ...] = ()
    not_found: tuple[str, ...] = ()
    cannot_tell: tuple[str, ...] = ()
    files: tuple[tuple[str, str], ...] = ()


def render_index(title: str, entries: tuple[IndexEntry, ...]) -> str:
    """The index as one self-contained page."""
    from jinja2 import Environment, PackageLoader, StrictUndefined
    from markupsafe import Markup

    environment = Environment(
        loader=PackageLoader("slowphase.report"), autoescape=True, undefined=StrictUndefined
    )
    return environment.get_template("index.html").render(
        title=title, entries=entries, css=Markup(style_sheet()), standing=standing_cautions()
    )
