"""The pictures of a page, taken out of it as files of their own, in the colours of print."""

from __future__ import annotations

import base64
import re
from html import escape, unescape
from typing import TYPE_CHECKING

from slowphase.report.page_style import print_colours

if TYPE_CHECKING:
    from collections.abc import Callable

SVG = re.compile(r"<svg\b.*?</svg>", re.DOTALL)
DATA = re.compile(r'src="data:image/(png|jpeg|svg\+xml);base64,([A-Za-z0-9+/=]+)"')
ENDINGS = {"png": "png", "jpeg": "jpg", "svg+xml": "svg"}
LABEL = re.compile(r'aria-label="([^"]*)"')
BOX = re.compile(r'viewBox="[-\d.]+ [-\d.]+ ([\d.]+) ([\d.]+)"')
VARIABLE = re.compile(r"var\(--(\w+)\)")


def taken_out(page: str) -> tuple[str, dict[str, bytes]]:
    """The page with an ``img`` in place of each picture, and the pictures by file name."""
    found: dict[str, bytes] = {}
    page = SVG.sub(_drawn(found), page)
    return DATA.sub(_embedded(found), page), found


def _drawn(found: dict[str, bytes]) -> Callable[[re.Match[str]], str]:
    colours = print_colours()

    def replace(match: re.Match[str]) -> str:
        svg = VARIABLE.sub(lambda name: colours[name[1]], match[0])
        file = f"figure-{len(found) + 1}.svg"
        found[file] = svg.encode()
        return f'<img data-file="{file}" data-aspect="{_aspect(svg):.4f}" alt="{_label(svg)}">'

    return replace


def _embedded(found: dict[str, bytes]) -> Callable[[re.Match[str]], str]:
    def replace(match: re.Match[str]) -> str:
        file = f"picture-{len(found) + 1}.{ENDINGS[match[1]]}"
        found[file] = base64.b64decode(match[2])
        return f'data-file="{file}"'

    return replace


def _label(svg: str) -> str:
    label = LABEL.search(svg)
    return escape(unescape(label[1])) if label else "figure"


def _aspect(svg: str) -> float:
    """Height by width."""
    box = BOX.search(svg)
    return float(box[2]) / float(box[1]) if box else 0.5
