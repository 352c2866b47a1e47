"""Which column of a file a column map means: by its exact name, or by its number."""

import re
from collections.abc import Sequence
from difflib import get_close_matches

from slowphase.recording.columns import Column
from slowphase.recording.readers.layout import Fault, Layout
from slowphase.recording.units import Unit, unit_of_text

_UNIT_SUFFIX = re.compile(r"\s*[\[(]([^\[\]()]*)[\])]\s*$")


def find_column(column: Column, layout: Layout) -> int | Fault:
    """The place (from 0) of a column in a file.

    Quotes, spaces around the name and a unit in brackets behind it do not count; anything else
    does, and the nearest name is only suggested.
    """
    if isinstance(column.name, int):
        return _by_number(column.name, layout)
    if layout.unnamed:
        return header_too_short(layout)
    for form in (str.strip, plain_name):
        places = [i for i, name in enumerate(layout.names) if form(name) == form(column.name)]
        if len(places) == 1:
            return places[0]
        if places:
            return _ambiguous(column.name, places)
    return _unknown(column.name, layout)


def plain_name(name: str) -> str:
    """A header name without quotes, outer spaces and a unit in brackets."""
    bare = name.strip().strip("\"'").strip()
    return _UNIT_SUFFIX.sub("", bare) or bare


def unit_of_header(place: int, layout: Layout) -> Unit | None:
    """The unit that the file itself gives a column, in brackets or in a units row."""
    if place < len(layout.units) and (unit := unit_of_text(layout.units[place])):
        return unit
    suffix = _UNIT_SUFFIX.search(layout.names[place]) if place < len(layout.names) else None
    return unit_of_text(suffix[1]) if suffix else None


def unread_unit(place: int, layout: Layout) -> str | None:
    """What the header has in brackets behind the name, where it is no unit that is known."""
    suffix = _UNIT_SUFFIX.search(layout.names[place]) if place < len(layout.names) else None
    return suffix[1] if suffix and suffix[1].strip() and not unit_of_text(suffix[1]) else None


def unit_fault(column: Column, place: int, layout: Layout) -> Fault | None:
    """The fault of a file that gives a column another unit than the column map."""
    said = unit_of_header(place, layout)
    if said is None or column.unit is None or said.name == column.unit.name:
        return None
    return Fault(
        "unit_contradicts",
        f'the file gives column "{column.name}" in {said.name}, the map in {column.unit.name}',
        expected="the same unit in both",
        remedy="correct the unit in [columns]; the column was not used",
        found=said.name,
        line=layout.skip_lines or None,
    )


def _by_number(number: int, layout: Layout) -> int | Fault:
    if number <= layout.n_columns:
        return number - 1
    return Fault(
        "unknown_column",
        f"there is no column number {number}",
        expected=f"a number from 1 to {layout.n_columns}",
        remedy="correct the name in [columns]",
        found=str(number),
        line=layout.skip_lines or None,
    )


def header_too_short(layout: Layout) -> Fault:
    """The fault of a header with fewer names than the rows have columns: none can be trusted."""
    named, filled = len(layout.names), len(layout.names) + layout.unnamed
    return Fault(
        "header_too_short",
        f"the header names {named} columns and the rows have {filled}",
        expected="a name for every column",
        remedy="name the others too (a row number, perhaps), or export with another delimiter "
        "where it is also the decimal mark, or map columns by number",
        found=f"{named} names, {filled} columns",
        line=layout.skip_lines or None,
    )


def _unknown(name: str, layout: Layout) -> Fault:
    return Fault(
        "unknown_column",
        f'there is no column "{name}"',
        expected=_offer(name, layout.names),
        remedy="correct the name in [columns]",
        found=name,
        line=layout.skip_lines or None,
    )


def _offer(name: str, names: Sequence[str]) -> str:
    if not names:
        return "a column number from 1, since the file has no header"
    folded = {plain_name(other).casefold().replace(" ", ""): other for other in names}
    near = get_close_matches(name.casefold().replace(" ", ""), folded, n=1)
    if near:
        return f'perhaps "{folded[near[0]]}"'
    shown = ", ".join(f'"{other}"' for other in names[:12])
    return f"one of {shown}" + (" …" if len(names) > 12 else "")


def _ambiguous(name: str, places: Sequence[int]) -> Fault:
    numbers = ", ".join(str(place + 1) for place in places)
    return Fault(
        "ambiguous_column",
        f'columns {numbers} are all named "{name}"',
        expected="one column of that name",
        remedy="give the number of the column as its name",
        found=name,
    )
