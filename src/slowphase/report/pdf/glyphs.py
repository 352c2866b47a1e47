"""Which characters the report's fonts can draw, and what stands for one that they cannot.

PDF/A forbids a character without a glyph. Such a character is shown as its code, ``[U+1F9D1]``:
ugly, but nothing is lost, and no other text is drawn in its place. Characters that turn the
direction of the text around them are shown so too, since they could make a name read otherwise.
"""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from pathlib import Path

SPACES = "\n\t\r"
TURNING = frozenset(range(0x202A, 0x202F)) | frozenset(range(0x2066, 0x206A))
JOINING = frozenset({0x200D, *range(0xFE00, 0xFE10)})  # of emoji: they would cling to a code
LATIN = "DejaVuSans.ttf"


def font_folders() -> tuple[Path, ...]:
    """Where the fonts are: those that matplotlib brings, and the one for Chinese and Korean."""
    import matplotlib as mpl

    return Path(mpl.get_data_path()) / "fonts" / "ttf", Path(str(files(__package__) / "fonts"))


def with_codes(text: str) -> str:
    """The text with the code of each character that no font can draw."""
    drawn = drawable()
    codes = {ord(c): f"[U+{ord(c):04X}]" for c in set(text) if ord(c) not in drawn}
    return text.translate(codes)


@cache
def drawable() -> frozenset[int]:
    """The code points that can be drawn."""
    from matplotlib.ft2font import FT2Font

    latin, east = font_folders()
    paths = (latin / LATIN, *sorted(east.glob("*.ttf")))
    found = frozenset(code for path in paths for code in FT2Font(str(path)).get_charmap())
    return (found | frozenset(map(ord, SPACES))) - TURNING - JOINING - {0}
