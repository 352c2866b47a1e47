"""What all figures share: colours, a figure, and a small deterministic SVG for a page.

Colours are names of the page's style sheet, so that a figure follows light, dark and print; the
accents are those of Okabe and Ito's palette (2008), made to be told apart by colour-blind eyes.
Nothing rests on colour alone.
"""

from __future__ import annotations

import hashlib
import io
import re
from contextlib import contextmanager
from importlib.resources import as_file, files
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    Draw = Callable[[], str | None]
    Drawn = Callable[[str, Draw], str | None]  # by its name, from those that were drawn before

INK, FAINT, GRID, PAPER = "#111213", "#717273", "#d1d2d3", "#fdfcfb"
BAND, BAND_CORE = "#dce6ed", "#b4cfe0"
SLOW, FIT, SHADE = "#0072b2", "#d55e00", "#e9e2d0"
LEGIBLE = 0.5
_VARIABLES = {
    INK: "ink",
    FAINT: "faint",
    GRID: "grid",
    PAPER: "paper",
    BAND: "band",
    BAND_CORE: "core",
    SLOW: "slow",
    FIT: "fit",
    SHADE: "shade",
}


@contextmanager
def drawing_style(name: str) -> Iterator[None]:
    """The figures' style, and ids that depend on the figure's name alone."""
    import matplotlib as mpl

    with (
        as_file(files(__package__) / "figures.mplstyle") as style,
        mpl.rc_context({"svg.hashsalt": name}, fname=style),
    ):
        yield


def new_figure(width_in: float, height_in: float) -> Figure:
    """An empty figure without any global state."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width_in, height_in))
    figure.set_layout_engine("constrained", h_pad=0.03, w_pad=0.05, hspace=0.01, wspace=0.02)
    return figure


def legend_above(axes: Axes, columns: int) -> None:
    """A legend in one line above the axes, out of the way of the data."""
    legend = axes.legend(
        loc="lower right", bbox_to_anchor=(1.0, 1.0), ncols=columns, borderaxespad=0.1,
        handlelength=1.6, columnspacing=1.2,
    )  # fmt: skip
    for handle in legend.legend_handles:
        if handle is not None:
            handle.set_alpha(max(float(handle.get_alpha() or 1.0), LEGIBLE))


def to_svg(figure: Figure, label: str) -> str:
    """A figure as inline SVG: no date, no repeated ids, coordinates to 0.01 pt, with a label."""
    import matplotlib as mpl

    buffer = io.StringIO()
    nothing = {"Date": None, "Creator": None, "Format": None, "Type": None}
    figure.savefig(buffer, format="svg", metadata=nothing, transparent=True)
    text = buffer.getvalue()
    text = text[text.index("<svg") :]
    text = re.sub(r"<metadata>.*?</metadata>", "", text, flags=re.DOTALL)
    text = re.sub(r"<!--.*?-->", "", text, flags=re.DOTALL)
    text = re.sub(r' id="[A-Za-z.0-9]+_\d+"', "", text)
    text = re.sub(r'(?<= d=")[^"]*', lambda path: _rounded(path[0]), text)
    text = _own_ids(text, str(mpl.rcParams["svg.hashsalt"]))
    text = re.sub(r"\n\s*", " ", text)
    text = re.sub(r'(<svg[^>]*?) width="[^"]*"', r"\1", text, count=1)
    text = re.sub(r'(<svg[^>]*?) height="[^"]*"', r"\1", text, count=1)
    text = text.replace("<svg ", f'<svg role="img" aria-label="{_attribute(label)}" ', 1)
    for colour, variable in _VARIABLES.items():
        text = text.replace(colour, f"var(--{variable})")
    return text


def at_once(_name: str, draw: Draw) -> str | None:
    """A figure drawn when it is asked for: the way of those who ask for each once."""
    return draw()


def inline(svg: str | None) -> Any:
    """A figure as markup that a template takes as it is."""
    from markupsafe import Markup

    return None if svg is None else Markup(svg)


def _rounded(path: str) -> str:
    return re.sub(r"-?\d+\.\d{3,}", lambda found: f"{float(found[0]):.2f}", path)


def _own_ids(text: str, name: str) -> str:
    """Ids numbered in order and led by the figure's name, alike in every run."""
    stem = "g" + hashlib.sha256(name.encode()).hexdigest()[:8]
    ids = dict.fromkeys(re.findall(r' id="([^"]+)"', text))
    for number, old in enumerate(ids):
        text = re.sub(rf'(["#]){re.escape(old)}(?=[")])', rf"\1{stem}-{number}", text)
    return text


def _attribute(text: str) -> str:
    from markupsafe import escape

    return str(escape(text))
