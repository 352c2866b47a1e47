"""The figures of the report as files of their own: with a title, and with the page's colours."""

from __future__ import annotations

import re
import threading
from functools import cache
from typing import TYPE_CHECKING

from markupsafe import escape

from slowphase.report.page_style import style_sheet
from slowphase.report.session_figures import session_figures
from slowphase.workbench.refusals import not_found

if TYPE_CHECKING:
    from slowphase.report.session_figures import SessionFigure
    from slowphase.workbench.house import House

COLOURS = re.compile(r"(?:@media [^{]*\{)?:root\{[^}]*\}\}?")
DRAWING = threading.Lock()  # the drawing library's style is one for the whole process


def figure(here: House, session: str, name: str) -> str:
    """A figure of a session as SVG; 404 where there is none of that name."""
    wanted, opened = here.room.wanted(session), here.room.open(session)
    shown = opened.shown(wanted.key)
    if shown is not None and name not in [one["name"] for one in shown.figures]:
        raise not_found("figure", name)
    kept = opened.kept.figure(wanted.key, name)
    if kept is not None:
        return kept
    here.room.make_room(opened, wanted)
    analysis = opened.analysis(wanted, lambda _what, _share: None)
    found = next((one for one in session_figures(analysis) if one.name == name), None)
    with DRAWING:
        svg = found.draw() if found else None
    if found is None or svg is None:
        raise not_found("figure", name)
    whole = standing_alone(found, svg)
    opened.kept.keep_figure(wanted.key, name, whole)
    return whole


def standing_alone(told: SessionFigure, svg: str) -> str:
    """Inline SVG as a file: a title, a description, and the colours that its page would give."""
    head, rest = svg.split(">", 1)
    parts = (
        f"<title>{escape(told.label)}</title><desc>{escape(told.caption)}</desc>"
        f"<style>{_colours()}</style>"
    )
    return f"{head}>{parts}{rest}"


@cache
def _colours() -> str:
    """What the report's style sheet says of colours: light, dark and print."""
    return "".join(COLOURS.findall(style_sheet()))
