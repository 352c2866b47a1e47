"""A page of the report as a tree of elements: what the standard library's parser finds in it."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

VOID = frozenset({"meta", "link", "img", "br", "hr"})


@dataclass(slots=True)
class Element:
    """One element: its name, attributes, and children (elements and texts in order)."""

    name: str
    attributes: dict[str, str] = field(default_factory=dict)
    children: list[Element | str] = field(default_factory=list)

    @property
    def classes(self) -> tuple[str, ...]:
        """The words of its class."""
        return tuple(self.attributes.get("class", "").split())

    @property
    def id(self) -> str:
        """Its id, empty where it has none."""
        return self.attributes.get("id", "")

    def elements(self) -> Iterator[Element]:
        """Its children that are elements."""
        return (child for child in self.children if isinstance(child, Element))

    def walk(self) -> Iterator[Element]:
        """Itself and everything below it, in the order of the page."""
        yield self
        for child in self.elements():
            yield from child.walk()

    def text(self) -> str:
        """All text below it, white space collapsed."""
        return " ".join(_texts(self).split())

    def first(self, name: str) -> Element | None:
        """The first element of a name below it."""
        return next((found for found in self.walk() if found.name == name), None)


def _texts(element: Element) -> str:
    parts = (c if isinstance(c, str) else _texts(c) for c in element.children)
    return "".join(parts)


def parse(page: str) -> Element:
    """The tree of a page that Slowphase itself has written."""
    reader = _Reader()
    reader.feed(page)
    reader.close()
    return reader.root


class _Reader(HTMLParser):
    """Builds the tree; the page closes what it opens, except for void elements."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.root = Element("page")
        self._open = [self.root]

    def handle_starttag(self, tag: str, attrs: Sequence[tuple[str, str | None]]) -> None:
        element = Element(tag, {name: value or "" for name, value in attrs})
        self._open[-1].children.append(element)
        if tag not in VOID:
            self._open.append(element)

    def handle_endtag(self, tag: str) -> None:
        if tag in (element.name for element in self._open[1:]):
            while self._open.pop().name != tag:
                pass

    def handle_data(self, data: str) -> None:
        self._open[-1].children.append(data)
