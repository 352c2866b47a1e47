"""The figures of the report as files of their own: with a title, and with the page's colours."""

from __future__ import annotations

import re
import threading
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from markupsafe import escape

from slowphase.report.page_style import style_sheet
from slowphase.report.session_figures import session_figures
from slowphase.workbench.refusals import not_found
from slowphase.workbench.trial_answer import not_measured

if TYPE_CHECKING:
    from slowphase.report.drawing import Draw
    from slowphase.workbench.house import House
    from slowphase.workbench.opened.kept import Kept
    from slowphase.workbench.opened.session import OpenSession, Wanted

COLOURS = re.compile(r"(?:@media [^{]*\{)?:root\{[^}]*\}\}?")
DRAWING = threading.Lock()  # the drawing library's style is one for the whole process


@dataclass(frozen=True, slots=True)
class Drawer:
    """Gives the figures of one state of a session: those that were drawn before, or drawn now."""

    kept: Kept
    key: str

    def __call__(self, name: str, draw: Draw) -> str | None:
        """A figure as inline SVG; None where there is nothing to draw."""
        found = self.kept.figure(self.key, name)
        if found is None:
            with DRAWING:
                found = {"svg": draw()}
            self.kept.keep_figure(self.key, name, found)
        return found["svg"]


def figure(here: House, session: str, name: str) -> str:
    """A figure of a session as SVG; 404 where there is none of that name."""
    wanted, opened = here.room.wanted(session), here.room.open(session)
    shown = opened.shown(wanted.key)
    if shown is None:
        raise not_measured(here, session)
    told = next((one for one in shown.figures if one["name"] == name), None)
    if told is None:
        raise not_found("figure", name)

    if opened.kept.figure(wanted.key, name) is None:
        here.room.make_room(opened, wanted)
    drawer = Drawer(opened.kept, wanted.key)
    svg = drawer(name, _drawn_from(opened, wanted, name))
    if svg is None:
        raise not_found("figure", name)
    return standing_alone(told["label"], told["caption"], svg)


def _drawn_from(opened: OpenSession, wanted: Wanted, name: str) -> Draw:
    """Draws a figure of a session; reads what it shows only then."""

    def draw() -> str | None:
        analysis = opened.analysis(wanted, lambda _what, _share: None)
        return next(one.draw() for one in session_figures(analysis) if one.name == name)

    return draw


def standing_alone(title: str, about: str, svg: str) -> str:
    """Inline SVG as a file: a title, a description, and the colours that its page would give."""
    head, rest = svg.split(">", 1)
    words = f"<title>{escape(title)}</title><desc>{escape(about)}</desc>"
    return f"{head}>{words}<style>{_colours()}</style>{rest}"


@cache
def _colours() -> str:
    """What the report's style sheet says of colours: light, dark and print."""
    return "".join(COLOURS.findall(style_sheet()))
