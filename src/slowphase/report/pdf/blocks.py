"""A page as blocks of plain data (headings, paragraphs, lists, tables, figures) for the typesetter.

The PDF is made of the page and of nothing else, so that both say the same. Text stays data from
here on: the typesetter's source never holds a word of it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from slowphase.report.pdf.markup import Element

Block = dict[str, Any]
Span = dict[str, Any]
INLINE = frozenset({"a", "b", "span", "strong", "em", "br", "i", "code"})
LEFT_OUT = frozenset({"nav", "style", "script", "head", "caption"})
UNPLACED = frozenset({"li", "span", "th", "td", "main"})  # elements whose id leads nowhere in a PDF
STYLES = ("verdict", "strength", "why", "source", "code", "none")
HEADINGS = {"h1": 1, "h2": 2, "h3": 3, "h4": 4}
LEADING = 6  # paragraphs at most that stay with a heading and its picture
NARROW, WIDE = 5, 44  # characters between which a column's share of the width follows its text


def blocks_of(root: Element) -> list[Block]:
    """The blocks of everything below an element; links lead only to places that exist."""
    known = {e.id for e in root.walk() if e.id and e.name not in UNPLACED}
    return list(_once_told(_inside(root, known), {}))


def _once_told(blocks: Iterable[Block], told: dict[str, int]) -> Iterator[Block]:
    """How a picture is to be read stands below the first that is drawn so, not below each."""
    for block in blocks:
        caption = "".join(span["text"] for span in block.get("caption", []))
        if caption in told:
            yield {**block, "caption": [{"text": f"To be read as figure {told[caption]}."}]}
        elif caption:
            told[caption] = len(told) + 1
            number = [{"text": f"Figure {told[caption]}. ", "bold": True}]
            yield {**block, "caption": [*number, *block["caption"]]}
        elif "blocks" in block:
            yield {**block, "blocks": list(_once_told(block["blocks"], told))}
        else:
            yield block


def _inside(parent: Element, known: set[str]) -> Iterator[Block]:
    """The blocks of the children; loose text between blocks becomes paragraphs."""
    loose: list[Element | str] = []
    for child in parent.children:
        if isinstance(child, str) or child.name in INLINE:
            loose.append(child)
            continue
        yield from _paragraph(loose, known)
        loose = []
        yield from _block(child, known)
    yield from _paragraph(loose, known)


def _paragraph(parts: list[Element | str], known: set[str]) -> Iterator[Block]:
    spans = _trimmed([span for part in parts for span in _spans(part, known, {})])
    if spans:
        yield {"kind": "text", "style": "", "spans": spans}


def _block(element: Element, known: set[str]) -> Iterator[Block]:
    name = element.name
    if name in LEFT_OUT:
        return
    if name in HEADINGS:
        yield _heading(element, HEADINGS[name], known)
    elif name in ("p", "summary"):
        yield from _text(element, known)
    elif name in ("ul", "ol"):
        yield _list(element, known)
    elif name == "dl":
        yield _facts(element, known)
    elif name == "table":
        yield _table(element, known)
    elif name == "figure":
        yield from _figure(element, known)
    elif name == "img":
        yield _image(element)
    else:
        yield _box(element, known)


def _heading(element: Element, level: int, known: set[str]) -> Block:
    spans = _all_spans(element, known)
    return {"kind": "heading", "level": level, "id": element.id, "spans": spans}


def _text(element: Element, known: set[str]) -> Iterator[Block]:
    spans = _all_spans(element, known)
    style = "label" if element.name == "summary" else " ".join(element.classes)
    if spans:
        yield {"kind": "text", "style": style, "spans": spans, "id": element.id}


def _list(element: Element, known: set[str]) -> Block:
    items = [_all_spans(item, known) for item in element.elements()]
    return {"kind": "list", "ordered": element.name == "ol", "items": items}


def _facts(element: Element, known: set[str]) -> Block:
    pairs = ([_all_spans(part, known) for part in row.elements()] for row in element.elements())
    style = " ".join(element.classes)
    return {"kind": "facts", "style": style, "rows": [pair for pair in pairs if len(pair) == 2]}


def _table(element: Element, known: set[str]) -> Block:
    rows = [row for row in element.walk() if row.name == "tr"]
    head = [row for row in rows if all(cell.name == "th" for cell in row.elements())]
    body = [row for row in rows if row not in head]
    cells = [[_cell(cell, known) for cell in row.elements()] for row in rows]
    return {
        "kind": "table",
        "style": " ".join(element.classes),
        "head": [_cell(cell, known) for row in head[:1] for cell in row.elements()],
        "rows": [
            {"id": row.id, "style": " ".join(row.classes),
             "cells": [_cell(cell, known) for cell in row.elements()]}
            for row in body
        ],
        "widths": _widths(cells),
    }  # fmt: skip


def _cell(element: Element, known: set[str]) -> Block:
    numeric = "n" in element.classes
    return {"spans": _all_spans(element, known), "numeric": numeric, "head": element.name == "th"}


def _widths(rows: list[list[Block]]) -> list[float]:
    """Shares of the width by the longest text of each column; 0 where a column holds numbers."""
    columns = zip(*(row for row in rows if len(row) == len(rows[0])), strict=True)
    return [_width(list(column)) for column in columns]


def _width(column: list[Block]) -> float:
    if all(cell["numeric"] for cell in column):
        return 0.0
    longest = max(sum(len(span["text"]) for span in cell["spans"]) for cell in column)
    return float(min(max(longest, NARROW), WIDE))


def _figure(element: Element, known: set[str]) -> Iterator[Block]:
    for image in element.walk():
        if image.name == "img":
            caption = element.first("figcaption")
            spans = _all_spans(caption, known) if caption else []
            yield {**_image(image), "kind": "figure", "id": element.id, "caption": spans}


def _image(element: Element) -> Block:
    told = element.attributes
    return {"kind": "image", "file": told["data-file"], "alt": told.get("alt", ""),
            "aspect": float(told.get("data-aspect", 0.0))}  # fmt: skip


def _box(element: Element, known: set[str]) -> Block:
    """A section, a statement, a note or a fold: its blocks, with its id and what it is."""
    inside = _code_beside(list(_inside(element, known)))
    if element.name == "details" and "agreement" in element.classes and inside:
        inside[0] = {"kind": "heading", "level": 3, "id": "", "spans": inside[0]["spans"]}
    inside = _with_figure(inside)
    if "trial" in element.classes:
        inside = [_of_trial(block) for block in inside]
    style = " ".join((element.name, *element.classes))
    return {"kind": "box", "style": style, "id": element.id, "blocks": inside}


def _code_beside(blocks: list[Block]) -> list[Block]:
    """A code that ends a box goes onto the line before it, so that it never stands alone."""
    if len(blocks) < 2 or blocks[-1].get("style") != "code" or blocks[-2]["kind"] != "text":
        return blocks
    before, code = blocks[-2:]
    coded = [{"text": " "}, *({**span, "style": "code"} for span in code["spans"])]
    return [*blocks[:-2], {**before, "spans": [*before["spans"], *coded]}]


def _of_trial(block: Block) -> Block:
    """A picture of a trial is kept lower, so that two trials share a page."""
    if block["kind"] == "together":
        return {**block, "blocks": [_of_trial(part) for part in block["blocks"]]}
    return {**block, "of_trial": True} if block["kind"] == "figure" else block


def _with_figure(blocks: list[Block]) -> list[Block]:
    """A heading, the words below it and the picture that follows stay on one page."""
    kinds = [block["kind"] for block in blocks[: LEADING + 2]]
    if "figure" not in kinds or kinds[0] != "heading":
        return blocks
    end = kinds.index("figure") + 1
    if any(kind != "text" for kind in kinds[1 : end - 1]):
        return blocks
    return [{"kind": "together", "blocks": blocks[:end]}, *blocks[end:]]


def _all_spans(element: Element, known: set[str]) -> list[Span]:
    return _trimmed([span for part in element.children for span in _spans(part, known, {})])


def _spans(part: Element | str, known: set[str], style: Span) -> Iterator[Span]:
    """Runs of text with their style: bold, of a class, a link's target, a new line before."""
    if isinstance(part, str):
        text = " ".join(part.split())
        before = " " if part[:1].isspace() else ""
        after = " " if part[-1:].isspace() and text else ""
        yield {**style, "text": f"{before}{text}{after}"}
        return
    if part.name == "br":
        yield {**style, "text": "", "break": True}
        return
    own = {**style, **_style(part, known)}
    for child in part.children:
        yield from _spans(child, known, own)


def _style(element: Element, known: set[str]) -> Span:
    target = element.attributes.get("href", "").removeprefix("#")
    found: Span = {}
    if element.name in ("b", "strong"):
        found["bold"] = True
    if target in known:
        found["to"] = target
    for name in STYLES:
        if name in element.classes:
            found["style"] = name
    return found


def _trimmed(spans: list[Span]) -> list[Span]:
    """Without white space that is doubled, or at an end."""
    kept: list[Span] = []
    for span in spans:
        text = span["text"]
        if not kept or kept[-1]["text"].endswith(" "):
            text = text.lstrip(" ")
        if text or span.get("break"):
            kept.append({**span, "text": text})
    while kept and not kept[-1]["text"].strip():
        kept.pop()
    if kept:
        kept[-1]["text"] = kept[-1]["text"].rstrip(" ")
    return kept
